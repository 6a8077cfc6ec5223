"""Which hours a window holds."""

from datetime import date

import numpy as np
import pytest
from pydantic import ValidationError

from solarsim.clock.windows import Season, Window, steps_in_season, steps_in_window
from tests.builders import timeline

WHERE = timeline("America/Phoenix")  # no clock changes: hours can be counted by hand


def hours(**window: object) -> int:
    return int(steps_in_window(Window.model_validate(window), WHERE).sum())


@pytest.mark.by_hand
def test_windows_hold_the_hours_one_would_count() -> None:
    # 2026 begins on a Thursday: 261 weekdays, 104 days of weekend.
    assert hours() == 8760
    assert hours(months=(7,)) == 31 * 24
    assert hours(days=("weekday",)) == 261 * 24
    assert hours(days=("weekend",)) == 104 * 24
    assert hours(days=("thu",)) == 53 * 24
    assert hours(**{"from": "16:00", "to": "21:00"}) == 365 * 5
    assert hours(**{"from": "22:00", "to": "06:00"}) == 365 * 8
    assert hours(**{"from": "18:00", "to": "24:00"}) == 365 * 6
    assert hours(**{"from": "18:00", "to": "00:00"}) == 365 * 6
    assert hours(**{"from": "00:00", "to": "24:00"}) == 8760


