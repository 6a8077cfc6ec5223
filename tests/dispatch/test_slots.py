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
    # Fridays 0-6, 6-22 and 22-24, and one slot for all other days.
    assert shown(found)[0] == [(0, 24, 6, True), (0, 6, 1, False), (6, 22, 1, True), (22, 24, 1, False)]


@pytest.mark.by_hand
def test_days_with_slots_of_their_own_are_not_cut_where_others_have_theirs() -> None:
    night: dict[str, object] = {"days": ("mon-fri",), "from": "14:00", "to": "06:00", "reserve": 0.5}
    morning: dict[str, object] = {"days": ("mon-fri",), "from": "06:00", "to": "10:00", "surplus_to": "grid"}
    found = tables_from(strategy(night, morning), NO_HOLIDAYS)
    # Monday to Friday 0-6, 6-10, 10-14 and 14-24, Saturday and Sunday all day: five.
    assert shown(found) == [
        [(0, 6, 5, False), (6, 10, 5, False), (10, 14, 5, True), (14, 24, 5, False), (0, 24, 2, True)]
    ]


@pytest.mark.by_hand
def test_a_slot_across_midnight_is_as_long_as_all_days_allow() -> None:
    early = {"days": ("sat-sun",), "from": "00:00", "to": "07:00", "reserve": 0.5}
    found = tables_from(strategy(early, {"from": "20:00", "to": "06:00", "reserve": 0.5}), NO_HOLIDAYS)
    # Every day 20-6, Saturday and Sunday on to 7; the base every day 7-20, Monday to Friday from 6.
    assert shown(found) == [[(7, 20, 7, True), (20, 6, 7, False), (6, 7, 5, True), (6, 7, 2, False)]]


def fewest(on: list[list[bool]]) -> int:
    """Return the fewest slots for some places in the day of some days, by trying all."""
    size = len(on[0])
    spans = [
        [(start + step) % size for step in range(length)] for start in range(size) for length in range(1, size + 1)
    ]
    choices = [
        frozenset((day, place) for day in days for place in span)
        for span in spans
        for days in ((0,), (1,), (0, 1))
        if span[0] <= span[-1] or len(days) == 2
    ]

    def search(free: frozenset[tuple[int, int]]) -> int:
        if not free:
            return 0
        return 1 + min(search(free - each) for each in choices if min(free) in each and each <= free)

    return search(frozenset((day, place) for day in (0, 1) for place in range(size) if on[day][place]))


KIND = st.lists(st.booleans(), min_size=4, max_size=4)


@settings(max_examples=40)
@given(workday=KIND, weekend=KIND)
def test_with_two_kinds_of_days_no_fewer_slots_would_fill_the_base(workday: list[bool], weekend: list[bool]) -> None:
    windows = [
        {"days": days, "from": f"{6 * place:02d}:00", "to": f"{6 * place + 6:02d}:00", "reserve": 0.5}
        for days, is_base in ((("mon-fri",), workday), (("sat-sun",), weekend))
        for place in range(4)
        if not is_base[place]
    ]
    (season,) = tables_from(strategy(*windows), NO_HOLIDAYS).seasons
    assert sum(slot.is_base for slot in season.slots) == fewest([workday, weekend])


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
