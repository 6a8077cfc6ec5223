"""A year of weather, summed and judged."""

import numpy as np
import pytest

from solarsim.home import Home
from solarsim.scenario.read import packaged_folder
from solarsim.studies.weather import skies_of, sky_of, sky_of_file
from tests.builders import scenario

MIAMI = packaged_folder("weather_samples") / "12839.tm2"


@pytest.mark.published
def test_months_and_sums_are_the_file_s(demo_home: Home) -> None:
    """Greensboro [kWh/m2], to the printed digit; its lowest and highest hour stand in the file."""
    sky = sky_of(demo_home.weather, "demo")
    assert [round(sky.annual[f"{key}_kwh_m2"], 1) for key in ("ghi", "dni", "dhi")] == [1566.2, 1476.5, 682.2]
    assert sky.monthly["ghi_kwh_m2"][6] == pytest.approx(188.58, abs=0.005)
    assert sky.annual["temp_min_c"] == demo_home.weather.temp_air_c.min() == sky.monthly["temp_min_c"].min()
    assert sky.annual["temp_max_c"] == sky.monthly["temp_max_c"].max()
    assert sky.label_offset_min == 0


@pytest.mark.by_hand
def test_sun_is_highest_when_longitude_and_clock_say(demo_home: Home) -> None:
    """75 W has noon at 12:00 in UTC-5; 79.95 W is 4.95 deg, 19.8 minutes, later."""
    sky = sky_of(demo_home.weather, "demo")
    assert sky.solar_noon_h == pytest.approx(12 + 19.8 / 60)
    highest = sky.sun_elevation_deg.reshape(365, 24).argmax(axis=1)
    assert set(np.unique(highest).tolist()) <= {11, 12}
    assert sky.sun_elevation_deg.max() == pytest.approx(90 - 36.1 + 23.44, abs=0.5)


@pytest.mark.by_hand
def test_scenario_s_years_come_in_the_order_of_the_file() -> None:
    again = str(MIAMI.parent / ".." / MIAMI.parent.name / "723170TYA.CSV")
    home = scenario(weather__other_files=[again])
    assert [sky.source for sky in skies_of(home)] == list(home.weather.files)


@pytest.mark.published
def test_file_alone_is_told_in_its_own_clock() -> None:
    sky = sky_of_file(MIAMI, "tm2")
    assert sky.annual["ghi_kwh_m2"] == pytest.approx(1792.6, abs=0.05)
    assert sky.weather.utc_offset_h == -5.0
