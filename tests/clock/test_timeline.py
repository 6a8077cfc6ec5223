"""Labels, wall clock and day kinds: a test here fails if any label shifts by an hour."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from solarsim.clock.holidays import holidays_in
from solarsim.clock.timeline import DAY_KINDS, Timeline
from solarsim.clock.windows import Window, steps_in_window
from solarsim.scenario.site import Site
from tests.builders import timeline

PEAK = Window.model_validate({"from": "16:00", "to": "21:00"})


def utc_hours(where: Timeline, day: str) -> list[int]:
    """UTC hours, counted from the day's midnight, that the peak window covers on a local day."""
    chosen = steps_in_window(PEAK, where) & (where.standard.astype("datetime64[D]") == np.datetime64(day))
    hours = (where.utc_start[chosen] - np.datetime64(day)).astype("timedelta64[h]")
    return [int(hour) for hour in hours.astype(np.int64)]


@pytest.mark.parametrize(
    ("zone", "day", "first"),
    [
        # New York is UTC-5 in January and UTC-4 in July (US changes clocks 9 March and 2 November 2025).
        ("America/New_York", "2025-01-15", 21),
        ("America/New_York", "2025-07-15", 20),
        # Phoenix is UTC-7 all year.
        ("America/Phoenix", "2025-01-15", 23),
        ("America/Phoenix", "2025-07-15", 23),
        # Berlin is UTC+1 in January and UTC+2 in July.
        ("Europe/Berlin", "2025-01-15", 15),
        ("Europe/Berlin", "2025-07-15", 14),
        # Sydney is UTC+11 in January and UTC+10 in July.
        ("Australia/Sydney", "2025-01-15", 5),
        ("Australia/Sydney", "2025-07-15", 6),
    ],
)
@pytest.mark.published
def test_evening_window_covers_the_right_utc_hours(zone: str, day: str, first: int) -> None:
    """IANA time zone data: what UTC is at 16:00 to 21:00 by the wall clock."""
    assert utc_hours(timeline(zone, 2025), day) == list(range(first, first + 5))


@pytest.mark.second_opinion
@pytest.mark.parametrize(
    "zone",
    ["America/New_York", "Europe/Berlin", "Australia/Sydney", "America/Phoenix", "Asia/Kolkata", "Europe/Dublin",
     "Australia/Lord_Howe", "Pacific/Auckland"],
)  # fmt: skip
def test_wall_clock_is_the_standard_library_s(zone: str) -> None:
    where = timeline(zone, 2025)
    for place in range(0, 8760, 7):
        start = datetime.fromtimestamp(int(where.utc_start[place].astype(np.int64)), UTC).astimezone(ZoneInfo(zone))
        assert (where.month[place], where.weekday[place]) == (start.month, start.weekday())
        assert where.minute_of_day[place] == start.hour * 60 + start.minute
        offset = start.utcoffset()
        assert offset is not None
        assert where.wall_offset_h[place] * 3600 == offset.total_seconds()


@pytest.mark.published
@pytest.mark.parametrize(
    ("zone", "year", "spring", "autumn"),
    # Clock changes of 2025 (IANA time zone data): US 9 March and 2 November, EU 30 March and 26 October.
    [("America/New_York", 2025, (3, 9), (11, 2)), ("Europe/Berlin", 2025, (3, 30), (10, 26))],
)
def test_clocks_change_on_the_published_days(
    zone: str, year: int, spring: tuple[int, int], autumn: tuple[int, int]
) -> None:
    """Published days of 2025: United States 9 March and 2 November, European Union 30 March and 26 October."""
    where = timeline(zone, year)
    change = np.flatnonzero(np.diff(where.wall_offset_h))
    days = [where.utc_start[place + 1].astype("datetime64[D]").astype(date) for place in change]
    assert [(day.month, day.day) for day in days] == [spring, autumn]


