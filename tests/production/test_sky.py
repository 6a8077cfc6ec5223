"""A sky that roofs share gives the same power, bit by bit, as one of their own."""

import numpy as np

from solarsim.production.dc_power import dc_power
from solarsim.production.sky import Sky
from solarsim.weather.source import weather_for
from tests.builders import scenario


def test_roofs_under_one_sky_get_what_they_get_alone() -> None:
    first = scenario()
    timeline = first.site.timeline()
    weather = weather_for(first, timeline)
    sky = Sky(first, weather, timeline)
    for tilt, modules in ((30.0, 10), (30.0, 7), (15.0, 7), (30.0, 10)):
        roof = first.changed({"arrays.0.tilt_deg": tilt, "arrays.0.modules_in_series": modules})
        shared, alone = dc_power(roof, weather, timeline, sky=sky), dc_power(roof, weather, timeline)
        assert np.array_equal(shared.dc_kw, alone.dc_kw)
    assert sky.plane(first.arrays[0]) is sky.plane(first.arrays[0].model_copy(update={"strings": 3}))


def test_only_the_last_planes_are_kept() -> None:
    first = scenario()
    timeline = first.site.timeline()
    sky = Sky(first, weather_for(first, timeline), timeline)
    array = first.arrays[0]
    kept = sky.plane(array)
    for tilt in range(12):
        sky.plane(array.model_copy(update={"tilt_deg": float(tilt)}))
    assert sky.plane(array) is not kept
