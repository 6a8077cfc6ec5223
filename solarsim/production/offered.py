"""What the arrays offer at the inverter's inputs: power of each input in, limited power out.

It stands apart from the model that computes it, so that later years need not load that model's library.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class DcPower:
    """What the arrays bring to the inverter.

    Attributes
    ----------
    dc_kw : array of float
        Power at the inverter's DC side, all inputs, mean of each step [kW].
    array_kw : dict of str to array of float
        Power of each array before the limit of its input [kW].
    clipped_kw : array of float
        Power above the limits of the inputs, never made [kW].
    input_kw : array of float
        One row for each input, one column for each step: power before its limit [kW].
    input_limits_kw : array of float
        Most that each input takes [kW].
    """

    dc_kw: Floats
    array_kw: dict[str, Floats]
    clipped_kw: Floats
    input_kw: Floats
    input_limits_kw: Floats

    def times(self, factor: float) -> "DcPower":
        """Give what the same arrays bring when they make more or less.

        The limits of the inputs act on what is made: panels that have lost power are cut off less.

        Parameters
        ----------
        factor : float
            Power / today's power, of every array.

        Returns
        -------
        DcPower
            With the same limits.
        """
        arrays = {name: factor * power for name, power in self.array_kw.items()}
        return limited(arrays, factor * self.input_kw, self.input_limits_kw)


def limited(array_kw: dict[str, Floats], input_kw: Floats, input_limits_kw: Floats) -> DcPower:
    """Cut each input's power off at its limit.

    Parameters
    ----------
    array_kw : dict of str to array of float
        Power of each array [kW].
    input_kw : array of float
        One row for each input, one column for each step [kW].
    input_limits_kw : array of float
        One entry for each input [kW].

    Returns
    -------
    DcPower
        What is left, and what is cut off.
    """
    left = np.minimum(input_kw, input_limits_kw[:, None])
    return DcPower(left.sum(axis=0), array_kw, (input_kw - left).sum(axis=0), input_kw, input_limits_kw)