def test_year_has_8760_labelled_hours_without_29_february() -> None:
    for year in (2026, 2028):
        where = timeline(year=year)
        assert len(where) == 8760
        assert where.labels[0] == f"{year}-01-01T00:00:00-05:00"
        assert where.labels[-1] == f"{year}-12-31T23:00:00-05:00"
        assert not any("-02-29T" in label for label in where.labels)
        assert np.bincount(where.standard_month)[1:].tolist() == [
            24 * days for days in (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
        ]


def test_local_labels_are_the_same_moments_by_the_wall_clock() -> None:
    where = timeline("America/New_York", 2026)
    for number in (0, 4000, 8759):
        assert datetime.fromisoformat(where.local_labels[number]) == datetime.fromisoformat(where.labels[number])
    # 1 November 2026: the hour from 01:00 comes twice, with two offsets.
    twice = [label for label in where.local_labels if label.startswith("2026-11-01T01")]
    assert twice == ["2026-11-01T01:00:00-04:00", "2026-11-01T01:00:00-05:00"]
    # In a southern summer the last hour of standard time is in the next year by the clock.
    assert timeline("Australia/Sydney", 2026).local_labels[-1] == "2027-01-01T00:00:00+11:00"


@pytest.mark.parametrize("zone", ["Australia/Sydney", "Pacific/Auckland", "America/Santiago", "Pacific/Chatham"])
def test_last_hour_of_a_southern_summer_is_the_first_of_the_same_calendar_year(zone: str) -> None:
    where = timeline(zone, 2026)
    assert str(where.wall[-1]).startswith("2026-01-01T00:")
    assert (where.wall >= np.datetime64("2026-01-01")).all()
    assert where.weekday[-1] == where.weekday[0] == 3  # 1 January 2026 is a Thursday
    assert where.utc_start[-1] == where.utc_start[0] + np.timedelta64(8759, "h")


def test_labels_are_standard_time_in_summer_too() -> None:
    where = timeline()
    assert where.labels[24 * 190].endswith("T00:00:00-05:00")
    assert where.minute_of_day[24 * 190] == 60


def test_half_hour_zone_has_its_offset_in_the_label() -> None:
    assert timeline("Asia/Kolkata").labels[0] == "2026-01-01T00:00:00+05:30"


def test_quarter_hours() -> None:

    site = Site(name="here", time_zone="America/New_York", calendar_year=2026, albedo=0.2)
    assert len(site.timeline(0.25)) == 35040


def site(**holidays: object) -> Site:
    return Site.model_validate_json(
        __import__("json").dumps(
            {
                "name": "here",
                "time_zone": "America/New_York",
                "calendar_year": 2026,
                "albedo": 0.2,
                "holidays": holidays,
            }
        )
    )


def _days(where: Site) -> list[date]:
    assert where.holidays is not None
    return holidays_in(where.holidays, 2026)


@pytest.mark.published
def test_weekend_holiday_is_observed_only_if_asked() -> None:
    """4 July 2026 is a Saturday: the calendar of the library ``holidays`` observes Friday 3 July."""
    names = ["Independence Day"]
    assert _days(site(country="US", observed=False, names=names)) == [date(2026, 7, 4)]
    assert _days(site(country="US", observed=True, names=names)) == [
        date(2026, 7, 3),
        date(2026, 7, 4),
    ]


def test_holiday_is_a_holiday_whatever_weekday_it_falls_on() -> None:
    where = timeline(holidays={"dates": (date(2026, 7, 4), date(2026, 11, 26))})
    kinds = {DAY_KINDS[kind] for kind in where.day_kind[np.isin(where.utc_start, _noons("2026-07-04", "2026-11-26"))]}
    assert kinds == {"holiday"}


def _noons(*days: str) -> list[np.datetime64]:
    return [np.datetime64(f"{day}T17:00:00") for day in days]


@pytest.mark.parametrize(
    ("rule", "told"),
    [
        ({"country": "XX", "observed": False}, "no holidays are known of country 'XX'"),
        ({"country": "US", "subdivision": "ZZ", "observed": False}, "with subdivision 'ZZ'"),
        (
            {"country": "US", "observed": False, "names": ["Pancake Day"]},
            "holiday 'Pancake Day' is not in the calendar",
        ),
    ],
)
def test_unknown_holidays_are_refused(rule: dict[str, object], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        site(**rule)


@pytest.mark.by_hand
def test_half_hour_daylight_saving_in_hourly_steps_is_noted_with_its_remedy() -> None:
    """Lord Howe shifts by 30 minutes: an hour of standard time then begins at half past, and a window with it."""
    hourly, half = timeline("Australia/Lord_Howe"), timeline("Australia/Lord_Howe", step_minutes=30)
    assert [note for note in hourly.notes if "30 minutes late" in note and "site.step_minutes = 30" in note]
    inside = {where.step_h: steps_in_window(PEAK, where) for where in (hourly, half)}
    summer = np.datetime64("2026-01-15")
    first = {
        where.step_h: str(where.wall[inside[where.step_h] & (where.wall.astype("datetime64[D]") == summer)][0])[11:16]
        for where in (hourly, half)
    }
    assert first == {1.0: "16:30", 0.5: "16:00"}
    assert half.notes == ()


@pytest.mark.parametrize("zone", ["America/New_York", "Asia/Kathmandu", "Australia/Adelaide", "America/St_Johns"])
def test_daylight_saving_by_whole_hours_is_not_noted_whatever_the_offset(zone: str) -> None:
    assert timeline(zone).notes == ()
