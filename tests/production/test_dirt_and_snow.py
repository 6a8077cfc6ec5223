"""Dirt, rain and snow on the glass."""

from pathlib import Path

import numpy as np
import pytest
from pvlib import snow

from solarsim.errors import WeatherError
from solarsim.home import Home, home_from
from solarsim.production._dirt_and_snow import covered, lost_by_month, read_precipitation, washed
from solarsim.production.dc_power import dc_power
from solarsim.scenario.roof.losses import SnowByMonth, SnowCover, SoilingByRain
from tests.builders import scenario, timeline

WHERE = timeline("Etc/GMT")
DIRT = SoilingByRain(loss_per_day=0.002, most=0.25, cleaning_rain_mm=5.0, grace_days=7)


def rain(*days: int, mm: float = 10.0) -> np.ndarray:
    fallen = np.zeros(8760)
    fallen[[24 * day + 6 for day in days]] = mm
    return fallen


@pytest.mark.by_hand
def test_dirt_gathers_after_the_days_of_grace() -> None:
    """Rain on day 100, clean for 7 days and the day in which the rain still counts, then 0.2 % a day."""
    lost = washed(DIRT, rain(100), WHERE)
    assert lost[24 * 102] == 0.0
    assert lost[24 * 140] == pytest.approx((140 - 100 - 8.2) * 0.002, abs=0.0005)
    assert lost.max() <= 0.25


def test_year_of_dirt_is_a_circle() -> None:
    """December's dirt is there in January."""
    lost = washed(DIRT, rain(300), WHERE)
    assert lost[0] == pytest.approx(lost[-1], abs=0.001)
    assert lost[0] > 0.1


def test_rain_below_the_threshold_cleans_nothing_and_more_rain_never_dirties() -> None:
    never = washed(DIRT, np.zeros(8760), WHERE)
    assert (washed(DIRT, rain(100, mm=4.0), WHERE) == never).all()
    assert (washed(DIRT, rain(50, 100), WHERE) <= washed(DIRT, rain(100), WHERE) + 1e-12).all()


def test_snow_covers_stays_in_the_cold_and_slides_in_the_sun() -> None:
    fallen, light, air = np.zeros(8760), np.zeros(8760), np.full(8760, -15.0)
    fallen[100] = 5.0
    light[110:118] = 300.0
    air[200:] = 5.0
    lost = covered(SnowCover(blocks_up_slope=2), fallen, light, 35.0, air, WHERE)
    assert lost[99] == 0.0
    assert lost[100:200].min() == 1.0
    assert lost[230] == 0.0
    assert set(np.unique(lost)) == {0.0, 0.5, 1.0}


@pytest.mark.second_opinion
def test_snow_by_month_is_the_library_s_own_function() -> None:
    """Townsend & Powers through pvlib, with our months put in by hand; months without snow lose nothing."""
    climate = SnowByMonth(
        snowfall_cm=(25.4, 25.4, *[0.0] * 10),
        snow_days=(2.0, 3.0, *[0.0] * 10),
        relative_humidity_percent=(80.0,) * 12,
        lower_edge_m=1.0,
        slope_m=2.0,
    )
    lost = lost_by_month(climate, np.full(8760, 150.0), 20.0, np.zeros(8760), WHERE)
    hours = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) * 24
    theirs = snow.loss_townsend(
        np.array(climate.snowfall_cm), np.array(climate.snow_days), 20.0, np.full(12, 80.0), np.zeros(12),
        hours * 150.0, 2.0, 1.0,
    )  # fmt: skip
    np.testing.assert_allclose(lost[:3], theirs[:3])
    assert lost[0] > 0.05
    assert lost[3:].max() == 0.0


@pytest.mark.by_hand
def test_soiling_by_month_takes_its_share_in_its_month(demo_home: Home) -> None:
    months = [0.0] * 12
    months[6] = 0.25
    clean = dc_power(scenario(), demo_home.weather, demo_home.timeline).array_kw["roof"]
    dirty = dc_power(scenario(losses__array__soiling_by_month=months), demo_home.weather, demo_home.timeline).array_kw[
        "roof"
    ]
    july = demo_home.timeline.standard_month == 7
    np.testing.assert_allclose(dirty, np.where(july, 0.75 * clean, clean))


def test_rain_and_snow_come_from_one_file(tmp_path: Path) -> None:
    wet = np.zeros((8760, 2))
    wet[::50, 0], wet[:2000:500, 1] = 8.0, 3.0
    rows = "\n".join(f"{mm},{cm}" for mm, cm in wet.tolist())
    (tmp_path / "wet.csv").write_text(f"rain_mm,snowfall_cm\n{rows}\n")
    dry, washed_often, snowed = (
        home_from(scenario(tmp_path, **changes)).production.dc_kw.sum()
        for changes in (
            {},
            {"losses__array__soiling_by_rain": DIRT.model_dump(), "precipitation": {"file": "wet.csv"}},
            {"losses__array__snow_cover": {"blocks_up_slope": 1}, "precipitation": {"file": "wet.csv"}},
        )
    )
    assert washed_often == pytest.approx(dry)  # rain every two days keeps it clean
    assert 0.9 * dry < snowed < dry


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("rain_mm\n1\n", "has 1 rows, the year has 8760 steps"),
        ("rain_mm\n" + "0\n" * 8759 + "-1\n", r"rain_mm is -1 in row 8760, must be from 0 to 400"),
        ("snow\n" + "0\n" * 8760, "has no column 'rain_mm'"),
    ],
)
def test_wrong_rain_is_refused(tmp_path: Path, text: str, told: str) -> None:
    (tmp_path / "wet.csv").write_text(text)
    with pytest.raises(WeatherError, match=told):
        read_precipitation(tmp_path / "wet.csv", ("rain_mm",), WHERE)


@pytest.mark.by_hand
def test_hourly_rain_falls_evenly_over_finer_steps(tmp_path: Path) -> None:
    (tmp_path / "wet.csv").write_text("rain_mm\n" + "8\n" + "0\n" * 8759)
    where = timeline(step_minutes=15)
    rain = read_precipitation(tmp_path / "wet.csv", ("rain_mm",), where)["rain_mm"]
    assert rain[:5].tolist() == [2.0, 2.0, 2.0, 2.0, 0.0]
    assert rain.size == 35040
    (tmp_path / "own.csv").write_text("rain_mm\n" + "101\n" + "0\n" * 35039)
    with pytest.raises(WeatherError, match="must be from 0 to 100"):
        read_precipitation(tmp_path / "own.csv", ("rain_mm",), where)


def test_rain_that_is_no_text_is_refused(tmp_path: Path) -> None:
    (tmp_path / "wet.csv").write_bytes(b"rain_mm\n\xff\n")
    with pytest.raises(WeatherError, match="is not UTF-8 text"):
        read_precipitation(tmp_path / "wet.csv", ("rain_mm",), WHERE)
