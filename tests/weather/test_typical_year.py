"""From the file's clock to the site's."""

import numpy as np
import pytest

from solarsim.errors import WeatherError
from solarsim.scenario.read import packaged_folder
from solarsim.scenario.site import WeatherFile
from solarsim.weather._repairs import on_timeline
from solarsim.weather.read import read_weather
from solarsim.weather.typical_year import Weather
from tests.builders import timeline


@pytest.fixture(scope="module")
def greensboro() -> Weather:
    name = "723170TYA.CSV"
    return read_weather(packaged_folder("weather_samples") / name, WeatherFile(file=name, format="tmy3"))


def test_same_clock_changes_nothing(greensboro: Weather) -> None:
    assert on_timeline(greensboro, timeline(), "f") is greensboro


def test_each_value_keeps_its_instant(greensboro: Weather) -> None:
    chicago = timeline("America/Chicago")
    moved = on_timeline(greensboro, chicago, "f")
    # 12:00 at UTC-5 is 11:00 at UTC-6.
    assert moved.ghi_w_m2[24 * 100 + 11] == greensboro.ghi_w_m2[24 * 100 + 12]
    assert moved.ghi_w_m2.sum() == pytest.approx(greensboro.ghi_w_m2.sum())
    assert "moved by -1 h" in moved.notes[-1]


def test_production_does_not_care_which_clock_the_site_uses(greensboro: Weather) -> None:
    from solarsim.production.dc_power import dc_power
    from tests.builders import scenario

    home = scenario()
    new_york, chicago = timeline(), timeline("America/Chicago")
    here = dc_power(home, greensboro, new_york).dc_kw
    there = dc_power(home, on_timeline(greensboro, chicago, "f"), chicago).dc_kw
    np.testing.assert_allclose(there[:-1], here[1:], atol=1e-9)


def test_weather_of_another_part_of_the_world_is_refused(greensboro: Weather) -> None:
    with pytest.raises(WeatherError, match="another part of the world"):
        on_timeline(greensboro, timeline("Europe/Berlin"), "f")


def test_clocks_half_an_hour_apart_are_refused(greensboro: Weather) -> None:
    with pytest.raises(WeatherError, match="must differ by whole hours"):
        on_timeline(greensboro, timeline("America/St_Johns"), "f")
