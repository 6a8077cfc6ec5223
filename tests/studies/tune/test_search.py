"""The search: its order, its pruning, its end."""

import numpy as np
import pytest

from solarsim.dispatch.programmable import misfits
from solarsim.dispatch.strategy import dispatch_from
from solarsim.scenario.programmable import Programmable
from solarsim.scenario.strategy import StrategyWindow
from solarsim.studies.tune._problem import Asked, plain_settings
from solarsim.studies.tune._reference import Reference
from solarsim.studies.tune._search import Found
from solarsim.studies.tune._starts import additions_of, periods, starts_of, table_from
from solarsim.studies.tune._table import CHARGE, EVERY_DAY, SERVES, WEEKENDS, WORKDAYS, Rule, Table, strategy_of
from solarsim.studies.tune._tidy import tidied
from tests.studies.tune.tasks import random_menu, random_tables, reference, search_of


@pytest.fixture(scope="module")
def found() -> Reference:
    return reference()


def searched(found: Reference, seed: int) -> tuple[Found, int]:
    search = search_of(found, Asked(runs=150, seed=seed))
    best = search.best_from(starts_of(search, found, None), 500.0, additions_of(search, found))
    return best, search.scorer.runs


def test_the_same_seed_finds_the_same_and_the_runs_are_kept(found: Reference) -> None:
    one, runs = searched(found, 1)
    again, _ = searched(found, 1)
    assert one == again
    assert runs <= 150 + 30  # pruning may run some more
    assert one.cost < found.best_cost


def test_what_never_holds_and_what_earns_too_little_goes(found: Reference) -> None:
    search = search_of(found, line_price=2.0)
    night = Rule(1, EVERY_DAY, 23, 6, ((SERVES, 0.0),))
    shadowed = night._replace(start=0, end=5, changes=((CHARGE, 0.9),))
    hardly = Rule(1, EVERY_DAY, 12, 13, ((SERVES, 0.0),))
    table = Table((), plain_settings(found.plain), (night, shadowed, hardly))
    pruned = search.prune(search.found(table))
    assert pruned.table.rules == (night,)
    assert search.in_full(pruned) == pruned.cost + 2.0
    assert search.in_part(pruned) == pytest.approx(pruned.cost + 0.1 * 2.0)  # while tables change
    assert search.found(table._replace(rules=())).cost - pruned.cost > 2.0


def test_a_table_with_more_slots_than_can_be_set_is_not_kept(found: Reference) -> None:
    search = search_of(found)
    rules = tuple(Rule(1, EVERY_DAY, hour, hour + 1, ((CHARGE, 0.5),)) for hour in (1, 3, 5, 7))
    base = plain_settings(found.plain)
    assert search.scorer.fits(Table((), base, rules))
    more = (*rules, Rule(1, EVERY_DAY, 9, 10, ((CHARGE, 0.5),)))
    assert not search.scorer.fits(Table((), base, more))


@pytest.mark.parametrize("seed", range(12))
def test_whatever_the_menu_accepts_is_all_that_is_found(found: Reference, seed: int) -> None:
    """The table that is found, its starts and all that prices suggest have no misfit of the sheet's own check."""
    menu = Programmable(**random_menu(seed))
    search = search_of(found, Asked(runs=60, seed=seed), menu=menu)
    starts = starts_of(search, found, None)
    additions = additions_of(search, found)
    best = search.best_from(starts, 500.0, additions)
    suggested = [each for tables in additions(best.table) for each in tables if search.scorer.fits(each)]
    for table in (best.table, tidied(best.table, search.scorer), *(each.table for each in starts), *suggested[::9]):
        strategy = strategy_of(table, search.scorer.calendar, found.plain, "tuned")
        assert misfits(strategy, menu, found.home.timeline) == [], table


def test_prices_suggest_windows_that_a_menu_without_days_accepts(found: Reference) -> None:
    menu = Programmable(**{**random_menu(1), "slots": 6, "days_of_week": False, "seasons": 2})
    search = search_of(found, menu=menu)
    calendar = search.scorer.calendar
    prices = found.home.prices.import_price
    both, one = (periods(prices, calendar, (), 0, by_day) for by_day in (True, False))
    assert [{each.days for each in day} for day in both] == [{WORKDAYS}, {WEEKENDS}]
    assert [{each.days for each in day} for day in one] == [{EVERY_DAY}]
    # by_hand: the price of the evening, 0.40 USD/kWh on working days of six months, is above all others in the mean
    assert (one[0][-1].start, one[0][-1].end) == (17, 21)


