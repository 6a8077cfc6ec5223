"""The household's load on the timeline."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.errors import LoadError
from solarsim.home import Home
from solarsim.load._load_file import read_load
from solarsim.load.household import household_load
from solarsim.load.shapes import SHAPES, season_of, shape_weight, spread_months
from tests.builders import scenario, timeline
from tests.open_data import JENDOBSON, open_data

WHERE = timeline()


@given(st.lists(st.floats(0.0, 5000.0), min_size=12, max_size=12), st.sampled_from(sorted(SHAPES)))
def test_each_month_equals_its_bill(bills: list[float], shape: str) -> None:
    load = spread_months(np.array(bills), shape_weight(SHAPES[shape], WHERE, 36.1), WHERE)
    assert np.bincount(WHERE.month - 1, load).tolist() == pytest.approx(bills, abs=1e-9)
    assert load.min() >= 0.0


def test_people_live_by_the_wall_clock() -> None:
    """The evening peak of the shape falls on the same wall-clock hour before and after the clock change."""
    load = spread_months(np.full(12, 600.0), shape_weight(SHAPES["evenings"], WHERE, 36.1), WHERE)
    for month in (1, 7):
        weekdays = (WHERE.month == month) & (WHERE.day_kind == 0)
        by_hour = np.bincount(WHERE.minute_of_day[weekdays] // 60, load[weekdays])
        assert by_hour.argmax() == {1: 19, 7: 18}[month]


def test_weekends_have_another_shape() -> None:
    load = spread_months(np.full(12, 600.0), shape_weight(SHAPES["evenings"], WHERE, 36.1), WHERE)
    noon = (WHERE.minute_of_day == 12 * 60) & (WHERE.month == 10)
    assert load[noon & (WHERE.day_kind == 1)].mean() > 1.3 * load[noon & (WHERE.day_kind == 0)].mean()


def test_seasons_turn_over_south_of_the_equator() -> None:
    months = np.arange(1, 13)
    assert season_of(months, 36.0)[[0, 6]].tolist() == [0, 2]
    assert season_of(months, -34.0)[[0, 6]].tolist() == [2, 0]


def test_shapes_have_a_weight_for_every_hour() -> None:
    for shape in SHAPES.values():
        assert shape.shape == (2, 3, 24)
        assert shape.min() > 0.0


def written(folder: Path, rows: list[object]) -> Path:
    path = folder / "load.csv"
    path.write_text("time,load_kw\n" + "".join(f"x,{row}\n" for row in rows))
    return path


def test_hourly_file_is_taken_as_it_is(tmp_path: Path) -> None:
    load, notes = read_load(written(tmp_path, [i % 3 for i in range(8760)]), WHERE)
    assert load[:4].tolist() == [0.0, 1.0, 2.0, 0.0]
    assert notes == ()


QUARTERS = timeline(step_minutes=15)


@pytest.mark.by_hand
def test_file_of_quarter_hours_is_taken_as_it_is_and_one_of_hours_repeated(tmp_path: Path) -> None:
    load, notes = read_load(written(tmp_path, [i % 3 for i in range(35040)]), QUARTERS)
    assert (load[:4].tolist(), notes) == ([0.0, 1.0, 2.0, 0.0], ())
    load, notes = read_load(written(tmp_path, [i % 3 for i in range(8760)]), QUARTERS)
    assert load[:8].tolist() == [0.0] * 4 + [1.0] * 4
    assert load.sum() / 4 == 8760.0
    assert "the load is constant within each hour, in steps of 15 minutes" in notes[0]


@pytest.mark.by_hand
def test_rows_finer_than_steps_are_averaged_only_where_their_times_say_what_they_are(tmp_path: Path) -> None:
    path = tmp_path / "load.csv"
    times = ["2025-01-01T00:00:00-05:00", "2025-01-01T00:15:00-05:00"] + ["later"] * 35038
    path.write_text("time,load_kw\n" + "".join(f"{time},{i % 4}\n" for i, time in enumerate(times)))
    for where, means in ((WHERE, [1.5, 1.5]), (timeline(step_minutes=30), [0.5, 2.5]), (QUARTERS, [0.0, 1.0])):
        load, notes = read_load(path, where)
        assert load[:2].tolist() == means
        assert len(notes) == (0 if where is QUARTERS else 1)
    path.write_text(path.read_text().replace("00:15", "01:00"))
    with pytest.raises(LoadError, match="has 35040 rows, 15 min each, but its times are 60 min apart"):
        read_load(path, QUARTERS)


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ([1.0] * 8759, "has 8759 rows, the year has 8760"),
        ([1.0] * 35040, "these look like quarter hours; set site.step_minutes = 15 to use them"),
        ([1.0] * 8759 + [-0.1], "load_kw is -0.1 in row 8760"),
        ([1.0] * 8759 + [50_000], "load_kw is 50000 in row 8760, must be from 0 to 200 kW"),
        ([1.0] * 8759 + ["much"], "line 8761: load_kw is 'much'"),
    ],
)
def test_files_that_no_meter_writes_are_refused(tmp_path: Path, rows: list[object], told: str) -> None:
    with pytest.raises(LoadError, match=told):
        read_load(written(tmp_path, rows), WHERE)


def test_file_that_begins_in_summer_by_its_own_word_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "load.csv"
    path.write_text("time,load_kw\n" + "2025-07-01T00:00:00-05:00,1\n" * 8760)
    with pytest.raises(
        LoadError, match="line 2: time is '2025-07-01T00:00:00-05:00', must be the first hour of 1 January"
    ):
        read_load(path, WHERE)
    path.write_text("time,load_kw\n" + "2025-01-01T00:00:00-05:00,1\n" * 8760)
    assert read_load(path, WHERE)[0].sum() == 8760


def test_missing_file_and_foreign_bytes_are_refused(tmp_path: Path) -> None:
    with pytest.raises(LoadError, match="No such file"):
        read_load(tmp_path / "none.csv", WHERE)
    path = tmp_path / "bytes.csv"
    path.write_bytes(b"load_kw\n\xff\xfe")
    with pytest.raises(LoadError, match="not UTF-8"):
        read_load(path, WHERE)


@pytest.mark.published
def test_real_home_s_meter_file_becomes_the_load(demo_home: Home) -> None:
    """Sample file of the package jendobson.greenbutton (MIT): its own summary and readings.

    A San Diego home, 5,089,595 Wh in 8,727 hours; the holes are filled and told.
    """
    path = open_data(JENDOBSON, "SDGEElectricIntervalDataFeb12011toJan312012.xml")
    found = household_load(
        scenario(load={"meter": {"file": str(path), "format": "green_button"}}),
        timeline("America/Los_Angeles", 2011),
        demo_home.weather,
    )
    assert found.load_kw.sum() == pytest.approx(5089.595, rel=0.01)
    assert found.load_kw.min() >= 0.0
    assert any(note.startswith(str(path)) for note in found.notes)


def test_parts_of_the_house_are_added_to_the_bills(demo_home: Home) -> None:
    well = {
        "kind": "well_pump", "name": "well", "critical": True, "liters_per_day": 1000.0, "water_use": "even",
        "head_m": 50.0, "efficiency": 0.5, "power_w": 750.0, "in_bills": False,
    }  # fmt: skip
    bills = {"monthly_kwh": [600.0] * 12, "shape": "evenings"}
    without, added, alone = (
        household_load(scenario(load=load), demo_home.timeline, demo_home.weather)
        for load in (bills, {**bills, "parts": [well]}, {"parts": [well]})
    )
    np.testing.assert_allclose(added.load_kw, without.load_kw + alone.load_kw)
    # 1,000 l x 9.81 x 50 m / 3.6e6 / 0.5 = 0.2725 kWh a day (by hand).
    assert alone.load_kw.sum() == pytest.approx(0.2725 * 365, rel=1e-3)
