"""A typical year from twelve monthly means."""

from typing import Any

import numpy as np
import pytest

from solarsim.errors import ScenarioError, WeatherError
from solarsim.home import Home
from solarsim.weather._monthly_means import day_of_warmth, month_to_hour
from solarsim.weather._repairs import check_values
from solarsim.weather.label_check import label_offset_min
from solarsim.weather.source import weather_for
from solarsim.weather.typical_year import Weather
from tests.builders import timeline
from tests.weather.means import DAYS, MONTH, home_of, means_of


def made(demo_home: Home, seed: int = 1, **changes: Any) -> Weather:
    return weather_for(home_of(means_of(demo_home.weather, seed, **changes)), demo_home.timeline)


@pytest.mark.by_hand
def test_year_keeps_every_mean_it_was_made_from(demo_home: Home) -> None:
    year, real = made(demo_home), demo_home.weather
    check_values(year, "made")
    for name in ("ghi_w_m2", "temp_air_c", "wind_speed_m_s"):
        wanted, found = (np.bincount(MONTH, getattr(each, name)) / (DAYS * 24) for each in (real, year))
        np.testing.assert_allclose(found, wanted, rtol=1e-9)
    assert label_offset_min(year) == 0
    assert "seed 1" in year.place
    assert year.notes == (
        "the weather is made from monthly means (seed 1) and has no spells of cold or heat",
    )  # fmt: skip


@pytest.mark.by_hand
def test_irradiation_of_a_day_and_of_a_month_are_the_same_year(demo_home: Home) -> None:
    per_month = means_of(demo_home.weather)["ghi_kwh_m2"]
    a_day = made(demo_home, ghi_kwh_m2=None, ghi_kwh_m2_day=(np.array(per_month) / DAYS).tolist())
    np.testing.assert_allclose(a_day.ghi_w_m2, made(demo_home).ghi_w_m2, atol=1e-9)


@pytest.mark.by_hand
def test_same_seed_gives_the_same_year_and_another_seed_another(demo_home: Home) -> None:
    one, again, other = made(demo_home, 7), made(demo_home, 7), made(demo_home, 8)
    np.testing.assert_array_equal(one.dni_w_m2, again.dni_w_m2)
    assert not np.allclose(one.dni_w_m2, other.dni_w_m2)


@pytest.mark.by_hand
def test_without_wind_speeds_there_is_no_wind_and_a_note_says_so(demo_home: Home) -> None:
    calm = made(demo_home, wind_speed_m_s=None)
    assert calm.wind_speed_m_s.max() == 0.0
    assert "there is no wind" in calm.notes[0]


@pytest.mark.by_hand
def test_months_of_the_other_hemisphere_are_refused(demo_home: Home) -> None:
    given = means_of(demo_home.weather)["ghi_kwh_m2"]
    with pytest.raises(WeatherError, match=r"plain.toml: weather.ghi_kwh_m2.1st: .* is more than the sun can send"):
        made(demo_home, ghi_kwh_m2=given[6:] + given[:6])
    with pytest.raises(WeatherError, match=r"weather.ghi_kwh_m2_day.12th: .*must be at most 3\.\d\d; are these"):
        made(demo_home, ghi_kwh_m2=None, ghi_kwh_m2_day=[each / 16.0 for each in given])
    with pytest.raises(ScenarioError, match=r"_day.1st: .* at most 12 kWh/m2; 74.848 kWh/m2 of a month is written"):
        made(demo_home, ghi_kwh_m2=None, ghi_kwh_m2_day=given)


@pytest.mark.by_hand
@pytest.mark.parametrize(("longitude", "refused"), [(-79.95, False), (79.95, True), (-31.0, False), (-28.0, True)])
def test_longitude_of_the_wrong_sign_is_refused(demo_home: Home, longitude: float, refused: bool) -> None:
    """New York's standard time is that of 75 W; 3 h are 45 deg."""
    place = {"latitude_deg": 36.1, "longitude_deg": longitude, "elevation_m": 273.0}
    if refused:
        with pytest.raises(WeatherError, match=r"h away from the standard time of America/New_York .*west is negative"):
            made(demo_home, place=place)
    else:
        assert made(demo_home, place=place).longitude_deg == longitude