def test_tables_fit_a_menu_where_the_sheet_says_so(found: Reference) -> None:
    """``fits`` counts on arrays what ``misfits`` reads off a strategy."""
    for seed in range(10):
        wide = search_of(found)
        menu = Programmable(**{**random_menu(seed), "level_step": 0.05})
        scorer = search_of(found, menu=menu.model_copy(update={"reserve_in_slots": False})).scorer
        for table in random_tables(wide, None, 12, seed):
            strategy = strategy_of(table, scorer.calendar, found.plain, "tuned")
            told = misfits(strategy, scorer.machine, found.home.timeline)
            assert not (scorer.fits(table) and told), (table, told)


def test_a_written_strategy_is_a_start_where_a_table_can_say_it(found: Reference) -> None:
    search = search_of(found)
    plain = plain_settings(found.plain)
    windows = (
        {"months": (11, 12, 1, 2), "from": "23:00", "to": "05:00", "charge_from_grid_to": 0.7},
        {"days": ("mon-fri",), "from": "14:00", "to": "24:00", "battery_serves_load": False},
    )
    written = found.plain.model_copy(update={"windows": tuple(map(StrategyWindow.model_validate, windows))})
    table = table_from(written, search.scorer.calendar, plain, search.moves)
    assert table is not None
    wanted = dispatch_from(written, None, found.home.timeline)
    for one, other in zip(wanted, search.scorer.dispatch(table), strict=True):
        np.testing.assert_array_equal(one, other)
    mondays = written.windows[1].model_copy(update={"days": ("mon",)})
    assert (
        table_from(written.model_copy(update={"windows": (mondays,)}), search.scorer.calendar, plain, search.moves)
        is None
    )


def test_a_written_strategy_is_a_start_where_its_seasons_are_those_asked_for(found: Reference) -> None:
    search = search_of(found, Asked(runs=500, seasons=[("11-01", "02-28")]))
    calendar, plain = search.scorer.calendar, plain_settings(found.plain)
    window = {"months": (11, 12, 1, 2), "from": "23:00", "to": "05:00", "charge_from_grid_to": 0.7}
    written = found.plain.model_copy(update={"windows": (StrategyWindow.model_validate(window),)})
    asked = (calendar.cut_days.index(59), calendar.cut_days.index(304))  # by_hand: 1 March and 1 November from 0
    table = table_from(written, calendar, plain, search.moves, asked)
    assert table is not None
    assert (table.cuts, table.rules[0].seasons) == (asked, 0b10)
    assert table_from(written, calendar, plain, search.moves, (asked[0], asked[1] + 1)) is None


def test_windows_are_cut_to_where_they_govern_and_put_in_order(found: Reference) -> None:
    search = search_of(found)
    base = plain_settings(found.plain)
    evening = Rule(3, WORKDAYS, 16, 23, ((SERVES, 0.0),))
    long = Rule(3, WORKDAYS, 13, 2, ((CHARGE, 0.9),))
    rest = Rule(3, EVERY_DAY, 23, 2, ((CHARGE, 0.5),))
    tidy = tidied(Table((2, 9), base, (rest, evening, long)), search.scorer)
    assert tidy.rules == (rest, long._replace(end=16), evening)  # in the order of days, then hours


def test_a_window_that_another_covers_on_workdays_is_for_weekends(found: Reference) -> None:
    search = search_of(found)
    base = plain_settings(found.plain)
    work, every = Rule(1, WORKDAYS, 2, 5, ((SERVES, 0.0),)), Rule(1, EVERY_DAY, 2, 5, ((CHARGE, 0.5),))
    assert tidied(Table((), base, (work, every)), search.scorer).rules == (work, every._replace(days=WEEKENDS))


def test_the_shortest_of_the_starts_is_taken_where_pruning_lost_too_much(found: Reference) -> None:
    search = search_of(found)
    base = plain_settings(found.plain)
    night = Rule(1, EVERY_DAY, 23, 6, ((SERVES, 0.0),))
    long = search.found(Table((), base, (night, night._replace(start=0, end=3))))
    assert search.shortest_within([long], long.cost) == search.found(Table((), base, (night,)))
    assert search.shortest_within([long], long.cost - 1.0) is None
