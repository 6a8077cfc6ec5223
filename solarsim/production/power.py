"""What the arrays make available at the inverter's inputs: power of each input in, limited power out.

The records of the way there stand here too, apart from the models that fill them: later years need not load pvlib.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from solarsim.production._iv_addition import Curve

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ArrayPower:
    """Power of one array after each cause of loss, one entry for each step with the sun up.

    Attributes
    ----------
    name : str
        Of the array.
    input : int or None
        DC input that it is connected to; None behind an inverter of its own.
    rated_kw : float
        Power at standard test conditions [kW].
    stages : dict of str to array of float
        ``open``: its rating times the light on its plane; then what is left after each cause, in the order of the
        light's way; the last is what it could deliver to its input by itself [kW].
    curve : Curve or None
        Of all its strings, at the end of their cables; None where the array has a rating only.
    """

    name: str
    input: int | None
    rated_kw: float
    stages: dict[str, Floats]
    curve: Curve | None

    @property
    def own_kw(self) -> Floats:
        """What the array could deliver to its input by itself [kW]."""
        return list(self.stages.values())[-1]


@dataclass(frozen=True, eq=False)
class InputPower:
    """Power of one DC input after each of its limits, one entry for each step with the sun up.

    Attributes
    ----------
    number : int
        Of the input, from 1.
    stages : dict of str to array of float
        ``arrays``: what its arrays could make, each by itself; then what is left after ``unlike_strings`` (one voltage
        for all), ``window``, ``current`` and ``power`` [kW].
    open_circuit_v : array of float or None
        Voltage without load [V]; None where arrays have ratings only.
    working_v : array of float or None
        Voltage at which it works [V].
    steps_too_high : int
        Steps in which the voltage without load passes the input's ``max_v``.
    """

    number: int
    stages: dict[str, Floats]
    open_circuit_v: Floats | None = None
    working_v: Floats | None = None
    steps_too_high: int = 0

    def most_kw(self, max_kw: float) -> Floats:
        """Return the most that the input accepts in each step: its rating, less where its current limit holds [kW]."""
        at_current = self.stages["current"]
        return np.where(at_current < self.stages["window"], np.minimum(at_current, max_kw), max_kw)


@dataclass(frozen=True, eq=False)
class RoofPower:
    """The way from light to the inverter, one entry for each step with the sun up.

    Attributes
    ----------
    up : array of bool
        Whether the sun is up in any part of a step of the year.
    arrays : tuple of ArrayPower
        Each array's way from light to its input.
    inputs : tuple of InputPower
        Each input's limits.
    """

    up: NDArray[np.bool_]
    arrays: tuple[ArrayPower, ...]
    inputs: tuple[InputPower, ...]

    def over_year(self, values: Floats) -> Floats:
        """Return values of the steps with the sun up as one for each step of the year; the rest is 0."""
        whole = np.zeros(self.up.size)
        whole[self.up] = values
        return whole


@dataclass(frozen=True, eq=False)
class DcPower:
    """Power available at the inverter.

    Attributes
    ----------
    dc_kw : array of float
        Power at the inverter's DC side, all inputs, mean of each step [kW].
    array_kw : dict of str to array of float
        Power of each array by itself, before its input [kW].
    input_kw : array of float
        One row for each input, one column for each step: power before these limits [kW].
    input_limits_kw : array of float
        In the same order: most that each input accepts [kW].
    rated_kw : float
        Power of all arrays at standard test conditions [kW].
    ac_side_kw : dict of str to array of float
        DC power available to each inverter on the home's AC side, by its name [kW].
    notes : tuple of str
        For the user.
    roof : RoofPower or None
        The way from light to here, array by array and input by input; None of another year than the first.
    """

    dc_kw: Floats
    array_kw: dict[str, Floats]
    input_kw: Floats
    input_limits_kw: Floats
    rated_kw: float
    ac_side_kw: dict[str, Floats]
    notes: tuple[str, ...] = ()
    roof: RoofPower | None = None

    @cached_property
    def clipped_kw(self) -> Floats:
        """Power above the inputs' limits of current and power, never made [kW]."""
        return np.asarray(np.maximum(0.0, self.input_kw - self.input_limits_kw).sum(axis=0))

    def times(self, factor: Floats | float) -> "DcPower":
        """Compute the power of the same arrays when they make more or less.

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
    roof: RoofPower | None = None,
) -> DcPower:
    """Limit the power of each input.

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
        For the user.
    roof : RoofPower or None
        Where it comes from.

    Returns
    -------
    DcPower
        What is left, and what is cut off.
    """
    left = np.minimum(input_kw, input_limits_kw)
    return DcPower(left.sum(axis=0), array_kw, input_kw, input_limits_kw, rated_kw, ac_side_kw, notes, roof)
