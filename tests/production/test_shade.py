"""Horizon and near shade."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pvlib import irradiance, solarposition

from solarsim.home import Home
from solarsim.production._shade import behind_horizon, behind_things, sky_share
from solarsim.production._sun import sun_over, sun_within
from solarsim.production.dc_power import dc_power
from solarsim.scenario.roof.roof import NearShade
from solarsim.scenario.site import Horizon
from solarsim.weather.sun import sun_up
from tests.builders import scenario, timeline


def all_around(height_deg: float) -> Horizon:
    return Horizon(azimuth_deg=(0.0, 180.0), elevation_deg=(height_deg, height_deg))


@pytest.mark.by_hand
@pytest.mark.parametrize("height_deg", [0.0, 5.0, 20.0, 60.0])
def test_flat_plane_in_a_bowl_sees_the_squared_cosine(height_deg: float) -> None:
    """View factor of the sky above a ring of constant height, from a horizontal plane: cos2(height)."""
    assert sky_share(all_around(height_deg), 0.0, 180.0) == pytest.approx(np.cos(np.radians(height_deg)) ** 2, abs=2e-3)


@pytest.mark.by_hand
def test_wall_behind_a_steep_plane_hides_little_of_its_sky() -> None:
    """A vertical plane to the south sees nothing of the north, and all of a wall before it up to its height.

    With a bowl of height h all around it keeps, of what it sees above the ground, 1 - (2h + sin 2h) / pi
    (integral of cos2 over elevation from h to 90 deg, over that from 0).
    """
    north = Horizon(azimuth_deg=(80.0, 90.0, 270.0, 280.0), elevation_deg=(60.0, 0.0, 0.0, 60.0))
    assert sky_share(north, 90.0, 180.0) == pytest.approx(1.0, abs=1e-6)
    height = np.radians(25.0)
    expected = 1 - (2 * height + np.sin(2 * height)) / np.pi
    assert sky_share(all_around(25.0), 90.0, 180.0) == pytest.approx(expected, abs=2e-3)


@pytest.mark.by_hand
def test_horizon_is_straight_between_points_and_around_north() -> None:
    line = Horizon(azimuth_deg=(90.0, 270.0), elevation_deg=(10.0, 30.0))
    directions = np.array([90.0, 180.0, 270.0, 0.0, 315.0])
    np.testing.assert_allclose(line.elevation_at(directions), [10.0, 20.0, 30.0, 20.0, 25.0])


HILLS = Horizon(azimuth_deg=(0.0, 60.0, 120.0, 180.0, 240.0, 300.0), elevation_deg=(5.0, 25.0, 12.0, 8.0, 20.0, 10.0))


def test_sun_is_behind_the_hill_or_not(demo_home: Home) -> None:
    sun = sun_over(demo_home.weather, demo_home.timeline)
    within = sun_within(demo_home.weather, sun, 1.0)
    east = Horizon(azimuth_deg=(0.0, 60.0, 120.0, 180.0), elevation_deg=(0.0, 25.0, 25.0, 0.0))
    beam = behind_horizon(east, within, 30.0, 180.0).beam
    eastern = ((within.azimuth_deg > 60.0) & (within.azimuth_deg < 120.0)).all(axis=1)
    assert beam[eastern & (within.elevation_deg.max(axis=1) < 24.9)].max() == 0.0
    assert beam[eastern & (within.elevation_deg.min(axis=1) > 25.1)].min() == 1.0
    assert beam[within.azimuth_deg.min(axis=1) > 180.0].min() == 1.0
    between = beam[eastern & (within.elevation_deg.min(axis=1) < 22.0) & (within.elevation_deg.max(axis=1) > 28.0)]
    assert between.size > 50
    assert 0.05 < between.min() < between.max() < 0.95


@pytest.mark.second_opinion
@pytest.mark.parametrize(("tilt_deg", "azimuth_deg"), [(30.0, 180.0), (20.0, 90.0), (35.0, 270.0)])
def test_beam_over_a_horizon_is_that_of_single_minutes(demo_home: Home, tilt_deg: float, azimuth_deg: float) -> None:
    """A steady beam, minute by minute by NREL's exact algorithm (pvlib), each minute behind the hills or not."""
    weather, sun = demo_home.weather, sun_over(demo_home.weather, demo_home.timeline)
    beam = behind_horizon(HILLS, sun_within(weather, sun, 1.0), tilt_deg, azimuth_deg).beam
    partial = np.flatnonzero((beam > 0.0) & (beam < 1.0))
    assert partial.size > 600
    offset_s = ((np.arange(60) + 0.5) / 60 - 0.5) * 3600 * sun.share[partial][:, None]
    middle = sun.instant.tz_localize(None).to_numpy().astype("datetime64[s]")[partial]
    when = middle[:, None] + np.round(offset_s).astype("timedelta64[s]")
    place = weather.latitude_deg, weather.longitude_deg, weather.elevation_m
    found = solarposition.get_solarposition(pd.DatetimeIndex(when.ravel(), tz="UTC"), *place)
    over = found["apparent_elevation"].to_numpy() >= HILLS.elevation_at(found["azimuth"].to_numpy())
    cosine = irradiance.aoi_projection(tilt_deg, azimuth_deg, found["apparent_zenith"], found["azimuth"]).to_numpy()
    minutes = np.maximum(cosine, 0.0).reshape(when.shape)
    own = beam[partial] * minutes.mean(axis=1)
    # Of a beam of 1: two hundredths at most, where all or nothing was off by up to a half.
    assert own == pytest.approx((minutes * over.reshape(when.shape)).mean(axis=1), abs=0.02)
    assert (own - (minutes * over.reshape(when.shape)).mean(axis=1)).mean() == pytest.approx(0.0, abs=0.002)


