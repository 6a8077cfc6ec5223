"""The sun over a site."""

from dataclasses import replace

import numpy as np
import pytest

from solarsim.production._sun import sun_over
from solarsim.weather.typical_year import Weather
from tests.builders import timeline


def spa_place() -> Weather:
    dark = np.zeros(8760)
    return Weather("SPA appendix", 39.742476, -105.1786, 1830.14, -7.0, dark, dark, dark, dark, dark)


@pytest.mark.published
def test_solar_position_equals_that_of_the_algorithm_s_appendix() -> None:
    """Reda & Andreas, NREL/TP-560-34302 (2008), appendix; ours has standard air: refraction differs by 2e-4 deg."""
    where = replace(timeline("Etc/GMT+7", 2003), utc_start=np.array(["2003-10-17T19:00:30"], "datetime64[s]"))
    sun = sun_over(spa_place(), where)
    assert sun.apparent_zenith_deg[0] == pytest.approx(50.11162, abs=5e-4)
    assert sun.azimuth_deg[0] == pytest.approx(194.34024, abs=5e-5)


@pytest.mark.published
def test_hours_of_sunrise_and_sunset_use_the_middle_of_their_sunlit_part() -> None:
    """Same appendix: sunrise 06:12:43, sunset 17:20:19, so the middles are 06:36:21 and 17:10:10, to a minute."""
    where = timeline("Etc/GMT+7", 2003)
    sun = sun_over(spa_place(), where)
    day = sun.instant[where.standard[sun.up].astype("datetime64[D]") == np.datetime64("2003-10-17")]
    printed = np.array(["2003-10-17T13:36:21", "2003-10-18T00:10:10"], "datetime64[s]")
    found = day[[0, -1]].tz_localize(None).to_numpy().astype("datetime64[s]")
    assert np.abs((found - printed).astype(int)).max() <= 60
