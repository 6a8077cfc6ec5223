"""A meter's year on the simulated calendar: weekdays stay weekdays, hours stay hours, energy is accounted for."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.clock.timeline import DAY_KINDS
from solarsim.load.meter import hours_from, load_from_meter
from tests.builders import scenario, timeline
from tests.load.meter.series import (
    ZONES,
    at,
    coded,
    decoded,
    drawn_kwh,
    instants,
    metered,
    on_the_wall,
    readings,
    wall_of,
    with_holes,
    year_of,
)

NEW_YORK, BERLIN, PHOENIX = "America/New_York", "Europe/Berlin", "America/Phoenix"
YEARS = st.integers(2021, 2030)
SEEDS = st.integers(0, 2**31)


# Properties


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("year", [2023, 2024, 2025, 2028])
def test_a_year_on_its_own_calendar_is_itself(zone: str, year: int) -> None:
    """Exactly, hour by hour; only 29 February is left out, and a half hour at the ends of Lord Howe's year."""
    where, hours = timeline(zone, year), year_of(zone, year)
    got = load_from_meter(hours, where)
    known = dict(zip(hours.start_utc.tolist(), hours.import_kwh.tolist(), strict=True))
    expected = np.array([known.get(start, np.nan) for start in where.utc_start.tolist()])
    if not np.isfinite(expected[-1]) and zone == "Australia/Sydney":  # the year is a circle: its last hour is the first
        expected[-1] = hours.import_kwh[0]
    read = np.isfinite(expected)
    np.testing.assert_array_equal(got.load_kw[read], expected[read])
    assert (~read).sum() == got.report.filled_hours == (1 if zone == "Australia/Lord_Howe" else 0)
    if year % 4 and zone != "Australia/Lord_Howe":
        assert got.report.laid_kwh == got.report.read_kwh == hours.import_kwh.sum()
        assert got.report.calendar_kwh == 0.0


