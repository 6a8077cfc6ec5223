"""A meter's readings become whole hours: no energy is lost, no clock change is guessed."""

from collections import defaultdict
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from solarsim.errors import LoadError
from solarsim.load.meter import Hole, MeterHours, Readings, hours_from
from tests.load.meter.series import ZONES, drawn_kwh, instants, on_the_wall, readings

NEW_YORK = "America/New_York"
SPRING, AUTUMN = "2025-03-09", "2025-11-02"  # when the US changed its clocks in 2025 (IANA time zone data)
LORD_HOWE = "Australia/Lord_Howe"
HOUR_BEGINS_S = {"Asia/Kolkata": 1800, LORD_HOWE: 1800}  # standard time UTC+5:30 and UTC+10:30

MINUTES = st.sampled_from([15, 20, 30, 60])
SEEDS = st.integers(0, 2**31)
FIRST_DAYS = st.dates(np.datetime64("2023-01-01").astype(object), np.datetime64("2026-12-01").astype(object))


def span(zone: str, first: object, days: int, minutes: int) -> NDArray[np.datetime64]:
    begin = np.datetime64(str(first))
    return instants(zone, str(begin), str(begin + days - 1), minutes)


def fits(zone: str, minutes: int) -> bool:
    """Lord Howe's clock changes by half an hour: longer intervals do not fit both its times."""
    return zone != LORD_HOWE or minutes in (15, 30)


def rows_of(day: str, *hours: int) -> list[str]:
    return [f"{day}T{hour:02d}:00" for hour in hours]


# Properties