@pytest.mark.by_hand
def test_polar_night_is_dark_and_keeps_its_other_months() -> None:
    """At 70 N the sun stays down from late November to mid January (by hand: 90 - 70 - 23.4 < 0)."""
    ghi = [0.0, 8.0, 45.0, 105.0, 145.0, 150.0, 140.0, 95.0, 48.0, 15.0, 1.0, 0.0]
    table = {
        "format": "monthly",
        "place": {"latitude_deg": 70.0, "longitude_deg": 25.0, "elevation_m": 10.0},
        "ghi_kwh_m2": ghi,
        "temp_air_c": [-10.0] * 12,
        "seed": 3,
    }
    year = weather_for(home_of(table, "Europe/Helsinki"), timeline("Europe/Helsinki"))
    np.testing.assert_allclose(np.bincount(MONTH, year.ghi_w_m2) / 1000, ghi, atol=1e-9)
    assert year.ghi_w_m2.max() < 1100
    with pytest.raises(WeatherError, match=r"ghi_kwh_m2.12th: 1 is more than the sun can send"):
        weather_for(home_of({**table, "ghi_kwh_m2": [*ghi[:11], 1.0]}, "Europe/Helsinki"), timeline("Europe/Helsinki"))


@pytest.mark.by_hand
def test_temperature_has_no_step_and_no_waves_of_its_own() -> None:
    assert month_to_hour(np.full(12, 7.0)) == pytest.approx(np.full(8760, 7.0))
    hours = month_to_hour(np.array([-5.0, -3, 2, 8, 14, 18, 20, 19, 15, 9, 3, -2]))
    assert np.abs(np.diff(np.append(hours, hours[0]))).max() < 0.02  # 9 C in a month is 0.0125 an hour


@pytest.mark.by_hand
def test_day_is_warmest_in_the_afternoon_and_swings_by_its_clearness() -> None:
    """At a clearness of 0.5 the swing is 25.8 x 0.5 - 5.21 = 7.69 C; an overcast day has none."""
    day = day_of_warmth(np.array([0.5, 0.1]), np.arange(48.0) % 24 + 0.5)
    assert np.ptp(day[:24]) == pytest.approx(7.69, rel=0.03)
    assert 14 <= int(day[:24].argmax()) <= 16
    assert 4 <= int(day[:24].argmin()) <= 6
    assert day[:24].mean() == pytest.approx(0.0, abs=1e-12)
    assert np.ptp(day[24:]) == 0.0


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"seed": None}, "weather.seed: is missing"),
        ({"seed": 1.5}, "weather.seed: 1.5 must be a whole number"),
        ({"ghi_kwh_m2": None}, "weather: needs either ghi_kwh_m2_day or ghi_kwh_m2 .of a whole month., and not both"),
        ({"ghi_kwh_m2_day": [3.0] * 12}, "weather: needs either"),
        ({"ghi_kwh_m2": [50.0] * 11}, "weather.ghi_kwh_m2: has 11 entries, must have at least 12"),
        ({"ghi_kwh_m2": [50.0] * 11 + [-1.0]}, r"weather.ghi_kwh_m2.12th: -1.0 must be at least 0"),
        ({"temp_air_c": [60.0] * 12}, r"weather.temp_air_c.1st: 60.0 must be at most 50"),
        (
            {"wind_speed_m_s": [100.0] * 12},
            r"wind_speed_m_s.1st: 100.0 must be at most 30 m/s; 100 km/h is written 27.778 .and 11 more",
        ),
        ({"temp_c": [5.0] * 12}, "weather.temp_c: unknown key; did you mean 'temp_air_c'"),
        ({"file": "x.epw"}, "weather.file: unknown key"),
        ({"place": None}, "weather.place: is missing"),
        ({"format": None}, "weather.format: is missing"),
        ({"format": "month"}, "weather.format: 'month' is not known; did you mean 'monthly'"),
    ],
)
def test_wrong_means_are_told_by_key(demo_home: Home, changes: dict[str, Any], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        home_of(means_of(demo_home.weather, **changes))