@given(st.sampled_from(ZONES), YEARS, YEARS, st.integers(0, 364))
@settings(max_examples=60)
@pytest.mark.second_opinion
def test_weekdays_stay_weekdays_near_their_date_and_hours_stay_hours(
    zone: str, real: int, simulated: int, late: int
) -> None:
    """The calendar is the standard library's: every step names the day and hour that it was taken from."""
    first = np.datetime64(f"{real}-01-01") + late
    last = np.datetime64(f"{real + 1}-01-01") + late - 1
    hours = coded(metered(zone, str(first), str(last), 0.0))
    where = timeline(zone, simulated)
    got = load_from_meter(hours, where)
    days, hour = decoded(got.load_kw, str(wall_of(hours)[0].astype("datetime64[D]")))
    pairs = zip(where.wall.astype("datetime64[D]").tolist(), days.tolist(), strict=True)
    near = {pair: _near(*pair) for pair in {*pairs}}
    pairs = zip(where.wall.astype("datetime64[D]").tolist(), days.tolist(), strict=True)
    right = np.array([near[pair] for pair in pairs]) & (hour == where.minute_of_day // 60)
    # A median names no day: clock changes and the ends of Lord Howe's year need some.
    assert (~right).sum() <= got.report.filled_hours <= 3


def _near(simulated: date, real: date) -> bool:
    apart = abs(_place(simulated) - _place(real))
    return simulated.weekday() == real.weekday() and min(apart, 365 - apart) <= 4


def _place(day: date) -> int:
    """Day of the year with 29 February left out."""
    return (day.replace(year=2001, day=28 if (day.month, day.day) == (2, 29) else day.day) - date(2001, 1, 1)).days


@given(st.sampled_from([PHOENIX, "Asia/Kolkata"]), YEARS, YEARS, SEEDS)
@settings(max_examples=25)
def test_calendar_kwh_is_the_energy_of_days_taken_twice_less_that_of_days_not_taken(
    zone: str, real: int, simulated: int, seed: int
) -> None:
    hours, where = year_of(zone, real, 0.0), timeline(zone, simulated)
    kwh = drawn_kwh(hours.start_utc.size, seed)
    days, hour = decoded(load_from_meter(coded(hours), where).load_kw, f"{real}-01-01")
    source = (days - np.datetime64(f"{real}-01-01")).astype(np.int64) * 24 + hour
    got = load_from_meter(replace(hours, import_kwh=kwh), where)
    np.testing.assert_array_equal(got.load_kw, kwh[source])
    assert got.report.calendar_kwh == ((np.bincount(source, minlength=kwh.size) - 1) * kwh).sum()


@given(st.sampled_from(ZONES[:6]), YEARS, YEARS, SEEDS, st.floats(0.0, 0.08))
@settings(max_examples=60)
def test_energy_laid_is_that_of_hours_taken_and_of_hours_filled(
    zone: str, real: int, simulated: int, seed: int, lost: float
) -> None:
    full = year_of(zone, real)
    chosen = np.random.default_rng(seed).random(full.start_utc.size) < lost
    hours, where = with_holes(full, chosen), timeline(zone, simulated)
    got = load_from_meter(hours, where).report
    # A second run with 1 kWh more in each hour read says how many hours were taken: all but the filled ones.
    more = load_from_meter(replace(hours, import_kwh=hours.import_kwh + 1.0), where).report
    assert more.laid_kwh - more.filled_kwh - (got.laid_kwh - got.filled_kwh) == 8760 - got.filled_hours
    assert got.laid_kwh == pytest.approx(got.read_kwh + got.filled_kwh + got.calendar_kwh, abs=1e-9)
    assert got.hours_read == (~chosen).sum()
    assert sum(hole.hours for hole in got.holes) == chosen.sum()
    assert got.read_kwh == np.nansum(hours.import_kwh)
    if real == simulated and real % 4:
        assert got.calendar_kwh == pytest.approx(0.0, abs=1e-9)
        assert got.filled_hours == chosen.sum()


@given(st.sampled_from(ZONES[:6]), YEARS, SEEDS)
@settings(max_examples=25)
def test_load_of_a_home_with_solar_is_found_again(zone: str, simulated: int, seed: int) -> None:
    """Split any load and production into what the meter sees: import - export + production is the load."""
    plain = year_of(zone, 2025)
    load, sun = drawn_kwh(plain.start_utc.size, seed), drawn_kwh(plain.start_utc.size, seed + 1)
    net = load - sun
    behind = replace(plain, import_kwh=np.maximum(net, 0.0), export_kwh=np.maximum(-net, 0.0))
    where = timeline(zone, simulated)
    np.testing.assert_array_equal(
        load_from_meter(behind, where, sun).load_kw, load_from_meter(replace(plain, import_kwh=load), where).load_kw
    )


@pytest.mark.parametrize("zone", ZONES)
def test_wall_clock_or_utc_quarters_or_half_hours_lay_out_the_same(zone: str) -> None:
    quarters = instants(zone, "2025-01-01", "2025-12-31", 15)
    kwh = drawn_kwh(quarters.size, 3)
    where = timeline(zone, 2027)
    forms = [
        readings(quarters, kwh, "utc", 15),
        readings(on_the_wall(quarters, zone), kwh, "wall", 15),
        readings(quarters[::2], kwh.reshape(-1, 2).sum(axis=1), "utc", 30),
        readings(on_the_wall(quarters[::2], zone), kwh.reshape(-1, 2).sum(axis=1), "wall", 30),
    ]
    first, *others = [load_from_meter(hours_from(form, zone), where).load_kw for form in forms]
    for other in others:
        np.testing.assert_array_equal(first, other)


# The calendar


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("simulated", "real"),
    [
        ("2026-01-01", "2025-01-02"),  # Thursdays
        ("2026-07-01", "2025-07-02"),  # Wednesdays
        ("2026-10-12", "2025-10-13"),  # Mondays
        ("2026-12-30", "2025-12-31"),  # Wednesdays
        ("2026-12-31", "2025-01-02"),  # Thursday: 2 January is 2 days on, 25 December is 6 days back
        ("2027-07-01", "2024-07-04"),  # Thursday of a leap year: 4 July is 3 days on, 27 June is 4 days back
        ("2026-02-26", "2024-02-29"),  # Thursday: 29 February is 2 and a half days on, 22 February is 4 days back
        ("2027-03-04", "2024-03-07"),  # Thursday: 7 March is 3 days on, 29 February 3 and a half days back
    ],
)
def test_each_date_takes_the_nearest_of_its_weekday(simulated: str, real: str) -> None:
    where, year = timeline(PHOENIX, int(simulated[:4])), int(real[:4])
    days, hour = decoded(load_from_meter(coded(year_of(PHOENIX, year, 0.0)), where).load_kw, f"{year}-01-01")
    steps = where.wall.astype("datetime64[D]") == np.datetime64(simulated)
    assert set(days[steps].astype(str)) == {real}
    assert hour[steps].tolist() == list(range(24))


@pytest.mark.by_hand
@pytest.mark.parametrize("zone", [NEW_YORK, "Australia/Sydney"])
def test_an_evening_stays_an_evening_by_the_wall_clock(zone: str) -> None:
    """A home that draws 5 kW from 18:00 to 19:00 does so in January and July, whatever daylight saving says."""
    hours = year_of(zone, 2025, 0.0)
    six = wall_of(hours).astype("datetime64[h]").astype(np.int64) % 24 == 18
    where = timeline(zone, 2026)
    got = load_from_meter(replace(hours, import_kwh=np.where(six, 5.0, 1.0)), where)
    np.testing.assert_array_equal(got.load_kw, np.where(where.minute_of_day == 18 * 60, 5.0, 1.0))


