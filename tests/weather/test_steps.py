"""Half and quarter hours of weather out of hours."""

from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from pvlib import clearsky, irradiance, location

from solarsim.clock.timeline import Timeline
from solarsim.home import Home
from solarsim.scenario.model import Scenario
from solarsim.weather._steps import on_steps
from solarsim.weather.source import weather_for
from solarsim.weather.typical_year import HOURS, Weather
from tests.builders import timeline

SKY = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2")
FINER = {minutes: timeline("UTC", step_minutes=minutes) for minutes in (30, 15)}


def sky(seed: int, latitude_deg: float, longitude_deg: float, **columns: Any) -> Weather:
    """Draw a year that obeys no sun at all: any light in any hour."""
    rng = np.random.default_rng(seed)

    def drawn(most: float) -> NDArray[np.float64]:
        return np.where(rng.random(HOURS) < 0.3, 0.0, rng.random(HOURS) * most)

    weather = Weather(
        place="drawn",
        latitude_deg=latitude_deg,
        longitude_deg=longitude_deg,
        elevation_m=100.0,
        utc_offset_h=0.0,
        ghi_w_m2=drawn(1200.0),
        dni_w_m2=drawn(1100.0),
        dhi_w_m2=drawn(900.0),
        temp_air_c=drawn(40.0) - 10.0,
        wind_speed_m_s=drawn(20.0),
    )
    return replace(weather, **columns)


def hourly_means(values: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(values.reshape(HOURS, -1).mean(axis=1), np.float64)


@settings(max_examples=20)
@given(
    seed=st.integers(0, 2**31),
    latitude_deg=st.floats(-80, 80),
    longitude_deg=st.floats(-40, 40),
    minutes=st.sampled_from(sorted(FINER)),
)
def test_steps_sum_to_each_hour_s_irradiation_whatever_the_file_holds(
    seed: int, latitude_deg: float, longitude_deg: float, minutes: int
) -> None:
    hourly = sky(seed, latitude_deg, longitude_deg)
    finer = on_steps(hourly, FINER[minutes])
    for name in SKY:
        values = getattr(finer, name)
        assert values.size == HOURS * 60 // minutes
        assert np.isfinite(values).all()
        assert values.min() >= 0.0
        assert values.max() <= 1500.0  # no crowding into the sun-up part of an hour, however wrong the file
        np.testing.assert_allclose(hourly_means(values), getattr(hourly, name), rtol=1e-9, atol=1e-9)
    assert finer.temp_air_c.mean() == pytest.approx(hourly.temp_air_c.mean(), abs=1e-9)
    assert finer.wind_speed_m_s.min() >= 0.0


def test_hours_are_themselves(demo_home: Home) -> None:
    assert on_steps(demo_home.weather, demo_home.timeline) is demo_home.weather


def test_real_year_keeps_its_irradiation_and_says_what_was_done(demo: Scenario, demo_home: Home) -> None:
    quarters = demo.changed({"site.step_minutes": 15})
    finer = weather_for(quarters, timeline(step_minutes=15))
    for name in SKY:
        np.testing.assert_allclose(hourly_means(getattr(finer, name)), getattr(demo_home.weather, name), atol=1e-9)
    assert "onto steps of 15 minutes" in finer.notes[-1]


def clear_minutes(where: Timeline, place: location.Location) -> dict[str, NDArray[np.float64]]:
    """Give each minute of a clear year by another model: the simplified Solis sky (Ineichen, 2008) through pvlib."""
    minute = pd.date_range(where.utc_start[0], periods=HOURS * 60, freq="min", tz="UTC") + pd.Timedelta("30s")
    sun = place.get_solarposition(minute, method="nrel_numpy")
    found = clearsky.simplified_solis(
        np.maximum(sun["apparent_elevation"].to_numpy(), 0.01),
        aod700=0.1,
        precipitable_water=1.0,
        dni_extra=irradiance.get_extra_radiation(minute).to_numpy(),
    )
    up = sun["apparent_elevation"].to_numpy() > 0.0
    cos_zenith = np.cos(np.radians(sun["apparent_zenith"].to_numpy()))
    dni, dhi = (np.where(up, found[name], 0.0) for name in ("dni", "dhi"))
    return {"ghi_w_m2": dhi + dni * cos_zenith * up, "dni_w_m2": dni, "dhi_w_m2": dhi}


@pytest.mark.second_opinion
def test_clear_year_s_quarter_hours_come_back_from_its_hours() -> None:
    """Lay out the hours of a clear sky by another model: far nearer to its own quarter hours than repeated hours are.

    By 1.8 against 31 W/m2 of global light where there is much. Diffuse light hardly moves within an hour, and is laid
    out no worse. The models differ below 20 deg of elevation, where Solis has more direct light.
    """
    where, place = FINER[15], location.Location(47.0, 8.0, altitude=100)
    minutes = clear_minutes(where, place)
    hours = {name: values.reshape(HOURS, 60).mean(axis=1) for name, values in minutes.items()}
    finer = on_steps(sky(1, 47.0, 8.0, **hours), where)
    high = np.repeat(hours["ghi_w_m2"] > 400.0, 4)
    for name, most, share in (("ghi_w_m2", 3.0, 0.08), ("dni_w_m2", 3.0, 0.2), ("dhi_w_m2", 3.0, 1.0)):
        truth = minutes[name].reshape(-1, 15).mean(axis=1)
        repeated = np.repeat(hours[name], 4) - truth
        off = getattr(finer, name) - truth
        assert rms(off[high]) < min(most, share * rms(repeated[high])), name
        assert rms(off) < (1.0 if name == "dhi_w_m2" else 0.5) * rms(repeated), name


def rms(values: NDArray[np.float64]) -> float:
    return float(np.sqrt((values**2).mean()))


@pytest.mark.by_hand
def test_sunrise_hour_has_its_light_after_sunrise() -> None:
    """On the equator at 0 E the sun rises near 06:04 UTC on 20 March: moved to 7.5 E, near 05:34."""
    where = FINER[15]
    hour = 24 * 78 + 5
    light = np.zeros(HOURS)
    light[hour] = 20.0
    finer = on_steps(sky(1, 0.0, 7.5, ghi_w_m2=light, dni_w_m2=light * 0, dhi_w_m2=light), where)
    quarters = finer.ghi_w_m2[4 * hour : 4 * hour + 4]
    assert quarters[:2] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert 0.0 < quarters[2] < quarters[3]
    assert quarters.sum() == pytest.approx(80.0)


@pytest.mark.by_hand
def test_temperature_runs_from_the_middle_of_one_hour_to_the_next() -> None:
    rise = np.zeros(HOURS)
    rise[11:] = 8.0
    finer = on_steps(sky(1, 0.0, 0.0, temp_air_c=rise), FINER[15])
    # Quarter hours stand 1/8, 3/8, 5/8, 7/8 of the way from 10:30 to 11:30.
    assert finer.temp_air_c[42:46].tolist() == [1.0, 3.0, 5.0, 7.0]
    assert finer.temp_air_c[41] == 0.0
    assert finer.temp_air_c[46] == 8.0
