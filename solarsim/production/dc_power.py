"""DC power of the roof: weather, sun and arrays in, kilowatts at each DC input out, with every loss on the way.

Each physical step has a file of its own; this one names the models and calls them in order.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.production._array_power import array_power
from solarsim.production._dirt_and_snow import precipitation_of, through_dirt, through_snow
from solarsim.production._modules import KnownModule, modules_of
from solarsim.production._plane import plane_irradiance
from solarsim.production._shade import Shade, behind_horizon, behind_things
from solarsim.production._sun import Sun, SunWithin, sun_over, sun_within
from solarsim.production.inputs import known_array, power_of_arrays
from solarsim.production.power import ArrayPower, DcPower
from solarsim.production.string_voltage import coldest_hour
from solarsim.scenario.model import RoofScenario
from solarsim.scenario.roof.roof import Array
from solarsim.weather.typical_year import Weather

Floats = NDArray[np.float64]
# Driesse, Jensen & Perez (2024); Hay & Davies (1980).
TRANSPOSITION = {"perez_driesse": "perez-driesse", "hay_davies": "haydavies"}


def dc_power(
    scenario: RoofScenario, weather: Weather, timeline: Timeline, known: Sequence[tuple[Array, ArrayPower]] = ()
) -> DcPower:
    """Compute the DC power of every array, and at the inverter's inputs.

    Parameters
    ----------
    scenario : RoofScenario
        Modules, arrays, losses, shade, sky model, albedo and the inverter's inputs.
    weather : Weather
        On the timeline.
    timeline : Timeline
        The year.
    known : sequence of tuple
        Arrays under the same sky with their power, see ``inputs.known_array``.

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
    modules = modules_of(scenario, coldest_hour(scenario.site, weather.temp_air_c))
    precipitation = precipitation_of(scenario, timeline)
    sun = sun_over(weather, timeline)
    within = None if scenario.site.horizon is None else sun_within(weather, sun, timeline.step_h)
    arrays = tuple(
        known_array(array, known)
        or _array(array, modules.get(array.module or ""), scenario, precipitation, weather, sun, within, timeline)
        for array in scenario.arrays
    )
    return power_of_arrays(scenario, arrays, sun.up)


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
