"""One home under many rate plans."""

from dataclasses import replace

import pytest

from solarsim.errors import ScenarioError, UnknownNameError
from solarsim.home import Home
from solarsim.ledger.lines import BillLine
from solarsim.ledger.prices import prices_from
from solarsim.run import simulate, without_system
from solarsim.scenario.model import Scenario
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.scenario.read import read_rate_plan
from solarsim.studies.compare.compare import compare
from solarsim.studies.plans import Pair, Plans, plans
from tests.builders import READY_PLANS, content, scenario
from tests.homes_without_grid import storm, storm_home

BASE = {"currency": "USD", "customer_charge_per_month": 10.0, "export": {"pay": "none"}}
CHEAP = RatePlan.model_validate({**BASE, "name": "cheap", "rates": ({"name": "all", "import_price": 0.1},)})
DEAR = RatePlan.model_validate({**BASE, "name": "dear", "rates": ({"name": "all", "import_price": 0.9},)})
FEED_IN = CHEAP.model_copy(
    update={"name": "feed-in", "export": CHEAP.export.model_copy(update={"pay": "feed_in", "price": 0.3})}
)
FIRST = content()["strategies"][0]
TAX = {"name": "tax", "share": 0.1, "on": ["energy"]}
NET = {"pay": "net_metering", "net_within": "rate", "surplus": "paid_monthly", "remainder_price": 0.0}
IDLE = {**FIRST, "name": "idle", "battery_serves_load": False}


@pytest.fixture(scope="module")
def ready(demo_home: Home) -> Plans:
    """Bill the demo under the ready rate plans."""
    return plans(demo_home.scenario, [read_rate_plan(path) for path in READY_PLANS], home=demo_home)


def lines_of(pair: Pair) -> tuple[BillLine, ...]:
    assert pair.bill is not None
    return pair.bill.lines


def test_plans_are_those_of_the_scenario_unless_others_are_given(ready: Plans) -> None:
    demo = ready.home.scenario
    assert [each.name for each in demo.other_rate_plans()] == [each.rate_plan for each in ready.plans[1:]]
    assert [each.rate_plan for each in plans(demo, home=ready.home).plans] == [each.rate_plan for each in ready.plans]
    with pytest.raises(ScenarioError, match=r"has no table \[plans\] with files of other rate plans; add one, or name"):
        plans(scenario())


def test_bills_are_those_of_the_home_with_that_rate_plan_written_into_it(ready: Plans) -> None:
    """Billing one run under many rate plans must not differ from running the home under each."""
    demo, demo_home = ready.home.scenario, ready.home
    others = [read_rate_plan(path) for path in READY_PLANS]
    assert [each.rate_plan for each in ready.plans] == [demo.rate_plan.name, *(each.name for each in others)]
    for rate_plan in others:
        own = demo.model_copy(update={"rate_plan": rate_plan})
        home = replace(demo_home, scenario=own, prices=prices_from(rate_plan, demo_home.timeline))
        for strategy in (demo.strategies[0].name, demo.strategies[2].name):
            alone = simulate(own, strategy, home).ledger.bill.lines
            assert lines_of(ready.pair(rate_plan.name, strategy)) == alone
        assert lines_of(ready.pair(rate_plan.name, "")) == without_system(own, home).ledger.bill.lines


def test_cheapest_pair_is_the_least_of_the_table(ready: Plans) -> None:
    table = ready.table()
    assert table.shape == (8, 6)
    with_system = table.drop(columns="no system")
    assert ready.cheapest.annual_bill == with_system.min().min()
    assert ready.only_rate_plan.annual_bill == with_system["serve the home first"].min()
    assert ready.only_strategy.annual_bill == with_system.loc["Evening peak (invented)"].min()
    assert ready.present.annual_savings == 0.0
    assert (ready.cheapest.annual_savings or 0.0) >= (ready.only_rate_plan.annual_savings or 0.0) > 0.0
    assert [note for note in ready.notes if "highest hourly mean" in note]


@pytest.mark.by_hand
def test_what_changing_rate_plan_strategy_and_both_saves() -> None:
    """At half the price a year saves half its energy; fixed charges of 120 stay."""
    home = scenario(strategies=[IDLE, FIRST], arrays=[])
    found = plans(home, [DEAR, CHEAP])
    energy = (found.present.annual_bill or 0.0) - 120
    assert (found.present.rate_plan, found.present.strategy) == ("flat", "idle")
    assert (found.only_rate_plan.rate_plan, found.only_rate_plan.strategy) == ("cheap", "idle")
    assert found.only_rate_plan.annual_savings == pytest.approx(energy / 2, abs=0.1)
    assert found.cheapest.rate_plan == "cheap"
    other = plans(home, [DEAR, CHEAP], strategy="home first")
    assert other.present.strategy == "home first"