@pytest.mark.by_hand
def test_holidays_take_the_nearest_sunday() -> None:
    """4 July 2026: Sunday 6 July 2025 is 2 days on. 26 November 2026: Sunday 23 November 2025 is 3 back, 30 is 4 on."""
    where = timeline(PHOENIX, 2026, holidays={"dates": (date(2026, 7, 4), date(2026, 11, 26))})
    got = load_from_meter(coded(year_of(PHOENIX, 2025, 0.0)), where)
    days, _ = decoded(got.load_kw, "2025-01-01")
    assert str(days[at(where, "2026-07-04T12:00")][0]) == "2025-07-06"
    assert str(days[at(where, "2026-11-26T12:00")][0]) == "2025-11-23"
    assert got.report.notes[0] == "2 holidays of 2026 use the readings of the nearest Sunday."


def test_a_holiday_that_the_meter_saw_is_itself() -> None:
    where = timeline(PHOENIX, 2025, holidays={"dates": (date(2025, 11, 27),)})
    assert (where.day_kind == DAY_KINDS.index("holiday")).any()
    hours = year_of(PHOENIX, 2025)
    got = load_from_meter(hours, where)
    np.testing.assert_array_equal(got.load_kw, hours.import_kwh)
    assert not any("Sunday" in note for note in got.report.notes)


@pytest.mark.by_hand
def test_hour_that_the_real_clock_skipped_is_filled() -> None:
    """Sunday 1 April 2029 takes Sunday 31 March 2024, on which Berlin's clock went from 02:00 to 03:00."""
    where = timeline(BERLIN, 2029)
    hours = year_of(BERLIN, 2024, 1.0)
    two = wall_of(hours).astype("datetime64[h]").astype(np.int64) % 24 == 2
    got = load_from_meter(replace(hours, import_kwh=np.where(two, 0.25, 1.0)), where)
    assert got.load_kw[at(where, "2029-04-01T01:00", "2029-04-01T02:00", "2029-04-01T03:00")].tolist() == [1, 0.25, 1]
    assert (got.report.filled_hours, got.report.filled_kwh, got.report.holes) == (1.0, 0.25, ())


@pytest.mark.by_hand
def test_hour_that_only_the_simulated_clock_doubles_is_taken_twice_and_the_other_way_round_once() -> None:
    """Berlin 2027 turns back on 31 October, which takes 1 November 2026; 24 October takes 25 October 2026, doubled."""
    where = timeline(BERLIN, 2027)
    hours = year_of(BERLIN, 2026, 1.0)
    wall = wall_of(hours)
    first, second = np.flatnonzero(wall == np.datetime64("2026-10-25T02:00"))
    kwh = hours.import_kwh.copy()
    kwh[first], kwh[second] = 2.0, 3.0
    kwh[wall == np.datetime64("2026-11-01T02:00")] = 4.0
    got = load_from_meter(replace(hours, import_kwh=kwh), where)
    doubled = np.flatnonzero(where.wall == np.datetime64("2027-10-31T02:00"))
    assert got.load_kw[doubled].tolist() == [4.0, 4.0]
    assert got.load_kw[at(where, "2027-10-24T02:00")].tolist() == [2.0]
    assert got.report.filled_hours == 0


@pytest.mark.by_hand
def test_second_pass_without_a_reading_is_filled_not_taken_from_the_first() -> None:
    hours = year_of(BERLIN, 2026, 1.0)
    first, second = np.flatnonzero(wall_of(hours) == np.datetime64("2026-10-25T02:00"))
    kwh = hours.import_kwh.copy()
    kwh[first], kwh[second] = 2.0, np.nan
    where = timeline(BERLIN, 2026)
    got = load_from_meter(replace(hours, import_kwh=kwh), where)
    assert got.load_kw[where.wall == np.datetime64("2026-10-25T02:00")].tolist() == [2.0, 1.0]


def test_shorter_steps_hold_the_mean_of_their_hour() -> None:
    quarters = scenario().site.timeline(0.25)
    hours = year_of(NEW_YORK, 2025)
    got = load_from_meter(hours, quarters)
    np.testing.assert_array_equal(got.load_kw, np.repeat(load_from_meter(hours, timeline()).load_kw, 4))
    assert got.report.laid_kwh == load_from_meter(hours, timeline()).report.laid_kwh
    one = np.arange(hours.start_utc.size) == 24 * 100 + 12
    hourly, shorter = (load_from_meter(with_holes(hours, one), where).report for where in (timeline(), quarters))
    assert (shorter.filled_hours, shorter.filled_kwh) == (hourly.filled_hours, hourly.filled_kwh)
    assert hourly.filled_hours == 1.0


