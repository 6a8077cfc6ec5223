"""DC power of the roof: weather, sun and arrays in, kilowatts at each DC input out, with every loss on the way.

Each physical step has a file of its own; this one names the models and calls them in order.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.production._array_power import array_power
from solarsim.production._dc_input import curve_input, rated_input
from solarsim.production._dirt_and_snow import precipitation_of, through_dirt, through_snow
from solarsim.production._modules import KnownModule, modules_of
from solarsim.production._plane import plane_irradiance
from solarsim.production._shade import Shade, behind_horizon, behind_things
from solarsim.production._sun import Sun, SunWithin, sun_over, sun_within
from solarsim.production.power import ArrayPower, DcPower, InputPower, RoofPower, limited
from solarsim.scenario.model import RoofScenario
from solarsim.scenario.roof.roof import WINDOW, Array
from solarsim.weather.typical_year import Weather

Floats = NDArray[np.float64]
# Driesse, Jensen & Perez (2024); Hay & Davies (1980).
TRANSPOSITION = {"perez_driesse": "perez-driesse", "hay_davies": "haydavies"}


def dc_power(scenario: RoofScenario, weather: Weather, timeline: Timeline) -> DcPower:
    """Compute the DC power of every array, and at the inverter's inputs.

    Parameters
    ----------
    scenario : RoofScenario
        Modules, arrays, losses, shade, sky model, albedo and the inverter's inputs.
    weather : Weather
        On the timeline.
    timeline : Timeline
        The year.

    Returns
    -------
    DcPower
        One entry for each step.

    Raises
    ------
    ScenarioError
        A module or a string is impossible: see ``modules_of``.
    WeatherError
        The file of rain and snow is wrong.

    Notes
    -----
    Not modeled: spectrum, the back of bifacial modules, uneven shade within a string, different modules in one string.
    """
    modules = modules_of(scenario)
    precipitation = precipitation_of(scenario, timeline)
    sun = sun_over(weather, timeline)
    within = None if scenario.site.horizon is None else sun_within(weather, sun, timeline.step_h)
    arrays = tuple(
        _array(array, modules.get(array.module or ""), scenario, precipitation, weather, sun, within, timeline)
        for array in scenario.arrays
    )
    places = np.flatnonzero(sun.up)
    first_of_day = np.diff(places, prepend=-2) > 1
    inputs = tuple(
        _input(number, scenario, arrays, first_of_day) for number in range(1, len(scenario.inverter.inputs) + 1)
    )
    roof = RoofPower(sun.up, arrays, inputs)
    before = np.array([roof.over_year(each.stages["window"]) for each in inputs])
    most_kw = [each.max_kw for each in scenario.inverter.inputs]
    limits = np.array([roof.over_year(each.most_kw(limit_kw)) for each, limit_kw in zip(inputs, most_kw, strict=True)])
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
                np.zeros(len(timeline)),
            )
            for inverter in scenario.ac_inverters
        },
        notes=tuple(note for each in inputs for note in _notes(each, scenario, timeline.step_h)),
        roof=roof,
    )


def _array(
    array: Array,
    module: KnownModule | None,
    scenario: RoofScenario,
    precipitation: dict[str, Floats],
    weather: Weather,
    sun: Sun,
    within: SunWithin | None,
    timeline: Timeline,
) -> ArrayPower:
    site, losses = scenario.site, scenario.losses
    shades: dict[str, Shade] = {}
    if site.horizon is not None and within is not None:
        shades["horizon"] = behind_horizon(site.horizon, within, array.tilt_deg, array.azimuth_deg)
    if array.near_shade is not None:
        shades["near_shade"] = behind_things(array.near_shade, sun, timeline)
    model = TRANSPOSITION[scenario.production.transposition]
    plane = plane_irradiance(array, weather, sun, model, site.albedo, shades)
    snow = through_snow(losses.array, precipitation, plane.incident_w_m2, array.tilt_deg, weather, sun, timeline)
    through = {
        "shading": 1.0 - losses.array.shading,
        "soiling": _while_up(through_dirt(losses.array, precipitation, timeline), sun),
        "snow": _while_up(snow, sun),
    }
    factor = scenario.production.factor_of(timeline.standard_month[sun.up])
    return array_power(array, module, plane, through, losses, factor, weather, sun)


def _while_up(share: Floats | float, sun: Sun) -> Floats | float:
    return share if isinstance(share, float) else share[sun.up]


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
        if not (given and here):
            return []
        return [f"input {each.number}: {', '.join(given)} not used: array {here[0]!r} names no module"]
    if not each.steps_too_high:
        return []
    return [
        f"input {each.number}: without load its strings reach {each.open_circuit_v.max():.0f} V, above max_v"
        f" {dc_input.max_v:g}, in {each.steps_too_high * step_h:g} hours of this year: that destroys an inverter; take"
        " fewer modules in series"
    ]
