"""From the file's clock to the site's."""

from dataclasses import replace

import numpy as np
import pytest

from solarsim.errors import WeatherError
from solarsim.scenario.read import packaged_folder
from solarsim.scenario.site import WeatherFile
from solarsim.weather._repairs import on_timeline
from solarsim.weather.label_check import label_offset_min
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


@pytest.mark.by_hand
def test_clocks_half_an_hour_apart_keep_sums_and_the_sun(greensboro: Weather) -> None:
    """UTC-3.5 is 1.5 h ahead of UTC-5: an hour there is the second half of one here, and the first of the next."""
    moved = on_timeline(greensboro, timeline("America/St_Johns"), "f")
    for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "temp_air_c", "wind_speed_m_s"):
        assert getattr(moved, name).sum() == pytest.approx(getattr(greensboro, name).sum(), rel=1e-12)
    # Hour 100 there is from 98:30 to 99:30 here: half of hour 98 and half of hour 99.
    ramp = replace(greensboro, temp_air_c=np.minimum(np.arange(8760.0), 8759.0 - np.arange(8760.0)))
    line = on_timeline(ramp, timeline("America/St_Johns"), "f").temp_air_c
    assert line[100:104] == pytest.approx([98.5, 99.5, 100.5, 101.5])
    assert label_offset_min(moved) == 0
    assert moved.notes[-1].endswith("moved by +1.5 h, each hour made of parts of two")


@pytest.mark.slow
def test_production_hardly_cares_about_half_an_hour(greensboro: Weather) -> None:
    """Within an hour only the sun moves: the year's energy to 0.2%, each day's to 2% of a mean day."""
    from solarsim.production.dc_power import dc_power
    from tests.builders import scenario

    home, there = scenario(), timeline("America/St_Johns")
    plain = dc_power(home, greensboro, timeline()).dc_kw
    moved = np.roll(dc_power(home, on_timeline(greensboro, there, "f"), there).dc_kw, -1)
    assert moved.sum() == pytest.approx(plain.sum(), rel=0.002)
    days, other = (each.reshape(365, 24).sum(axis=1) for each in (plain, moved))
    assert np.abs(days - other).max() < 0.02 * days.mean()


def test_clocks_apart_by_minutes_are_refused(greensboro: Weather) -> None:
    odd = replace(greensboro, utc_offset_h=-5.1)
    with pytest.raises(WeatherError, match="must differ by whole quarter hours"):
        on_timeline(odd, timeline(), "f")