@pytest.mark.by_hand
@pytest.mark.parametrize("zone", [NEW_YORK, BERLIN, "Asia/Kolkata"])
def test_meter_of_quarter_hours_keeps_them(zone: str) -> None:
    """A year laid onto its own calendar is itself, quarter hour by quarter hour, at clock changes too."""
    utc = instants(zone, "2025-01-01", "2025-12-31", 15)
    kwh = drawn_kwh(utc.size, 3)
    where = timeline(zone, 2025, step_minutes=15)
    got = load_from_meter(hours_from(readings(utc, kwh, "utc", 15), zone, 4), where)
    np.testing.assert_allclose(got.load_kw, kwh * 4, atol=1e-12)
    assert not any("steps of 15 minutes" in note for note in got.report.notes)
    halves = load_from_meter(hours_from(readings(utc, kwh, "utc", 15), zone, 2), timeline(zone, 2025, step_minutes=30))
    np.testing.assert_allclose(halves.load_kw, kwh.reshape(-1, 2).sum(axis=1) * 2, atol=1e-12)


def test_finer_meters_lose_no_energy_to_holes_and_coarser_ones_say_so() -> None:
    utc = instants(NEW_YORK, "2025-01-01", "2025-12-31", 15)
    kwh = drawn_kwh(utc.size, 4)
    kwh[9000] = np.nan
    hourly = load_from_meter(hours_from(readings(utc, kwh, "utc", 15), NEW_YORK), timeline(year=2026))
    where = timeline(year=2026, step_minutes=15)
    quarters = load_from_meter(hours_from(readings(utc, kwh, "utc", 15), NEW_YORK, 4), where)
    np.testing.assert_allclose(quarters.load_kw.reshape(-1, 4).mean(axis=1), hourly.load_kw, atol=1e-12)
    assert quarters.report.filled_hours == hourly.report.filled_hours == 1.0

    coarse = load_from_meter(hours_from(readings(utc[::2], 0.5, "utc", 30), NEW_YORK, 4), where).report
    assert any("steps of 15 minutes: the meter has longer readings" in note for note in coarse.notes)
    solar = hours_from(readings(utc, kwh, "utc", 15), NEW_YORK, 4)
    behind = load_from_meter(solar, where, np.full(solar.start_utc.size, 0.5))
    assert any("two logs are subtracted by the hour" in note for note in behind.report.notes)
    assert np.ptp(behind.load_kw.reshape(-1, 4), axis=1).max() == 0.0


# Which year


@pytest.mark.by_hand
def test_of_more_than_a_year_the_latest_is_used() -> None:
    hours = coded(metered(PHOENIX, "2023-06-01", "2025-08-31", 0.0))
    got = load_from_meter(hours, timeline(PHOENIX, 2026))
    assert (got.report.first_day, got.report.last_day) == (date(2024, 9, 1), date(2025, 8, 31))
    days, _ = decoded(got.load_kw, "2023-06-01")
    assert (str(days.min()), str(days.max())) == ("2024-09-02", "2025-08-31")  # 6 September takes the 8th, not the 1st
    # 1 June 2023 to 31 August 2025: 214 + 366 + 243 days
    assert got.report.notes[0] == (
        "The meter has 823 days; the latest year of whole days is used, 2024-09-01 to 2025-08-31."
    )


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("last", "first", "days"),
    [("2024-12-31", "2024-01-01", 366), ("2024-02-29", "2023-03-01", 366), ("2025-02-28", "2024-02-29", 366),
     ("2025-03-01", "2024-03-02", 365)],
)  # fmt: skip
def test_a_year_is_a_calendar_year(last: str, first: str, days: int) -> None:
    report = load_from_meter(metered(PHOENIX, "2023-01-01", last), timeline(PHOENIX, 2026)).report
    assert (str(report.first_day), str(report.last_day), report.hours) == (first, last, 24 * days)


@pytest.mark.by_hand
def test_days_that_the_file_begins_and_ends_within_are_left_out() -> None:
    whole = metered(PHOENIX, "2025-01-01", "2025-12-31")
    cut = replace(whole, **{
        name: getattr(whole, name)[5:-3] for name in ("start_utc", "import_kwh", "export_kwh", "estimated_share")
    })  # fmt: skip
    report = load_from_meter(cut, timeline(PHOENIX, 2025)).report
    assert (report.first_day, report.last_day) == (date(2025, 1, 2), date(2025, 12, 30))
    assert report.read_kwh == whole.import_kwh[24:-24].sum()
    assert len(report.notes) == 1  # of a single year none is chosen