def test_hour_over_a_horizon_is_the_mean_of_its_quarter_hours(demo_home: Home) -> None:
    """The same sun in steps of 15 minutes; steps with sunrise or sunset apart, whose parts differ in length."""
    weather, quarters = demo_home.weather, timeline(step_minutes=15)
    by_hour, by_quarter = sun_over(weather, demo_home.timeline), sun_up(weather, quarters.utc_start, 0.25)
    hours, fine = np.zeros(8760), np.zeros(35040)
    hours[by_hour.up] = behind_horizon(HILLS, sun_within(weather, by_hour, 1.0), 0.0, 180.0).beam
    fine[by_quarter.up] = behind_horizon(HILLS, sun_within(weather, by_quarter, 0.25), 0.0, 180.0).beam
    light = np.zeros(35040)
    light[by_quarter.up] = np.cos(np.radians(by_quarter.apparent_zenith_deg))
    weight, part = light.reshape(8760, 4), fine.reshape(8760, 4)
    whole = by_hour.up.copy()
    whole[by_hour.up] = by_hour.share == 1.0
    expected = (weight * part).sum(axis=1)[whole] / weight.sum(axis=1)[whole]
    assert hours[whole] == pytest.approx(expected, abs=0.02)


def test_table_of_near_shade_holds_in_its_month_and_hour(demo_home: Home) -> None:
    blocked = [[0.0] * 24 for _ in range(12)]
    blocked[5][9] = 0.75
    near = NearShade.model_validate({"beam_blocked": tuple(map(tuple, blocked)), "sky_hidden": 0.1})
    sun = sun_over(demo_home.weather, demo_home.timeline)
    shade = behind_things(near, sun, demo_home.timeline)
    whole = np.ones(8760)
    whole[sun.up] = shade.beam
    places = np.flatnonzero(whole < 1)
    assert set(demo_home.timeline.standard_month[places]) == {6}
    assert set(places % 24) == {9}
    assert places.size == 30
    assert whole[places].max() == 0.25
    assert shade.sky == 0.9


@settings(max_examples=8)
@given(low=st.floats(0.0, 40.0), more=st.floats(0.0, 40.0))
def test_higher_horizon_never_makes_more_power(low: float, more: float, demo_home: Home) -> None:
    one, other = (
        dc_power(
            scenario(site__horizon={"azimuth_deg": [0.0, 180.0], "elevation_deg": [height, height]}),
            demo_home.weather,
            demo_home.timeline,
        ).dc_kw
        for height in (low, low + more)
    )
    assert (other <= one + 1e-9).all()


@pytest.mark.parametrize("model", ["hay_davies", "perez_driesse"])
def test_horizon_of_nothing_changes_nothing(model: str, demo_home: Home) -> None:
    flat = {"azimuth_deg": [0.0, 180.0], "elevation_deg": [0.0, 0.0]}
    plain, behind = (
        dc_power(
            scenario(production__transposition=model, **changes), demo_home.weather, demo_home.timeline
        ).dc_kw.sum()
        for changes in ({}, {"site__horizon": flat})
    )
    assert behind == pytest.approx(plain, rel=1e-9)
