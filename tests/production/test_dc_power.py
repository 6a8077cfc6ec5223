"""From sky to DC power."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.home import Home
from solarsim.production._array_power import share_kept
from solarsim.production._sun import sun_over
from solarsim.production.dc_power import dc_power
from solarsim.production.power import DcPower
from solarsim.scenario.roof.losses import Age, Losses, ModuleLosses, WiringLosses
from solarsim.weather.typical_year import Weather
from tests.builders import scenario, timeline
from tests.roofs import roof as strings_home

WHERE = timeline("Etc/GMT")


def clear_sky(latitude: float, **columns: Any) -> Weather:
    """Stand in for a file: the same strong sun whenever it is up, no wind, 25 C."""
    n = len(WHERE)
    plain: dict[str, Any] = {
        "place": "nowhere",
        "latitude_deg": latitude,
        "longitude_deg": 0.0,
        "elevation_m": 0.0,
        "utc_offset_h": 0.0,
        "ghi_w_m2": np.full(n, 500.0),
        "dni_w_m2": np.full(n, 600.0),
        "dhi_w_m2": np.full(n, 100.0),
        "temp_air_c": np.full(n, 25.0),
        "wind_speed_m_s": np.zeros(n),
    }
    return Weather(**(plain | columns))


def power(weather: Weather, **changes: Any) -> DcPower:
    return dc_power(scenario(inverter__inputs=[{"max_kw": 50.0}], **changes), weather, WHERE)


def test_no_power_at_night(demo_home: Home) -> None:
    sun = sun_over(demo_home.weather, demo_home.timeline)
    assert demo_home.production.dc_kw[~sun.up].max() == 0.0
    # Under the same sky day and night too.
    always = clear_sky(40.0)
    assert power(always).dc_kw[~sun_over(always, WHERE).up].max() == 0.0


def test_morning_and_evening_are_symmetric_on_the_equinox() -> None:
    """Fails if any label shifts: at longitude 0 solar noon is 12:07 on 20 March (equation of time)."""
    day = slice(24 * 78, 24 * 79)
    kw = power(clear_sky(40.0), arrays__0__azimuth_deg=180.0).dc_kw[day]
    hours = np.arange(24) + 0.5
    assert (kw * hours).sum() / kw.sum() == pytest.approx(12 + 7 / 60, abs=0.12)


def test_sunrise_stands_in_the_right_row() -> None:
    """On the equinox the sun rises at 06:00 solar time, 06:04 by the clock with refraction (by hand)."""
    sun = sun_over(clear_sky(40.0), WHERE)
    up = np.flatnonzero(sun.up[24 * 78 : 24 * 79])
    assert (up[0], up[-1]) == (6, 18)


def test_hour_of_sunrise_takes_the_middle_of_its_sun_up_part() -> None:
    sun = sun_over(clear_sky(40.0), WHERE)
    place = int(sun.up[: 24 * 78 + 6].sum())
    minutes = (sun.instant[place].hour - 6) * 60 + sun.instant[place].minute
    assert minutes == pytest.approx((4 + 60) / 2, abs=2)
    assert sun.instant[place + 3].minute == 30


def test_hour_of_sunset_takes_the_middle_of_its_sun_up_part() -> None:
    """On the equinox at longitude 0 the sun sets about 18:11 by the clock, with refraction (by hand)."""
    sun = sun_over(clear_sky(40.0), WHERE)
    place = int(sun.up[: 24 * 78 + 18].sum())
    assert sun.instant[place].hour == 18
    assert sun.instant[place].minute == pytest.approx(11 / 2, abs=2)


def test_sun_never_sets_in_a_polar_summer_and_never_rises_in_its_winter() -> None:
    sun = sun_over(clear_sky(75.0), WHERE)
    assert sun.up[24 * 171 : 24 * 172].all()
    assert not sun.up[:24].any()


def test_south_in_the_north_equals_north_in_the_south_half_a_year_later() -> None:
    north = power(clear_sky(35.0), arrays__0__azimuth_deg=180.0).dc_kw.sum()
    south = power(clear_sky(-35.0), arrays__0__azimuth_deg=0.0).dc_kw.sum()
    assert north == pytest.approx(south, rel=0.02)


@pytest.mark.by_hand
def test_input_limit_clips_what_its_arrays_bring_together(demo_home: Home) -> None:
    roof = scenario().arrays[0].model_dump()
    both = [roof, {**roof, "name": "twin"}]
    home = scenario(arrays=both, inverter__inputs=[{"max_kw": 5.0}])
    found = dc_power(home, demo_home.weather, demo_home.timeline)
    offered = found.array_kw["roof"] + found.array_kw["twin"]
    np.testing.assert_allclose(found.dc_kw, np.minimum(offered, 5.0))
    np.testing.assert_allclose(found.dc_kw + found.clipped_kw, offered)
    assert found.clipped_kw.max() > 0.5
    # Each input has a limit of its own: what one has to spare does not help the other.
    uneven = scenario(
        arrays=[{**roof, "strings": 2}, {**roof, "name": "twin", "input": 2}], inverter__inputs=[{"max_kw": 5.0}] * 2
    )
    one, other = dc_power(uneven, demo_home.weather, demo_home.timeline).array_kw.values()
    both_kw = dc_power(uneven, demo_home.weather, demo_home.timeline).dc_kw
    np.testing.assert_allclose(both_kw, np.minimum(one, 5.0) + other)
    apart = scenario(arrays=[roof, {**roof, "name": "twin", "input": 2}], inverter__inputs=[{"max_kw": 5.0}] * 2)
    assert dc_power(apart, demo_home.weather, demo_home.timeline).clipped_kw.max() == 0.0


def test_no_arrays_make_nothing() -> None:
    assert power(clear_sky(40.0), arrays=[]).dc_kw.max() == 0.0


@pytest.mark.by_hand
def test_named_losses_multiply() -> None:
    assert share_kept(Losses(wiring=WiringLosses(mismatch=0.1, cables=0.5))) == pytest.approx(0.45)
    assert share_kept(Losses()) == 1.0
    # Three years at 0.4 % each, one on the other: 0.996 cubed.
    assert share_kept(Losses(module=ModuleLosses(age=Age(years=3.0, loss_per_year=0.004)))) == pytest.approx(
        0.988047936
    )


@pytest.mark.by_hand
def test_system_factor_multiplies_what_the_arrays_bring(demo_home: Home) -> None:
    """0.8 of the power all year; 0.5 of it from June to August and all of it in the other months."""
    weather, year = demo_home.weather, demo_home.timeline
    plain = dc_power(scenario(), weather, year)
    fitted = dc_power(scenario(production__system_factor=0.8), weather, year)
    np.testing.assert_allclose(fitted.dc_kw, 0.8 * plain.dc_kw)
    seasons = {"dec_feb": 1.0, "mar_may": 1.0, "jun_aug": 0.5, "sep_nov": 1.0}
    by_season = dc_power(scenario(production__system_factor_by_season=seasons), weather, year)
    summer = np.isin(year.standard_month, (6, 7, 8))
    np.testing.assert_allclose(by_season.dc_kw, np.where(summer, 0.5, 1.0) * plain.dc_kw)
    np.testing.assert_allclose(plain.times(np.where(summer, 0.5, 1.0)).dc_kw, by_season.dc_kw)
    with_curves = dc_power(strings_home(production__system_factor=0.8), weather, year)
    assert with_curves.dc_kw.sum() == pytest.approx(0.8 * dc_power(strings_home(), weather, year).dc_kw.sum(), rel=1e-3)


@settings(max_examples=15)
@given(more=st.floats(0.0, 0.5))
def test_more_soiling_never_makes_more_power(more: float, demo_home: Home) -> None:
    clean = dc_power(scenario(), demo_home.weather, demo_home.timeline).dc_kw
    dirty = dc_power(scenario(losses__array__soiling=more), demo_home.weather, demo_home.timeline).dc_kw
    assert (dirty <= clean + 1e-12).all()


def test_hotter_air_and_a_close_roof_make_less_power(demo_home: Home) -> None:
    weather = demo_home.weather
    hotter = replace(weather, temp_air_c=weather.temp_air_c + 10)
    rack, hot, roof = (
        dc_power(scenario(arrays__0__mounting=mounting), sky, demo_home.timeline).dc_kw.sum()
        for mounting, sky in (("rack", weather), ("rack", hotter), ("roof", weather))
    )
    assert hot == pytest.approx(rack * (1 - 0.004 * 10), rel=0.005)
    assert roof < rack


def test_sky_models_agree_within_some_percent(demo_home: Home) -> None:
    one, other = (
        dc_power(scenario(production__transposition=model), demo_home.weather, demo_home.timeline).dc_kw.sum()
        for model in ("perez_driesse", "hay_davies")
    )
    assert one == pytest.approx(other, rel=0.04)


def test_snow_on_the_ground_brightens_a_steep_array(demo_home: Home) -> None:
    steep = {"arrays__0__tilt_deg": 70.0}
    grass = dc_power(scenario(**steep), demo_home.weather, demo_home.timeline).dc_kw.sum()
    snow = dc_power(scenario(**steep, site__albedo=0.7), demo_home.weather, demo_home.timeline).dc_kw.sum()
    assert snow > 1.05 * grass
