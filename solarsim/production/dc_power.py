"""DC power of the roof: weather, sun and arrays in, kilowatts at each DC input out, with every loss on the way.

Each physical step has a file of its own; this one names the models and calls them in order.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.production._array_power import array_power
from solarsim.production._dirt_and_snow import through_dirt, through_snow
from solarsim.production._modules import KnownModule, modules_of
from solarsim.production._sun import Sun
from solarsim.production.inputs import known_array, power_of_arrays
from solarsim.production.power import ArrayPower, DcPower
from solarsim.production.sky import Sky
from solarsim.production.string_voltage import coldest_hour
from solarsim.scenario.model import RoofScenario
from solarsim.scenario.roof.roof import Array
from solarsim.weather.typical_year import Weather

Floats = NDArray[np.float64]


def dc_power(
    scenario: RoofScenario,
    weather: Weather,
    timeline: Timeline,
    known: Sequence[tuple[Array, ArrayPower]] = (),
    sky: Sky | None = None,
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
    sky : Sky, optional
        Of this site and weather, where it is known already.

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
    sky = Sky(scenario, weather, timeline) if sky is None else sky
    arrays = tuple(
        known_array(array, known) or _array(array, modules.get(array.module or ""), scenario, weather, sky, timeline)
        for array in scenario.arrays
    )
    return power_of_arrays(scenario, arrays, sky.sun.up)


def _array(
    array: Array, module: KnownModule | None, scenario: RoofScenario, weather: Weather, sky: Sky, timeline: Timeline
) -> ArrayPower:
    losses, sun, plane = scenario.losses, sky.sun, sky.plane(array)
    snow = through_snow(losses.array, sky.precipitation, plane.incident_w_m2, array.tilt_deg, weather, sun, timeline)
    through = {
        "shading": 1.0 - losses.array.shading,
        "soiling": _while_up(through_dirt(losses.array, sky.precipitation, timeline), sun),
        "snow": _while_up(snow, sun),
    }
    factor = scenario.production.factor_of(timeline.standard_month[sun.up])
    return array_power(array, module, plane, through, losses, factor, weather, sun)


def _while_up(share: Floats | float, sun: Sun) -> Floats | float:
    return share if isinstance(share, float) else share[sun.up]