@given(st.sampled_from(ZONES), FIRST_DAYS, st.integers(1, 12), MINUTES, st.booleans(), SEEDS, st.floats(0.0, 0.2))
def test_energy_in_is_energy_in_hours_and_energy_dropped(
    zone: str, first: object, days: int, minutes: int, wall: bool, seed: int, lost: float
) -> None:
    utc = span(zone, first, days, minutes if fits(zone, minutes) else 30)
    minutes = int((utc[1] - utc[0]).astype(np.int64) // 60)
    chance = np.random.default_rng(seed)
    keep = chance.random(utc.size) >= lost
    keep[:4] = True  # at least one hour is complete
    start = (on_the_wall(utc, zone) if wall else utc)[keep]
    sent, empty = drawn_kwh(start.size, seed + 1), chance.random(start.size) < lost / 4
    given_kwh = np.where(empty, np.nan, drawn_kwh(start.size, seed))
    given_kwh[:4] = 1.0
    got = hours_from(readings(start, given_kwh, "wall" if wall else "utc", minutes, sent), zone)
    assert np.nansum(got.import_kwh) + got.dropped_import_kwh == np.nansum(given_kwh)
    assert np.nansum(got.export_kwh) + got.dropped_export_kwh == sent.sum()
    assert (np.diff(got.start_utc) == np.timedelta64(1, "h")).all()
    assert sum(hole.hours for hole in got.holes) == np.isnan(got.import_kwh).sum() == np.isnan(got.export_kwh).sum()


@given(st.sampled_from(ZONES), FIRST_DAYS, st.integers(1, 8), MINUTES, SEEDS)
def test_wall_clock_and_utc_say_the_same(zone: str, first: object, days: int, minutes: int, seed: int) -> None:
    utc = span(zone, first, days, minutes if fits(zone, minutes) else 15)
    minutes = int((utc[1] - utc[0]).astype(np.int64) // 60)
    kwh, sent = drawn_kwh(utc.size, seed), drawn_kwh(utc.size, seed + 1)
    estimated = kwh > 1.5
    same(
        hours_from(readings(on_the_wall(utc, zone), kwh, "wall", minutes, sent, estimated), zone),
        hours_from(readings(utc, kwh, "utc", minutes, sent, estimated), zone),
    )


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("year", [2024, 2025])
def test_wall_clock_and_utc_say_the_same_through_both_clock_changes(zone: str, year: int) -> None:
    utc = instants(zone, f"{year}-01-01", f"{year}-12-31", 30)
    kwh = drawn_kwh(utc.size, year)
    got = hours_from(readings(on_the_wall(utc, zone), kwh, "wall", 30), zone)
    same(got, hours_from(readings(utc, kwh, "utc", 30), zone))
    assert np.nansum(got.import_kwh) + got.dropped_import_kwh == kwh.sum()


@given(st.sampled_from(ZONES), FIRST_DAYS, st.integers(1, 8), st.booleans(), SEEDS)
def test_quarter_hours_and_hours_say_the_same(zone: str, first: object, days: int, wall: bool, seed: int) -> None:
    quarters = span(zone, first, days, 15)
    begin = int(np.flatnonzero(quarters.astype(np.int64) % 3600 == HOUR_BEGINS_S.get(zone, 0))[0])
    quarters = quarters[begin : begin + (quarters.size - begin) // 4 * 4]
    kwh = drawn_kwh(quarters.size, seed)
    utc, hourly = quarters[::4], kwh.reshape(-1, 4).sum(axis=1)
    wall = wall and zone != LORD_HOWE
    clock = "wall" if wall else "utc"
    same(
        hours_from(readings(on_the_wall(quarters, zone) if wall else quarters, kwh, clock, 15), zone),
        hours_from(readings(on_the_wall(utc, zone) if wall else utc, hourly, clock, 60), zone),
    )


def same(one: MeterHours, other: MeterHours) -> None:
    for name in ("start_utc", "import_kwh", "export_kwh", "estimated_share"):
        np.testing.assert_array_equal(getattr(one, name), getattr(other, name))
    assert one.holes == other.holes


@given(st.sampled_from(ZONES), FIRST_DAYS, SEEDS)
@pytest.mark.second_opinion
def test_hours_are_the_standard_library_s_sums(zone: str, first: object, seed: int) -> None:
    """Each hour of standard time holds the readings that begin within it; one that lacks a reading is a hole."""
    utc = span(zone, first, 3, 15)
    keep = np.random.default_rng(seed).random(utc.size) > 0.03
    utc, kwh = utc[keep], drawn_kwh(int(keep.sum()), seed)
    half = HOUR_BEGINS_S.get(zone, 0)
    parts: dict[int, list[float]] = defaultdict(list)
    for second, value in zip(utc.astype(np.int64).tolist(), kwh.tolist(), strict=True):
        parts[(second - half) // 3600 * 3600 + half].append(value)
    got = hours_from(readings(utc, kwh, "utc", 15), zone)
    for start, value in zip(got.start_utc.astype(np.int64).tolist(), got.import_kwh.tolist(), strict=True):
        assert (value == sum(parts[start])) if len(parts[start]) == 4 else np.isnan(value)


# Clock changes


@pytest.mark.by_hand
def test_doubled_hour_that_stands_twice_is_read_in_the_order_of_the_file() -> None:
    """01:00 EDT is 05:00 UTC, 01:00 EST is 06:00 UTC."""
    got = hours_from(readings(rows_of(AUTUMN, 0, 1, 1, 2), [1, 2, 3, 4], "wall"), NEW_YORK)
    assert got.import_kwh.tolist() == [1, 2, 3, 4]
    assert str(got.start_utc[1]) == "2025-11-02T05:00:00"
    assert got.holes == ()
    assert got.notes == ("The doubled hour of 2025-11-02 appears twice and is read in the order of the file.",)


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("minute", "kwh"),
    [([0, 30, 0, 30], [1.0, 2.0, 4.0, 8.0]), ([0, 0, 30, 30], [1.0, 4.0, 2.0, 8.0])],
    ids=["in time", "sorted"],
)
def test_doubled_half_hours_are_told_apart_whether_the_file_is_in_time_or_sorted(
    minute: list[int], kwh: list[float]
) -> None:
    start = [f"{AUTUMN}T01:{each:02d}" for each in minute]
    got = hours_from(readings(start, kwh, "wall", 30), NEW_YORK)
    assert got.import_kwh.tolist() == [3.0, 12.0]


@pytest.mark.by_hand
def test_doubled_hour_that_stands_once_is_two_holes() -> None:
    got = hours_from(readings(rows_of(AUTUMN, 0, 1, 2), [1, 2, 4], "wall", export=[0, 0.5, 0]), NEW_YORK)
    np.testing.assert_array_equal(got.import_kwh, [1, np.nan, np.nan, 4])
    assert got.holes == (Hole("2025-11-02 01:00 EDT", 2),)
    assert (got.dropped_import_kwh, got.dropped_export_kwh) == (2.0, 0.5)
    assert "2025-11-02 that appear once: 1 (2.000 kWh)." in got.notes[0]


@pytest.mark.by_hand
def test_one_lost_quarter_of_the_doubled_hour_makes_both_passes_holes() -> None:
    minutes = [0, 15, 30, 45, 0, 15, 45]
    got = hours_from(readings([f"{AUTUMN}T01:{each:02d}" for each in minutes] + rows_of(AUTUMN, 2), 1.0, "wall",
                              [15] * 7 + [60]), NEW_YORK)  # fmt: skip
    np.testing.assert_array_equal(got.import_kwh, [np.nan, np.nan, 1.0])
    assert got.dropped_import_kwh == 7.0


@pytest.mark.by_hand
def test_missing_hour_of_spring_is_no_hole() -> None:
    got = hours_from(readings(rows_of(SPRING, 1, 3), [1, 2], "wall"), NEW_YORK)
    assert got.import_kwh.tolist() == [1, 2]
    assert got.holes == ()
    assert got.notes == ()


@pytest.mark.parametrize("minutes", [15, 30, 60])
@pytest.mark.parametrize("shown_at_end", [True, False], ids=["the clock at the end", "start and step"])
@pytest.mark.parametrize("zone", ["America/New_York", "Europe/London", "Australia/Sydney", "Asia/Kolkata"])
def test_ends_by_the_wall_clock_say_the_same_as_utc(zone: str, shown_at_end: bool, minutes: int) -> None:
    """A file that labels ends by the wall clock is read through both clock changes, whichever habit it has."""
    utc = instants(zone, "2025-01-01", "2025-12-31", minutes)
    kwh, step = drawn_kwh(utc.size, minutes) + 0.001, np.timedelta64(minutes, "m")
    start = on_the_wall(utc + step, zone) - step if shown_at_end else on_the_wall(utc, zone)
    given_readings = replace(readings(start, kwh, "wall", minutes), labeled_by_end=True)
    same(hours_from(given_readings, zone), hours_from(readings(utc, kwh, "utc", minutes), zone))


@pytest.mark.by_hand
def test_quarter_hour_that_ends_as_clocks_go_forward_may_be_labelled_by_what_they_show_then() -> None:
    """In New York 01:45 to 02:00 EST on 9 March 2025 ends at 03:00 EDT, 07:00 UTC."""
    labels_less_15_min = [f"{SPRING}T{time}" for time in ("01:00", "01:15", "01:30", "02:45")]
    got = hours_from(replace(readings(labels_less_15_min, [1, 2, 4, 8], "wall", 15), labeled_by_end=True), NEW_YORK)
    assert got.import_kwh.tolist() == [15.0]
    assert str(got.start_utc[0]) == "2025-03-09T06:00:00"


def test_empty_row_in_the_missing_hour_is_left_out() -> None:
    for empty in (0.0, np.nan):
        got = hours_from(readings(rows_of(SPRING, 1, 2, 3), [1, empty, 2], "wall"), NEW_YORK)
        assert got.import_kwh.tolist() == [1, 2]
        assert got.notes == ("Empty rows in the hour that the clock skips (2025-03-09) were skipped.",)


def test_energy_in_the_missing_hour_is_refused() -> None:
    with pytest.raises(LoadError, match=r"^the reading of 2025-03-09 02:00 is 0.5 kWh, but the wall clock of Ame"):
        hours_from(readings(rows_of(SPRING, 1, 2, 3), [1, 0.5, 2], "wall"), NEW_YORK)


def test_a_clock_without_changes_has_none() -> None:
    got = hours_from(readings(rows_of(SPRING, 1, 2, 3), [1, 2, 3], "wall"), "America/Phoenix")
    assert got.import_kwh.tolist() == [1, 2, 3]
    assert got.notes == ()


@pytest.mark.published
@pytest.mark.parametrize(("day", "half_hours"), [("2025-04-06", 49), ("2025-10-05", 47), ("2025-07-01", 48)])
def test_lord_howe_has_days_of_23_and_a_half_and_24_and_a_half_hours(day: str, half_hours: int) -> None:
    """IANA time zone data: Lord Howe's clocks change by half an hour.

    Lord Howe's clock changes by half an hour.
    """
    utc = instants(LORD_HOWE, day, day, 30)
    assert utc.size == half_hours
    kwh = drawn_kwh(half_hours, 1)
    got = hours_from(readings(on_the_wall(utc, LORD_HOWE), kwh, "wall", 30), LORD_HOWE)
    assert np.nansum(got.import_kwh) + got.dropped_import_kwh == kwh.sum()
    assert len(got.holes) == half_hours % 2  # the half hour too many has its other half on the next day


@pytest.mark.by_hand
def test_hours_are_those_of_standard_time() -> None:
    """Kolkata is UTC+5:30: midnight there is 18:30 UTC.

    Lord Howe is UTC+10:30, in summer UTC+11: 11:30 on the wall is 00:30 UTC and 11:00 of standard time.
    """
    got = hours_from(readings(rows_of("2025-06-02", 0), 1.0, "wall"), "Asia/Kolkata")
    assert str(got.start_utc[0]) == "2025-06-01T18:30:00"
    start = [f"2025-12-30T{each}" for each in ("11:30", "12:00", "12:30")]
    got = hours_from(readings(start, [1.0, 2.0, 4.0], "wall", 30), LORD_HOWE)
    np.testing.assert_array_equal(got.import_kwh, [3.0, np.nan])
    assert str(got.start_utc[0]) == "2025-12-30T00:30:00"
    assert got.holes == (Hole("2025-12-30 12:30 +11", 1),)


# Holes, repeats, mixed intervals


@pytest.mark.by_hand
def test_hour_with_a_missing_quarter_is_a_hole_and_its_known_part_is_not_used() -> None:
    start = [f"2025-07-01T12:{each:02d}" for each in (0, 15, 30, 45)] + ["2025-07-01T13:00", "2025-07-01T13:30"]
    start += [f"2025-07-01T15:{each:02d}" for each in (0, 15, 30, 45)]
    got = hours_from(readings(start, [0.25] * 4 + [1.0, 2.0] + [0.5] * 4, "wall", 15), NEW_YORK)
    np.testing.assert_array_equal(got.import_kwh, [1.0, np.nan, np.nan, 2.0])
    assert got.holes == (Hole("2025-07-01 13:00 EDT", 2),)
    assert got.dropped_import_kwh == 3.0
    assert got.notes == ("Hours that lack some of their readings: 1; the others are not used.",)


def test_reading_without_a_value_is_a_hole() -> None:
    got = hours_from(readings(rows_of("2025-07-01", 1, 2, 3), [1, np.nan, 2]), NEW_YORK)
    assert got.holes == (Hole("2025-06-30 22:00 EDT", 1),)
    assert got.notes == ("Readings without a value: 1.",)


def test_intervals_may_change_within_the_file() -> None:
    start = rows_of("2025-07-01", 1) + [f"2025-07-01T02:{each:02d}" for each in (0, 15, 30)]
    got = hours_from(readings(start, [1.0, 0.25, 0.25, 0.5], minutes=[60, 15, 15, 30]), NEW_YORK)
    assert got.import_kwh.tolist() == [1.0, 1.0]


def test_row_that_repeats_another_counts_once() -> None:
    got = hours_from(readings(rows_of("2025-07-01", 1, 2, 2, 2), [1, 2, 2, 2]), NEW_YORK)
    assert got.import_kwh.tolist() == [1, 2]
    assert got.dropped_import_kwh == 4.0
    assert got.notes == ("Rows that repeat the time and value of another: 2; each counts once.",)


def test_estimated_share_goes_by_time() -> None:
    start = [f"2025-07-01T02:{each:02d}" for each in (0, 15, 30, 45)]
    got = hours_from(
        readings(start, 1.0, minutes=15, estimated=np.array([True, False, False, False])),
        NEW_YORK,
    )
    assert got.estimated_share.tolist() == [0.25]


def test_notes_of_the_reader_come_first() -> None:
    plain = readings(rows_of("2025-07-01", 1, 2), [1, np.nan])
    got = hours_from(replace(plain, notes=("Read.",)), NEW_YORK)
    assert got.notes == ("Read.", "Readings without a value: 1.")


# Refusals


DAY = "2025-07-01"


@pytest.mark.parametrize(
    ("given_readings", "told"),
    [
        (readings([], []), "the meter file has no readings"),
        (readings(rows_of(DAY, 1), 1.0, minutes=1440),
         "the reading of 2025-07-01 01:00 UTC is 1440 min long, must be an hour or a whole part of it; without"),
        (readings(rows_of(DAY, 1), 1.0, "wall", 25), "01:00 is 25 min long, must be an hour or a whole part"),
        (readings(rows_of(DAY, 1), 1.0, minutes=0), "is 0 min long, must be an hour or a whole part"),
        (readings(rows_of(DAY, 1), -0.5), "has an import of -0.5 kWh, must be 0 or more"),
        (readings(rows_of(DAY, 1), 1.0, export=np.inf), "has an export of inf kWh"),
        (readings([f"{DAY}T01:10"], 1.0), "2025-07-01 01:10 UTC is 60 min long and does not begin on a whole part"),
        (readings([f"{DAY}T01:00:30"], 1.0, minutes=15), "2025-07-01 01:00:30 UTC is 15 min long and does not"),
        (readings(rows_of(DAY, 2, 1), 1.0), "2025-07-01 01:00 UTC follows that of 2025-07-01 02:00 UTC"),
        (readings(rows_of(DAY, 2, 1), 1.0, "wall"), "must be in the order of time"),
        (readings(rows_of(DAY, 1, 1), [1.0, 2.0]),
         r"overlap, that of 2025-07-01 01:00 UTC \(1 kWh in 60 min\) and that of 2025-07-01 01:00 UTC \(2 kWh in"),
        (readings([f"{DAY}T01:00", f"{DAY}T01:30"], 1.0, minutes=[60, 30]), "keep one of them"),
        (readings(rows_of(AUTUMN, 1, 1, 1), 1.0, "wall"), "01:00 appears 3 times, but the wall clock of America"),
        (readings(rows_of(AUTUMN, 1), 1.0, "wall"), "each appears once where the clock shows its time twice"),
        (readings(rows_of(DAY, 1, 2), 1.0, minutes=30), "none of the 2 hours from 2025-07-01 01:00 UTC on is complete"),
    ],
)  # fmt: skip
def test_what_no_meter_reads_is_refused_by_name(given_readings: Readings, told: str) -> None:
    with pytest.raises(LoadError, match=told) as refused:
        hours_from(given_readings, NEW_YORK)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(("zone", "clock", "day"), [("Asia/Kolkata", "utc", DAY), (LORD_HOWE, "wall", "2025-12-30")])
def test_hours_that_straddle_standard_time_are_refused(zone: str, clock: str, day: str) -> None:
    """To halve them would invent a reading; shorter intervals settle it."""
    with pytest.raises(LoadError, match=f"does not begin on a whole part of an hour of standard time in {zone}"):
        hours_from(readings(rows_of(day, 1, 2), 1.0, clock), zone)