def test_pair_that_does_not_go_together_has_a_reason_and_no_bill() -> None:
    charging = {**FIRST, "name": "charge", "charge_from_grid_to": 0.5}
    found = plans(scenario(strategies=[FIRST, charging]), [FEED_IN])
    pair = found.pair("feed-in", "charge")
    assert pair.bill is None
    assert pair.why_none.startswith("charges the battery from the grid, and under rate plan 'feed-in' (feed_in)")
    assert (pair.annual_savings, pair.energy_cost, pair.unserved_kwh) == (None, None, None)
    assert found.pair("feed-in", "home first").bill is not None
    own = scenario(strategies=[FIRST, charging]).model_copy(update={"rate_plan": FEED_IN})
    with pytest.raises(ScenarioError, match="strategy 'charge' charges the battery from the grid"):
        compare(own)


def test_feed_in_imports_all_of_the_load_and_exports_all_that_the_inverter_puts_out() -> None:
    own = scenario().model_copy(update={"rate_plan": FEED_IN})
    run = simulate(own, "home first")
    lines, flows = run.ledger.bill.lines, run.flows
    bought = sum(line.quantity for line in lines if line.kind == "energy")
    sold = sum(line.quantity for line in lines if line.kind == "export")
    assert bought == pytest.approx((flows["load_kw"] + flows["standby_kw"]).sum())
    served = flows["pv_to_load_kw"] + flows["battery_to_load_kw"]
    assert sold == pytest.approx((served + flows["export_kw"]).sum())


@pytest.mark.parametrize(
    ("rate_plans", "told"),
    [
        ([CHEAP, DEAR.model_copy(update={"name": "cheap"})], "rate plan 'cheap': another one has that name"),
        ([CHEAP.model_copy(update={"currency": "EUR"})], "'cheap': currency is 'EUR', the scenario's is 'USD'"),
    ],
)
def test_plans_that_cannot_be_compared_are_refused(rate_plans: list[RatePlan], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        plans(scenario(), rate_plans)


def test_same_plan_twice_is_one_plan_and_unknown_strategies_are_refused() -> None:
    home = scenario()
    assert [each.rate_plan for each in plans(home, [home.rate_plan, CHEAP, CHEAP]).plans] == ["flat", "cheap"]
    with pytest.raises(UnknownNameError, match="did you mean 'home first'"):
        plans(home, [], strategy="homefirst")


def test_plan_of_half_hours_is_refused_by_hourly_steps_and_billed_by_finer_ones(demo: Scenario) -> None:
    late = {"name": "late", "import_price": 0.4, "windows": ({"from": "17:30", "to": "21:00"},)}
    plan = RatePlan.model_validate({**BASE, "name": "half", "rates": (late, {"name": "rest", "import_price": 0.1})})
    with pytest.raises(
        ScenarioError, match=r"rate plan 'half': rates.1st.windows.1st.from: '17:30' must be a full hour"
    ):
        plans(demo, [plan])
    found = plans(demo.changed({"site.step_minutes": 30}), [plan])
    assert found.pair("half", "").annual_bill == pytest.approx(
        120.0 + 0.1 * 10120 + 0.3 * found.home.load_kw[prices_from(plan, found.home.timeline).rate == 0].sum() / 2,
        abs=0.2,
    )


def test_fuel_is_counted_so_that_the_strategy_of_the_lowest_energy_cost_is_named() -> None:
    """The lowest bill may be that of the strategy which burns most; with costly fuel it is not the lowest cost."""
    base = storm()
    assert base.generator is not None
    costly = base.model_copy(update={"generator": base.generator.model_copy(update={"fuel_price": 60.0})})
    home = replace(storm_home(), scenario=costly)
    found, runs = plans(costly, [], home=home), compare(costly, home)
    for pair, run in zip(found.plans[0].strategies, runs.runs, strict=True):
        assert (pair.annual_bill, pair.fuel_cost) == (run.ledger.annual_bill, run.ledger.fuel_cost)
        assert pair.energy_cost == run.ledger.energy_cost
        assert (pair.unserved_kwh, pair.unserved_h) == (run.ledger.unserved_kwh, run.ledger.unserved_h)
    assert found.only_strategy.strategy == runs.lowest[0].strategy
    assert found.only_strategy.fuel_cost is not None
    assert len({pair.fuel_cost for pair in found.plans[0].strategies}) > 1
