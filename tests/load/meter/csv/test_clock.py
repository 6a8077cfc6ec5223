"""The clock of a meter CSV: missing and doubled hours, order, repeats, gaps, registers."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from solarsim.errors import LoadError
from tests.load.meter.files import ALL, hours, read, starts, table, told, values, wall

ZONES = (
    "America/New_York",
    "Europe/Berlin",
    "Europe/London",
    "Australia/Sydney",
    "Pacific/Auckland",
    "America/Santiago",
)


@pytest.mark.parametrize("step", [15, 30, 60])
@pytest.mark.parametrize("zone", ZONES)
def test_a_year_by_the_wall_clock_tells_so_itself(tmp_path: Path, zone: str, step: int) -> None:
    stamps = wall(zone, "2024-01-01", 366, step)
    energy = [row / 7 % 1 for row in range(len(stamps))]
    readings = read(tmp_path, table("Start,kWh", stamps, energy))
    assert readings.clock == "wall"
    assert starts(readings) == stamps
    assert readings.import_kwh.tolist() == pytest.approx(energy)
    assert told(readings, "appears twice")
    assert told(readings, "is skipped")


def test_two_columns_of_the_same_moments_by_two_clocks_are_one(tmp_path: Path) -> None:
    """As in the table of ``flows --csv``: ``time`` is standard time all year, ``local_time`` the wall clock."""
    utc = pd.date_range("2024-03-01", periods=24 * 20, freq="h", tz="UTC")
    standard, local = (
        [each.isoformat() for each in utc.tz_convert(zone)] for zone in ("Etc/GMT+5", "America/New_York")
    )
    readings = read(tmp_path, table("time,kWh,local_time", standard, values(len(utc)), local), labels="start")
    assert starts(readings) == starts(read(tmp_path, table("time,kWh", standard, values(len(utc))), labels="start"))
    later = [each.isoformat() for each in (utc + pd.Timedelta(hours=1)).tz_convert("America/New_York")]
    with pytest.raises(LoadError, match="several columns have times: 'time', 'local_time'"):
        read(tmp_path, table("time,kWh,local_time", standard, values(len(utc)), later))


@pytest.mark.parametrize("step", [15, 30])
def test_half_an_hour_on_lord_howe(tmp_path: Path, step: int) -> None:
    stamps = wall("Australia/Lord_Howe", "2024-04-06", 3, 15)[:: step // 15]
    assert starts(read(tmp_path, table("Start,kWh", stamps, values(len(stamps))), clock="wall")) == stamps


@pytest.mark.by_hand
def test_the_two_doubled_hours_are_told_apart_by_their_order(tmp_path: Path) -> None:
    """On 3 November 2024, 01:00 stands twice in New York: 1 kWh in the earlier hour, 2 kWh in the later."""
    stamps = ["2024-11-03 00:30", "2024-11-03 01:00", "2024-11-03 01:30", "2024-11-03 01:00", "2024-11-03 01:30"]
    stamps += ["2024-11-03 02:00", "2024-11-03 02:30"]
    text = table("Start,kWh", stamps, [0.3, 1, 1, 2, 2, 0.3, 0.2])
    readings = read(tmp_path, text)
    assert starts(readings) == stamps
    assert readings.import_kwh.tolist() == [0.3, 1, 1, 2, 2, 0.3, 0.2]
    assert told(readings, "times are wall-clock time: 2024-11-03 01:00 appears twice")


def test_pairs_of_a_sorted_file_are_parted(tmp_path: Path) -> None:
    order = [0, 1, 3, 2, 4, 5, 6]
    stamps = ["2024-11-03 00:30", "2024-11-03 01:00", "2024-11-03 01:30", "2024-11-03 01:00", "2024-11-03 01:30"]
    stamps += ["2024-11-03 02:00", "2024-11-03 02:30"]
    energy = [0.3, 1, 1, 2, 2, 0.3, 0.2]
    text = table("Start,kWh", [stamps[row] for row in order], [energy[row] for row in order])
    readings = read(tmp_path, text)
    assert starts(readings) == stamps
    assert readings.import_kwh.tolist() == energy


def test_newest_first_is_turned_round(tmp_path: Path) -> None:
    stamps = wall("Europe/Berlin", "2024-10-25", 5, 15)
    text = table("Start,kWh", stamps[::-1], values(len(stamps))[::-1])
    readings = read(tmp_path, text)
    assert starts(readings) == stamps
    assert readings.import_kwh.tolist() == pytest.approx(values(len(stamps)))
    assert told(readings, "the newest reading comes first; the order was reversed")


def test_newest_day_first_is_sorted(tmp_path: Path) -> None:
    stamps = wall("Europe/Berlin", "2024-10-25", 5)
    days = sorted({stamp[:10] for stamp in stamps}, reverse=True)
    rows = [row for day in days for row, stamp in enumerate(stamps) if stamp.startswith(day)]
    text = table("Start,kWh", [stamps[row] for row in rows], [values(121)[row] for row in rows])
    readings = read(tmp_path, text)
    assert starts(readings) == stamps
    assert readings.import_kwh.tolist() == pytest.approx(values(121))
    assert told(readings, "rows were not in the order of time; they were sorted")


def test_the_label_of_an_hour_s_end_keeps_its_distance(tmp_path: Path) -> None:
    """With labels at the end, start plus duration is the label, also beside the clock change."""
    stamps = wall("Europe/Berlin", "2024-10-26", 3, 15)
    readings = read(tmp_path, table("Ende,kWh", stamps, values(len(stamps))))
    assert readings.clock == "wall"
    ends = np.asarray(readings.start + readings.duration_s.astype("timedelta64[s]"), "datetime64[m]")
    assert [str(end).replace("T", " ") for end in ends] == stamps


def test_identical_days_are_dropped_and_counted(tmp_path: Path) -> None:
    stamps, energy = hours(72), values(72)
    text = table("Start,kWh", stamps + stamps[24:48], energy + energy[24:48])
    readings = read(tmp_path, text, clock="utc")
    assert starts(readings) == [stamp[:16] for stamp in stamps]
    assert told(readings, "24 of 96 rows repeat the time and values of another; skipped")


def test_identical_day_of_the_clock_change_keeps_both_hours(tmp_path: Path) -> None:
    stamps = wall("Europe/Berlin", "2024-10-26", 3)
    energy = values(len(stamps))
    text = table("Start,kWh", stamps + stamps[24:49], energy + energy[24:49])
    readings = read(tmp_path, text)
    assert starts(readings) == stamps
    assert readings.import_kwh.tolist() == pytest.approx(energy)


def test_gaps_are_left_to_who_fills_them(tmp_path: Path) -> None:
    stamps = hours(72)
    readings = read(tmp_path, table("Start,kWh", stamps[:20] + stamps[31:], values(61)), clock="utc")
    assert readings.import_kwh.size == 61
    assert set(readings.duration_s.tolist()) == {3600}


def test_one_missing_hour_in_june_tells_no_clock(tmp_path: Path) -> None:
    stamps = hours(72, "2024-06-01T00:00")
    with pytest.raises(LoadError, match=r"clock = "):
        read(tmp_path, table("Start,kWh", stamps[:26] + stamps[27:], values(71)))


def test_a_lost_autumn_hour_tells_no_clock(tmp_path: Path) -> None:
    """A UTC file may lose just the hour 01:00 of the last Sunday in October, when clocks change in Europe."""
    stamps = hours(72, "2024-10-26T00:00")
    with pytest.raises(LoadError, match=r"clock = "):
        read(tmp_path, table("Start,kWh", stamps[:25] + stamps[26:], values(71)))


@pytest.mark.parametrize("step", [15, 60])
def test_a_doubled_hour_of_equal_values_stands_twice_where_the_spring_tells_the_clock(
    tmp_path: Path, step: int
) -> None:
    """A meter of coarse steps often reads the same in both passes of a quiet night: those are no repeats."""
    stamps = wall("America/New_York", "2024-01-01", 366, step)
    readings = read(tmp_path, table("Start,kWh", stamps, [0.1 if stamp < "2024-07" else 0.2 for stamp in stamps]))
    assert starts(readings) == stamps
    assert not told(readings, "repeat the time")


def test_a_row_that_repeats_another_tells_no_clock(tmp_path: Path) -> None:
    """Open data of London homes repeats midnights, also those of a Sunday on which clocks change."""
    stamps = hours(72, "2024-10-26T00:00", 30)
    text = table("Start,kWh", [*stamps[:49], *stamps[48:]], [*values(49), *values(72)[48:]])
    with pytest.raises(LoadError, match=r"clock = "):
        read(tmp_path, text)
    assert read(tmp_path, text, clock="wall").import_kwh.size == 72
    different = text.replace(f"{stamps[48]},{values(49)[48]}", f"{stamps[48]},9", 1)
    with pytest.raises(LoadError, match="lines 50 and 51 have different values for 2024-10-27 00:00"):
        read(tmp_path, different)


def test_a_file_with_many_holes_tells_no_clock_by_one_of_them(tmp_path: Path) -> None:
    stamps = hours(72, "2024-03-30T00:00")
    spring = [stamp for stamp in stamps if stamp != "2024-03-31 02:00:00"]
    assert read(tmp_path, table("Start,kWh", spring, values(71))).clock == "wall"
    with pytest.raises(LoadError, match=r"clock = "):
        read(tmp_path, table("Start,kWh", spring[:60] + spring[61:], values(70)))


@pytest.mark.by_hand
def test_a_register_gives_its_differences(tmp_path: Path) -> None:
    """From 1000.0 at 00:00 to 1000.5 at 01:00: 0.5 kWh in the hour from 00:00."""
    text = table("Time,Import kWh,Export kWh", hours(4), [1000, 1000.5, 1000.5, 1002], [5, 5, 6, 6])
    readings = read(tmp_path, text, clock="utc", kind="register")
    assert starts(readings) == ["2024-01-20 00:00", "2024-01-20 01:00", "2024-01-20 02:00"]
    assert readings.import_kwh.tolist() == [0.5, 0.0, 1.5]
    assert readings.export_kwh.tolist() == [0.0, 1.0, 0.0]


@pytest.mark.by_hand
def test_a_register_over_a_gap_leaves_a_gap(tmp_path: Path) -> None:
    stamps = hours(30)
    readings = read(tmp_path, table("Time,kWh", stamps[:5] + stamps[8:], range(100, 127)), clock="utc", kind="register")
    assert set(readings.duration_s.tolist()) == {3600}
    assert readings.import_kwh.sum() == 25.0  # 26 differences of 1 kWh, one of them over the gap
    assert told(
        readings, "1.000 kWh of the register fall into gaps, the first from 2024-01-20 04:00; they are not used"
    )


@pytest.mark.parametrize("label", ["start", "end"])
def test_a_register_by_the_wall_clock_has_whole_steps(tmp_path: Path, label: str) -> None:
    stamps = wall("America/New_York", "2024-01-01", 366, 30)
    text = table("Start,End,kWh", [f"{a},{b}" for a, b in pairwise(stamps)], range(len(stamps) - 1))
    readings = read(tmp_path, text, kind="register", labels=label)
    assert set(readings.duration_s.tolist()) == {1800}
    assert starts(readings) == (stamps[:-2] if label == "start" else stamps[1:-1])


def test_estimated_registers_mark_the_interval_before(tmp_path: Path) -> None:
    text = table("Time,kWh,Quality", hours(4), [100, 101, 102, 103], ["A", "A", "E", "A"])
    assert read(tmp_path, text, clock="utc", kind="register").estimated.tolist() == [False, True, False]


def test_a_clock_told_as_wall_keeps_a_doubled_hour_on_any_day(tmp_path: Path) -> None:
    """In Egypt the clock goes back on a Thursday at midnight: 31 October 2024, 23:00 stands twice."""
    stamps = wall("Africa/Cairo", "2024-10-30", 3)
    assert starts(read(tmp_path, table("Start,kWh", stamps, values(73)), clock="wall")) == stamps


def test_readings_need_not_end_with_a_whole_day(tmp_path: Path) -> None:
    assert read(tmp_path, table("A,B", hours(2), [1, 2]), **ALL).import_kwh.tolist() == [1.0, 2.0]
