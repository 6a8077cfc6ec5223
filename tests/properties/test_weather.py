"""What must hold for a year from any monthly means at any latitude."""

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from pvlib import solarposition

from solarsim.weather.source import weather_for
from tests.builders import timeline
from tests.weather.means import DAYS, MONTH, home_of

UTC = timeline("UTC")


def most_kwh_m2(latitude_deg: float) -> NDArray[np.float64]:
    """Give each month's irradiation above the air: Duffie & Beckman, eq. 1.6.1a and 1.10.3 (from memory)."""
    day = np.arange(1, 366)
    phi, delta = np.radians(latitude_deg), np.radians(23.45) * np.sin(2 * np.pi * (284 + day) / 365)
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(delta), -1, 1))
    distance = 1 + 0.033 * np.cos(2 * np.pi * day / 365)
    height = np.cos(phi) * np.cos(delta) * np.sin(sunset) + sunset * np.sin(phi) * np.sin(delta)
    return np.asarray(np.bincount(np.repeat(np.arange(12), DAYS), 24 / np.pi * 1.367 * distance * height), np.float64)


@settings(max_examples=25)
@given(
    latitude_deg=st.floats(-80, 80),
    longitude_deg=st.floats(-40, 40),
    clearness=st.lists(st.floats(0.0, 0.72), min_size=12, max_size=12),
    temp_air_c=st.lists(st.floats(-50, 40), min_size=12, max_size=12),
    seed=st.integers(0, 2**31 - 1),
)
def test_year_from_any_plausible_means_is_a_sky(
    latitude_deg: float, longitude_deg: float, clearness: list[float], temp_air_c: list[float], seed: int
) -> None:
    most = most_kwh_m2(latitude_deg)
    ghi = np.where(most > 10.0, most * clearness, 0.0)
    table = {
        "format": "monthly",
        "place": {"latitude_deg": latitude_deg, "longitude_deg": longitude_deg, "elevation_m": 0.0},
        "ghi_kwh_m2": ghi.tolist(),
        "temp_air_c": temp_air_c,
        "seed": seed,
    }
    year = weather_for(home_of(table, "UTC"), UTC)
    again = weather_for(home_of(table, "UTC"), UTC)
    np.testing.assert_allclose(np.bincount(MONTH, year.ghi_w_m2) / 1000, ghi, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(np.bincount(MONTH, year.temp_air_c) / (DAYS * 24), temp_air_c, atol=1e-9)
    for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2"):
        values = getattr(year, name)
        assert np.isfinite(values).all()
        assert values.min() >= 0.0
        assert values.max() < 1300.0  # a clearness of 0.8 of the 1,412 W/m2 of January, and its split
        np.testing.assert_array_equal(values, getattr(again, name))

    edges = pd.DatetimeIndex([*UTC.utc_start, UTC.utc_start[-1] + np.timedelta64(1, "h")], tz="UTC")
    sun = solarposition.get_solarposition(edges, latitude_deg, longitude_deg, altitude=0.0)["elevation"].to_numpy()
    night = (sun[:-1] < -1) & (sun[1:] < -1)
    assert year.ghi_w_m2[night].max(initial=0.0) == 0.0
    whole = (sun[:-1] > 0) & (sun[1:] > 0)  # where the middle of the hour is the middle of its sun
    middle = edges[:-1][whole] + pd.Timedelta(minutes=30)
    zenith = solarposition.get_solarposition(middle, latitude_deg, longitude_deg, altitude=0.0)["apparent_zenith"]
    beam = year.dni_w_m2[whole] * np.cos(np.radians(zenith.to_numpy()))
    np.testing.assert_allclose(year.dhi_w_m2[whole] + beam, year.ghi_w_m2[whole], atol=1e-6)
