"""What a candidate costs: the same dispatch, the same slots and the same bill as the strategy that it becomes."""

from math import inf

import numpy as np
import pytest

from solarsim.dispatch.programmable import slots_to_key
from solarsim.dispatch.slots import tables_from
from solarsim.dispatch.strategy import dispatch_from
from solarsim.home import Home, home_from
from solarsim.run import close_year
from solarsim.studies._other_years import with_strategy
from solarsim.studies.tune._problem import Asked, plain_settings, plain_strategy
from solarsim.studies.tune._reference import Reference, reference_of
from solarsim.studies.tune._score import slots_needed
from solarsim.studies.tune._search import Search
from solarsim.studies.tune._table import CHARGE, EVERY_DAY, FIELDS, SELL, SERVES, WORKDAYS, Rule, Table, strategy_of
from tests.studies.tune.tasks import evening_home, random_tables, reference, search_of


@pytest.fixture(scope="module")
def found() -> Reference:
    return reference()


@pytest.fixture(scope="module")
def search(found: Reference) -> Search:
    return search_of(found)


def plain_table(search: Search, *rules: Rule, cuts: tuple[int, ...] = ()) -> Table:
    return Table(cuts, plain_settings(search.scorer.like), rules)


def test_a_table_is_laid_as_the_strategy_that_it_becomes(found: Reference, search: Search) -> None:
    scorer, home = search.scorer, found.home
    for table in random_tables(search, None, 40):
        strategy = strategy_of(table, scorer.calendar, found.plain, "tuned")
        wanted, laid = dispatch_from(strategy, home.scenario.grid, home.timeline), scorer.dispatch(table)
        for name, one, other in zip(wanted._fields, wanted, laid, strict=True):
            np.testing.assert_array_equal(one, other, err_msg=f"{name} of {table}")


@pytest.mark.slow
def test_quarter_hours_and_holidays_are_laid_alike() -> None:
    home = home_from(evening_home(site__step_minutes=15))
    asked = Asked(wear=0.0, holidays=True, runs=10)
    found = reference_of(home, plain_strategy(home.scenario, None), asked)
    search = search_of(found, asked)
    assert search.scorer.calendar.day_names == (("weekday",), ("weekend", "holiday"))
    for table in random_tables(search, None, 8):
        strategy = strategy_of(table, search.scorer.calendar, found.plain, "tuned")
        wanted = dispatch_from(strategy, None, home.timeline)
        for name in FIELDS:
            np.testing.assert_array_equal(getattr(wanted, name), getattr(search.scorer.dispatch(table), name))


def test_slots_are_counted_as_the_sheet_counts_them(found: Reference, search: Search) -> None:
    scorer = search.scorer
    for fill_day in (False, True):
        for table in random_tables(search, None, 30, seed=2):
            values = scorer.cells(table)
            assert values is not None
            laid = values.reshape(len(FIELDS), table.seasons, 2, scorer.calendar.slots)
            keyed = tables_from(strategy_of(table, scorer.calendar, found.plain, "tuned"), found.home.timeline)
            needed = max(slots_to_key(season, fill_day) for season in keyed.seasons)
            assert slots_needed(laid, table.base, fill_day) == needed, table


def test_the_cost_is_the_ledgers_own(found: Reference, search: Search) -> None:
    for table in random_tables(search, None, 6, seed=3):
        strategy = strategy_of(table, search.scorer.calendar, found.plain, "tuned")
        ledger = close_year(with_strategy(found.home, strategy), "tuned")
        assert search.scorer.cost(table) == pytest.approx(ledger.energy_cost, abs=0.011)  # a year closes to 1e-9 kWh


def test_the_cost_does_not_depend_on_what_was_run_before(found: Reference, search: Search) -> None:
    """Only what differs from the table before is run, which may have been laid without being run."""
    walked = search_of(found)
    for number, table in enumerate(random_tables(search, None, 30, seed=7)):
        if number % 5 == 0:
            walked.scorer.dispatch(plain_table(search))
        strategy = strategy_of(table, search.scorer.calendar, found.plain, "table")
        anew = close_year(with_strategy(found.home, strategy), "table").energy_cost
        assert walked.scorer.cost(table) == pytest.approx(anew, abs=0.011)  # a cent, rounded


def test_wear_is_counted_for_each_kwh_out_of_the_battery(found: Reference) -> None:
    search = search_of(found)
    worn = search_of(reference(wear=0.07))
    table = plain_table(search, Rule(1, EVERY_DAY, 0, 5, ((CHARGE, 0.8),)))
    strategy = strategy_of(table, search.scorer.calendar, found.plain, "tuned")
    out_kwh = close_year(with_strategy(found.home, strategy), "tuned").annual_kwh["battery_out_kwh"]
    assert worn.scorer.cost(table) - search.scorer.cost(table) == pytest.approx(0.07 * out_kwh, abs=0.02)


def test_settings_that_no_strategy_may_have_cost_infinitely_much(search: Search) -> None:
    both = Rule(1, EVERY_DAY, 0, 5, ((CHARGE, 0.8), (SELL, 0.5)))
    assert search.scorer.cost(plain_table(search, both)) == inf
    with pytest.raises(ValueError, match="not legal together"):
        search.scorer.dispatch(plain_table(search, both))


def test_a_year_is_run_once_for_tables_that_are_the_same(search: Search) -> None:
    hold = Rule(1, WORKDAYS, 22, 6, ((SERVES, 0.0),))
    search.scorer.cost(plain_table(search, hold))
    runs = search.scorer.runs
    shadowed = hold._replace(start=23, end=5, changes=((CHARGE, 0.5),))
    assert search.scorer.cost(plain_table(search, hold, shadowed)) == search.scorer.cost(plain_table(search, hold))
    assert search.scorer.runs == runs
    assert search.scorer.holds(plain_table(search, hold, shadowed)) == [True, False]


def test_darkness_costs_more_than_any_energy() -> None:
    scenario = evening_home(
        arrangement={"kind": "hybrid", "backed_up": "all", "transfer": "automatic", "transfer_seconds": 1},
        outages={"events": [{"from": "2026-01-14T18:00:00", "hours": 30}]},
    )
    home: Home = home_from(scenario)
    told = reference_of(home, plain_strategy(scenario, None), Asked(wear=0.0))
    search = search_of(told)
    plain = plain_table(search)
    ledger = close_year(told.home, told.plain.name)
    assert ledger.unserved_kwh > told.allowed_kwh - 0.001 * ledger.demand_kwh - 1e-6
    search.scorer._allowed_kwh = ledger.unserved_kwh - 1.0  # as if another strategy left 1 kWh less unserved
    # by_hand: ten times the highest price, 0.40 USD/kWh, for 1 kWh
    assert search.scorer.cost(plain) == pytest.approx(ledger.energy_cost + 4.0, abs=0.02)
