"""Windows flattened into slots, and typed back."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.dispatch.slots import KeyedTables, tables_from
from solarsim.dispatch.strategy import dispatch_from
from solarsim.dispatch.typed_back import strategy_from
from solarsim.errors import ScenarioError
from solarsim.scenario.strategy import Strategy
from tests.builders import timeline
from tests.draws import settings as drawn_settings

NO_HOLIDAYS = timeline()
WITH_HOLIDAYS = timeline(holidays={"country": "US", "observed": True})
BASE = {"name": "s", "surplus_to": "battery", "battery_serves_load": True, "reserve": 0.2}
WORK = frozenset(range(5))


def strategy(*windows: dict[str, object], **changes: object) -> Strategy:
    return Strategy.model_validate({**BASE, **changes, "windows": windows})


def shown(tables: KeyedTables) -> list[list[tuple[int, int, int, bool]]]:
    """Return start hour, end hour, number of days and whether it is the base of each slot."""
    return [
        [(slot.start_min // 60, slot.end_min // 60, len(slot.days), slot.is_base) for slot in season.slots]
        for season in tables.seasons
    ]


def test_a_strategy_without_windows_is_one_slot_of_the_whole_day() -> None:
    assert shown(tables_from(strategy(), NO_HOLIDAYS)) == [[(0, 24, 7, True)]]


def test_overlapping_windows_become_slots_that_do_not_overlap() -> None:
    found = tables_from(
        strategy(
            {"days": ("mon-fri",), "from": "16:00", "to": "20:00", "reserve": 0.1},
            {"from": "14:00", "to": "18:00", "surplus_to": "grid"},
        ),
        NO_HOLIDAYS,
    )
    # Every day to 14 and from 20 on; 14-16 every day; 16-18 and 18-20 by days.
    assert shown(found) == [
        [(14, 16, 7, False), (20, 14, 7, True), (16, 20, 5, False), (16, 18, 2, False), (18, 20, 2, True)]
    ]


def test_only_a_slot_for_every_day_crosses_midnight() -> None:
    found = tables_from(strategy({"days": ("fri",), "from": "22:00", "to": "06:00", "reserve": 0.5}), NO_HOLIDAYS)
    fridays = [(slot.start_min, slot.end_min) for slot in found.seasons[0].slots if slot.days == {4}]
    assert fridays == [(0, 360), (1320, 1440)]
    assert (6, 22, 7, True) in shown(found)[0]


def test_seasons_with_the_same_slots_are_one_and_cross_new_year() -> None:
    months = {"months": (1, 2, 11, 12), "from": "23:00", "to": "05:00", "reserve": 0.5}
    found = tables_from(strategy(months, {"months": (3,), "reserve": 0.2, "from": "01:00", "to": "02:00"}), NO_HOLIDAYS)
    assert [[season.season() for season in each.seasons] for each in found.seasons] == [["Nov-Feb"], ["Mar-Oct"]]
    dated = tables_from(strategy({"dates": {"from": "12-15", "to": "01-10"}, "reserve": 0.5}), NO_HOLIDAYS)
    assert [each.seasons[0].season() for each in dated.seasons] == ["Dec 15 to Jan 10", "Jan 11 to Dec 14"]
    assert [int(each.dates.sum()) for each in dated.seasons] == [17 + 10, 365 - 27]


def test_windows_of_the_same_settings_join() -> None:
    found = tables_from(
        strategy({"from": "01:00", "to": "03:00", "reserve": 0.5}, {"from": "03:00", "to": "05:00", "reserve": 0.5}),
        NO_HOLIDAYS,
    )
    assert shown(found) == [[(1, 5, 7, False), (5, 1, 7, True)]]


def test_holidays_are_days_of_their_own_only_where_the_calendar_has_them() -> None:
    windows = {"days": ("weekday",), "from": "16:00", "to": "20:00", "reserve": 0.5}
    assert tables_from(strategy(windows), NO_HOLIDAYS).seasons[0].slots[1].days == WORK  # after those of every day
    found = tables_from(strategy(windows), WITH_HOLIDAYS)
    assert found.seasons[0].slots[1].days == WORK
    assert found.seasons[0].slots[2].days == frozenset(range(5, 14))


def test_a_slot_for_holidays_is_left_out_of_a_season_without_any() -> None:
    found = tables_from(
        strategy({"days": ("holiday",), "reserve": 0.5}, {"months": (8,), "surplus_to": "grid"}), WITH_HOLIDAYS
    )
    august = next(each for each in found.seasons if each.seasons[0].months == (8,))
    assert [slot.is_base for slot in august.slots] == [False]
    assert august.slots[0].settings.surplus_to == "grid"


WHEN = st.fixed_dictionaries(
    {},
    optional={
        "months": st.lists(st.integers(1, 12), min_size=1, max_size=6, unique=True).map(tuple),
        "days": st.lists(
            st.sampled_from(["weekday", "weekend", "holiday", "mon", "sat", "sun", "tue-thu", "fri-mon"]),
            min_size=1, max_size=3, unique=True,
        ).map(tuple),
        "hours": st.lists(st.integers(0, 24), min_size=2, max_size=2, unique=True),
    },
)  # fmt: skip
DATES = st.tuples(st.integers(1, 12), st.integers(1, 28)).map(lambda day: f"{day[0]:02d}-{day[1]:02d}")


@st.composite
def strategies(draw: st.DrawFn) -> Strategy:
    """Draw a strategy with up to five windows of months, dates, days and hours."""

    def window() -> dict[str, Any]:
        when: dict[str, Any] = dict(draw(WHEN))
        hours = when.pop("hours", None)
        if hours and hours not in ([24, 0], [0, 24]):
            when |= {"from": f"{hours[0]:02d}:00", "to": f"{hours[1]:02d}:00"}
        if "months" not in when and draw(st.booleans()):
            when["dates"] = {"from": draw(DATES), "to": draw(DATES)}
        return when | draw(drawn_settings(0.1))

    windows = tuple(window() for _ in range(draw(st.integers(1, 5))))
    return Strategy.model_validate({"name": "drawn", **draw(drawn_settings(0.1)), "windows": windows})


def check_typed_back(drawn: Strategy, year: Any) -> None:
    try:
        dispatch = dispatch_from(drawn, None, year)
    except ScenarioError:  # a window that never holds
        return
    tables = tables_from(drawn, year)
    back = dispatch_from(strategy_from(tables, year), None, year)
    for name, ours, theirs in zip(dispatch._fields, dispatch, back, strict=True):
        np.testing.assert_array_equal(ours, theirs, name)
    covered = np.zeros((365, 14, 96), int)
    for season in tables.seasons:
        for slot in season.slots:
            inside = slot.minutes(np.arange(0, 1440, 15))
            days = np.isin(np.arange(14), list(slot.days))
            covered[np.ix_(season.dates, days, inside)] += 1
    assert covered.max() == 1
    assert covered[:, :7].min() == 1


@pytest.mark.parametrize("year", [NO_HOLIDAYS, WITH_HOLIDAYS], ids=["no holidays", "holidays"])
@settings(max_examples=25)
@given(drawn=strategies())
def test_slots_typed_back_as_windows_give_the_same_dispatch_in_every_hour(drawn: Strategy, year: Any) -> None:
    check_typed_back(drawn, year)


@pytest.mark.slow
@pytest.mark.parametrize("zone", ["Australia/Sydney", "America/Phoenix", "Asia/Kolkata"])
@settings(max_examples=60)
@given(drawn=strategies())
def test_the_same_in_other_zones_and_at_quarter_hours(drawn: Strategy, zone: str) -> None:
    check_typed_back(drawn, timeline(zone, step_minutes=15, holidays={"country": "US", "observed": False}))
