"""From the power of single arrays to the inverter: arrays in, limited power of each DC input out; no pvlib here.

Arrays that are known from another size of the same roof need no sky model: one that is plainly rated is scaled by its
modules, any other must be the same.
"""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from solarsim.production._dc_input import curve_input, rated_input
from solarsim.production.power import ArrayPower, DcPower, InputPower, RoofPower, limited
from solarsim.scenario.model import RoofScenario
from solarsim.scenario.roof.roof import WINDOW, Array

Floats = NDArray[np.float64]
_COUNTS = ("modules_in_series", "strings")


def power_of_arrays(scenario: RoofScenario, arrays: tuple[ArrayPower, ...], up: NDArray[np.bool_]) -> DcPower:
    """Compute what arrays make available at the inverter's inputs.

    Parameters
    ----------
    scenario : RoofScenario
        Arrays, the inverter's inputs and inverters of their own.
    arrays : tuple of ArrayPower
        One for each array of the scenario, in its order.
    up : array of bool
        Whether the sun is up in any part of a step of the year.

    Returns
    -------
    DcPower
        One entry for each step.
    """
    places = np.flatnonzero(up)
    first_of_day = np.diff(places, prepend=-2) > 1
    inputs = tuple(
        _input(number, scenario, arrays, first_of_day) for number in range(1, len(scenario.inverter.inputs) + 1)
    )
    roof = RoofPower(up, arrays, inputs)
    before = np.array([roof.over_year(each.stages["window"]) for each in inputs])
    most_kw = [each.max_kw for each in scenario.inverter.inputs]
    limits = np.array([roof.over_year(each.most_kw(limit_kw)) for each, limit_kw in zip(inputs, most_kw, strict=True)])
    step_h = 8760.0 / up.size
    return limited(
        {array.name: roof.over_year(array.own_kw) for array in arrays},
        before,
        limits,
        rated_kw=sum(array.rated_kw for array in arrays),
        ac_side_kw={
            inverter.name: sum(
                (
                    roof.over_year(power.own_kw)
                    for array, power in zip(scenario.arrays, arrays, strict=True)
                    if array.ac_inverter == inverter.name
                ),
                np.zeros(up.size),
            )
            for inverter in scenario.ac_inverters
        },
        notes=tuple(note for each in inputs for note in _notes(each, scenario, step_h)),
        roof=roof,
    )


def known_array(array: Array, known: Iterable[tuple[Array, ArrayPower]]) -> ArrayPower | None:
    """Return the power of an array from arrays that are known, under the same sky and with the same losses.

    Parameters
    ----------
    array : Array
        As the user wrote it.
    known : iterable of tuple
        Arrays with their power.

    Returns
    -------
    ArrayPower or None
        The same array's; that of a plainly rated one with another number of modules, scaled; None where there is none.
    """
    for other, power in known:
        if other == array:
            return power
        if array.module is None and other.module is None and _but_for_modules(array) == _but_for_modules(other):
            factor = _modules(array) / _modules(other)
            stages = {cause: factor * kw for cause, kw in power.stages.items()}
            return replace(power, rated_kw=factor * power.rated_kw, stages=stages)
    return None


def _but_for_modules(array: Array) -> dict[str, object]:
    return {key: value for key, value in array if key not in _COUNTS}


def _modules(array: Array) -> int:
    return array.modules_in_series * array.strings


def _input(
    number: int, scenario: RoofScenario, arrays: tuple[ArrayPower, ...], first_of_day: NDArray[np.bool_]
) -> InputPower:
    dc_input = scenario.inverter.inputs[number - 1]
    here = [array for array in arrays if array.input == number]
    offered = np.sum([array.own_kw for array in here], axis=0) if here else np.zeros(first_of_day.size)
    curves = [array.curve for array in here if array.curve is not None]
    if curves:
        return curve_input(number, dc_input, curves, offered, first_of_day)
    return rated_input(number, dc_input, offered)


def _notes(each: InputPower, scenario: RoofScenario, step_h: float) -> list[str]:
    dc_input = scenario.inverter.inputs[each.number - 1]
    if each.open_circuit_v is None:
        here = [array.name for array in scenario.arrays if array.input == each.number]
        given = [key for key in WINDOW if getattr(dc_input, key) is not None]
        # Where its short-circuit current is written too, its limits are for the design checks.
        if not (given and here) or dc_input.max_short_circuit_a is not None:
            return []
        return [f"input {each.number}: {', '.join(given)} not used: array {here[0]!r} names no module"]
    if not each.steps_too_high:
        return []
    return [
        f"input {each.number}: without load its strings reach {each.open_circuit_v.max():.0f} V, above max_v"
        f" {dc_input.max_v:g}, in {each.steps_too_high * step_h:g} hours of this year: that destroys an inverter; take"
        " fewer modules in series"
    ]
