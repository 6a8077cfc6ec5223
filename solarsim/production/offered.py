"""What the arrays offer at the inverter's inputs: power of each input in, limited power out.

It stands apart from the model that computes it, so that later years need not load that model's library.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from solarsim.production.dc_power import RoofPower

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class DcPower:
    """What the arrays bring to the inverter.

    Attributes
    ----------
    dc_kw : array of float
        Power at the inverter's DC side, all inputs, mean of each step [kW].
    array_kw : dict of str to array of float
        Power of each array by itself, before its input [kW].
    clipped_kw : array of float
        Power above the limits of current and power of the inputs, never made [kW].
    input_kw : array of float
        One row for each input, one column for each step: power before these limits [kW].
    input_limits_kw : array of float
        In the same order: most that each input takes [kW].
    rated_kw : float
        Power of all arrays at standard test conditions [kW].
    ac_side_kw : dict of str to array of float
        DC power that each inverter on the home's AC side is offered, by its name [kW].
    notes : tuple of str
        What a person should know.
    roof : RoofPower or None
        The way from light to here, array by array and input by input; None of another year than the first.
    """

    dc_kw: Floats
    array_kw: dict[str, Floats]
    clipped_kw: Floats
    input_kw: Floats
    input_limits_kw: Floats
    rated_kw: float
    ac_side_kw: dict[str, Floats]
    notes: tuple[str, ...] = ()
    roof: "RoofPower | None" = None

    def times(self, factor: Floats | float) -> "DcPower":
        """Give what the same arrays bring when they make more or less.

        The limits of the inputs act on what is made: panels that have lost power are cut off less. Where an
        input's current limit holds, the power there is taken to stay what it is: at less current the same
        amperes come at a slightly lower voltage.

        Parameters
        ----------
        factor : array of float or float
            Power / today's power, of every array; one for each step, or one for all.

        Returns
        -------
        DcPower
            With the same limits.
        """
        arrays = {name: factor * power for name, power in self.array_kw.items()}
        ac_side = {name: factor * power for name, power in self.ac_side_kw.items()}
        return limited(arrays, factor * self.input_kw, self.input_limits_kw, self.rated_kw, ac_side, self.notes)


def limited(
    array_kw: dict[str, Floats],
    input_kw: Floats,
    input_limits_kw: Floats,
    rated_kw: float,
    ac_side_kw: dict[str, Floats],
    notes: tuple[str, ...] = (),
    roof: "RoofPower | None" = None,
) -> DcPower:
    """Cut each input's power off at its limit.

    Parameters
    ----------
    array_kw : dict of str to array of float
        Power of each array [kW].
    input_kw, input_limits_kw : arrays of float
        One row for each input, one column for each step [kW].
    rated_kw : float
        Of all arrays [kW].
    ac_side_kw : dict of str to array of float
        For each inverter on the AC side [kW].
    notes : tuple of str
        What a person should know.
    roof : RoofPower or None
        Where it comes from.

    Returns
    -------
    DcPower
        What is left, and what is cut off.
    """
    left = np.minimum(input_kw, input_limits_kw)
    clipped = (input_kw - left).sum(axis=0)
    return DcPower(left.sum(axis=0), array_kw, clipped, input_kw, input_limits_kw, rated_kw, ac_side_kw, notes, roof)