def test_window_across_midnight_takes_both_ends_of_each_matching_day() -> None:
    inside = steps_in_window(Window.model_validate({"days": ("mon",), "from": "22:00", "to": "06:00"}), WHERE)
    assert set(WHERE.weekday[inside].tolist()) == {0}
    assert sorted(set((WHERE.minute_of_day[inside] // 60).tolist())) == [0, 1, 2, 3, 4, 5, 22, 23]


def test_days_by_name_include_holidays_and_kinds_do_not() -> None:
    thursday = timeline("America/Phoenix", holidays={"dates": (date(2026, 11, 26),)})
    by_name = steps_in_window(Window(days=("thu",)), thursday)
    by_kind = steps_in_window(Window(days=("weekday",)), thursday)
    assert (by_name & ~by_kind).sum() == 24
    assert steps_in_window(Window(days=("holiday",)), thursday).sum() == 24


def test_autumn_s_doubled_hour_is_in_the_window_twice() -> None:
    new_york = timeline("America/New_York", 2025)
    night = steps_in_window(Window.model_validate({"months": (11,), "from": "01:00", "to": "02:00"}), new_york)
    assert night.sum() == 31
    march = steps_in_window(Window.model_validate({"months": (3,), "from": "02:00", "to": "03:00"}), new_york)
    assert march.sum() == 30


def test_words_name_what_was_written() -> None:
    window = Window.model_validate({"months": (6, 7), "days": ("weekday",), "from": "16:00", "to": "21:00"})
    assert window.words() == "Jun, Jul weekday 16:00-21:00"
    assert Window.model_validate({"dates": {"from": "05-15", "to": "09-30"}, "days": ("mon-fri",)}).words() == (
        "May 15 to Sep 30 Mon-Fri"
    )
    assert Window(days=("mon", "tue", "wed", "thu", "fri", "holiday")).words() == "holiday, Mon-Fri"
    assert Window().words() == "always"
    assert Window.model_validate({"from": "14:00", "to": "06:00"}).words() == "14:00-06:00"
    some_days = Window.model_validate({"days": ("mon-fri",), "from": "14:00", "to": "06:00"})
    assert some_days.words() == "Mon-Fri 00:00-06:00, 14:00-24:00"
    assert Window.model_validate({"from": "19:00", "to": "00:00"}).words() == "19:00-24:00"
    assert Window.model_validate({"from": "00:00", "to": "06:00"}).words() == "00:00-06:00"


@pytest.mark.parametrize(
    ("months", "words"),
    [
        ((6, 7, 8, 9), "Jun-Sep"), ((11, 12, 1, 2), "Nov-Feb"), ((12, 1), "Dec, Jan"),
        ((1, 2, 3, 10, 12), "Oct, Dec-Mar"), (tuple(range(1, 13)), "Jan-Dec"), ((3,), "Mar"),
    ],
)  # fmt: skip
def test_months_in_a_row_are_a_range(months: tuple[int, ...], words: str) -> None:
    written = Window(months=months).words()
    assert sorted(written.split(", ")) == sorted(words.split(", "))
    assert Window(months=months[::-1]).words() == written


@pytest.mark.by_hand
def test_a_season_begins_and_ends_within_a_month() -> None:
    # 17 days of May, June to August, 30 days of September; the end's day belongs to it.
    assert hours(dates={"from": "05-15", "to": "09-30"}) == (17 + 30 + 31 + 31 + 30) * 24
    inside = steps_in_window(Window.model_validate({"dates": {"from": "05-15", "to": "09-30"}}), WHERE)
    days = WHERE.wall[inside].astype("datetime64[D]")
    assert (str(days[0]), str(days[-1])) == ("2026-05-15", "2026-09-30")
    assert hours(dates={"from": "03-01", "to": "03-01"}) == 24


@pytest.mark.by_hand
def test_a_season_crosses_new_year() -> None:
    # 16 days of November, 31 of December, 31 of January, 28 of February, 14 of March.
    assert hours(dates={"from": "11-15", "to": "03-14"}) == (16 + 31 + 31 + 28 + 14) * 24
    winter = steps_in_season(Season.model_validate({"dates": {"from": "11-15", "to": "03-14"}}), WHERE)
    summer = steps_in_season(Season.model_validate({"dates": {"from": "03-15", "to": "11-14"}}), WHERE)
    np.testing.assert_array_equal(winter, ~summer)


def test_dates_and_months_name_the_same_season() -> None:
    by_dates = steps_in_season(Season.model_validate({"dates": {"from": "06-01", "to": "08-31"}}), WHERE)
    np.testing.assert_array_equal(by_dates, steps_in_season(Season(months=(6, 7, 8)), WHERE))


@pytest.mark.by_hand
def test_days_may_be_a_range() -> None:
    # 2026 begins on a Thursday, and has 53 of them.
    assert hours(days=("mon-fri",)) == 261 * 24
    assert hours(days=("sat-sun",)) == 104 * 24
    assert hours(days=("fri-mon",)) == (52 * 4) * 24
    assert hours(days=("mon-wed", "sat")) == 52 * 4 * 24
    assert hours(days=("sun-sat",)) == 8760


def test_a_range_of_days_includes_holidays_and_weekday_does_not() -> None:
    thursday = timeline("America/Phoenix", holidays={"dates": (date(2026, 11, 26),)})
    by_range, by_kind = (steps_in_window(Window(days=(day,)), thursday) for day in ("mon-fri", "weekday"))
    assert (by_range & ~by_kind).sum() == 24
    assert not (by_kind & ~by_range).any()


@pytest.mark.parametrize(
    ("window", "told"),
    [
        ({"from": "16:00"}, "'to' is missing"),
        ({"to": "16:00"}, "'from' is missing"),
        ({"from": "16:00", "to": "16:00"}, "is empty"),
        ({"from": "16:20", "to": "17:00"}, "full, half or quarter hour"),
        ({"from": "25:00", "to": "17:00"}, "from 00:00 to 24:00"),
        ({"from": "4 pm", "to": "17:00"}, "HH:MM"),
        ({"months": ()}, "must not be empty"),
        ({"months": (1, 1)}, "twice"),
        ({"from": "05-15", "to": "09-30"}, "HH:MM, .*dates of a season are written dates = "),
        ({"dates": {"from": "05-15"}}, "to\n.*Field required"),
        ({"dates": {"from": "5-15", "to": "09-30"}}, "MM-DD"),
        ({"dates": {"from": "05-15", "to": "09-31"}}, "not a calendar date"),
        ({"dates": {"from": "15-05", "to": "09-30"}}, "the month first"),
        ({"dates": {"from": "02-29", "to": "09-30"}}, "write 02-28 or 03-01"),
        ({"dates": {"from": "05-15", "to": "09-30"}, "months": (5,)}, "keep one of them"),
        ({"days": ("mon-mon",)}, "a range such as mon-fri"),
        ({"days": ("monfri",)}, "did you mean 'mon-fri'"),
        ({"days": ("Weekdays",)}, "did you mean 'weekday'"),
    ],
)
def test_windows_that_say_nothing_or_half_are_refused(window: dict[str, object], told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        Window.model_validate(window)


def test_every_hour_is_in_a_window_or_in_its_complement() -> None:
    day = steps_in_window(Window.model_validate({"from": "06:00", "to": "22:00"}), WHERE)
    night = steps_in_window(Window.model_validate({"from": "22:00", "to": "06:00"}), WHERE)
    np.testing.assert_array_equal(day, ~night)
