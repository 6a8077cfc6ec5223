"""Which hours a window holds."""

import numpy as np
import pytest
from pydantic import ValidationError

from solarsim.clock.windows import Window, steps_in_window
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
    from datetime import date

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
    assert window.words() == "months 6,7 weekday 16:00-21:00"
    assert Window().words() == "always"


@pytest.mark.parametrize(
    ("window", "told"),
    [
        ({"from": "16:00"}, "'to' is missing"),
        ({"to": "16:00"}, "'from' is missing"),
        ({"from": "16:00", "to": "16:00"}, "is empty"),
        ({"from": "16:20", "to": "17:00"}, "full, half or quarter hour"),
        ({"from": "25:00", "to": "17:00"}, "between 00:00 and 24:00"),
        ({"from": "4 pm", "to": "17:00"}, "HH:MM"),
        ({"months": ()}, "must not be empty"),
        ({"months": (1, 1)}, "twice"),
    ],
)
def test_windows_that_say_nothing_or_half_are_refused(window: dict[str, object], told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        Window.model_validate(window)


def test_every_hour_is_in_a_window_or_in_its_complement() -> None:
    day = steps_in_window(Window.model_validate({"from": "06:00", "to": "22:00"}), WHERE)
    night = steps_in_window(Window.model_validate({"from": "22:00", "to": "06:00"}), WHERE)
    np.testing.assert_array_equal(day, ~night)
