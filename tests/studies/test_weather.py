"""A year of weather, summed and judged."""

import numpy as np
import pytest

from solarsim.scenario.model import Scenario
from solarsim.scenario.read import packaged_folder
from solarsim.studies.weather import weather_file_year, weather_year
from tests.builders import scenario

MIAMI = packaged_folder("weather_samples") / "12839.tm2"


@pytest.mark.published
def test_months_and_sums_equal_the_file_s_own(demo: Scenario) -> None:
    """US Department of Energy's typical year of Greensboro, to the printed digit.

    Greensboro [kWh/m2], to the printed digit; its lowest and highest hour stand in the file.
    """
    (found,) = weather_year(demo).years
    year = found.annual
    assert [round(kwh, 1) for kwh in (year.ghi_kwh_m2, year.dni_kwh_m2, year.dhi_kwh_m2)] == [1566.2, 1476.5, 682.2]
    assert found.months[6].ghi_kwh_m2 == pytest.approx(188.58, abs=0.005)
    assert year.temp_min_c == found.weather.temp_air_c.min() == min(month.temp_min_c for month in found.months)
    assert year.temp_max_c == max(month.temp_max_c for month in found.months)
    assert found.label_offset_min == 0


@pytest.mark.by_hand
def test_sun_is_highest_when_longitude_and_clock_say(demo: Scenario) -> None:
    """75 W has noon at 12:00 in UTC-5; 79.95 W is 4.95 deg, 19.8 minutes, later."""
    (found,) = weather_year(demo).years
    assert found.solar_noon_h == pytest.approx(12 + 19.8 / 60)
    highest = found.sun_elevation_deg.reshape(365, 24).argmax(axis=1)
    assert set(np.unique(highest).tolist()) <= {11, 12}
    assert found.sun_elevation_deg.max() == pytest.approx(90 - 36.1 + 23.44, abs=0.5)


@pytest.mark.by_hand
def test_scenario_s_years_come_in_the_order_of_the_file() -> None:
    again = str(MIAMI.parent / ".." / MIAMI.parent.name / "723170TYA.CSV")
    home = scenario(weather__other_files=[again])
    assert [year.source for year in weather_year(home).years] == list(home.weather.files)


@pytest.mark.published
def test_file_alone_is_summed_by_its_own_clock() -> None:
    """US Department of Energy's typical years, to the printed digit."""
    (found,) = weather_file_year(MIAMI, "tm2").years
    assert found.annual.ghi_kwh_m2 == pytest.approx(1792.6, abs=0.05)
    assert found.weather.utc_offset_h == -5.0
