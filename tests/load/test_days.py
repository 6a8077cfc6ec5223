"""Days, and which window governs."""

import numpy as np
import pytest

from solarsim.clock.windows import Window, governing, steps_in_any
from solarsim.errors import ScenarioError
from solarsim.load._days import day_of_step, of_each_day
from tests.builders import scenario, timeline

WHERE = timeline()


@pytest.mark.by_hand
def test_days_have_the_hours_that_the_clock_shows() -> None:
    # New York 2026: 23 hours on 8 March (day 66), 25 on 1 November (day 304).
    hours = np.bincount(day_of_step(WHERE))
    assert hours.size == 365
    assert (hours[66], hours[304]) == (23, 25)
    assert sorted(set(hours.tolist())) == [23, 24, 25]


@pytest.mark.by_hand
def test_leap_day_s_last_hour_under_daylight_saving_belongs_to_the_first_of_march() -> None:
    # Sydney is on daylight saving then: standard 28 February 23:00 is 29 February 00:00 on the wall, and the
    # hour of 1 March 00:00 fell out with 29 February. 1 March is day 59 of a year without leap day.
    sydney = timeline("Australia/Sydney", 2028)
    day = day_of_step(sydney)
    hours = np.bincount(day)
    assert hours.size == 365
    assert hours[59] == 24
    assert sorted(set(hours.tolist())) == [23, 24, 25]
    assert day[-1] == 0
    assert of_each_day(sydney.month, sydney)[[0, 58, 59, 364]].tolist() == [1, 2, 3, 12]


def test_shorter_steps_have_the_same_days() -> None:
    quarters = scenario().site.timeline(0.25)
    np.testing.assert_array_equal(day_of_step(quarters)[::4], day_of_step(WHERE))


def test_first_window_that_holds_governs() -> None:
    july, monday = Window(months=(7,)), Window(days=("mon",))
    first = governing((july, monday), WHERE, "windows")
    assert set(first[WHERE.month == 7].tolist()) == {0}
    assert set(first[(WHERE.month != 7) & (WHERE.weekday == 0)].tolist()) == {1}
    assert set(first[(WHERE.month != 7) & (WHERE.weekday != 0)].tolist()) == {2}


def test_windows_that_never_hold_are_refused_all_at_once() -> None:
    with pytest.raises(
        ScenarioError, match=r"setbacks: the 2nd window \(Mon\) never holds: earlier windows cover"
    ) as told:
        governing((Window(), Window(days=("mon",)), Window(months=(1,))), WHERE, "setbacks")
    assert len(told.value.problems) == 2
    with pytest.raises(ScenarioError, match=r"plugged_in: the 1st window \(holiday\) holds in no hour of 2026"):
        steps_in_any((Window(days=("holiday",)),), WHERE, "plugged_in")


def test_without_windows_all_steps_are_in() -> None:
    assert steps_in_any((), WHERE, "windows").all()
