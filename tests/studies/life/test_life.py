"""Every year of a system's life, and what the years are worth."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.errors import ScenarioError, UnknownNameError
from solarsim.home import Home, home_from
from solarsim.ledger.flows import balance_error_kw
from solarsim.ledger.prices import prices_from
from solarsim.run import simulate, without_battery, without_system
from solarsim.scenario.costs import Costs
from solarsim.scenario.rate_plan.rate_plan import ExportPay
from solarsim.studies.compare.compare import Comparison, compare
from solarsim.studies.life.life import life
from solarsim.studies.life.strategy_life import StrategyLife
from solarsim.studies.life.years import Rates, homes_by_year, ledgers_by_year, typical_course
from solarsim.studies.wear import capacity_by_year
from tests.builders import scenario
from tests.homes_without_grid import storm, storm_home
from tests.studies.lives import other_life

STILL = Rates(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
NEVER = Costs.model_validate({"parts": ({"name": "all", "quantity": 1.0, "unit_price": 1.0},)})


def test_years_without_change_all_equal_the_first_and_the_first_is_compare_s(
    demo_home: Home, demo_comparison: Comparison
) -> None:
    still, home = other_life(demo_home)
    for each, run in zip(life(still, home=home).strategies, demo_comparison.runs, strict=True):
        first = each.years[1]
        assert first.annual_bill == run.ledger.annual_bill
        assert first.energy_cost == run.ledger.energy_cost
        assert first.savings == run.annual_savings
        assert first.import_kwh == pytest.approx(run.ledger.annual_kwh["import_kwh"])
        assert first.export_kwh == pytest.approx(run.ledger.annual_kwh["export_kwh"])
        assert first.baseline_bill == demo_comparison.baseline.ledger.annual_bill
        for year in each.ledgers[1:]:
            # The circle closes within a billionth of the bank, from wherever it starts.
            assert year.sums == pytest.approx(each.ledgers[0].sums, rel=1e-6, abs=1e-6)
            assert year.energy_cost == pytest.approx(first.energy_cost, abs=0.01)


@pytest.mark.parametrize("fuel_price", [0.0, 60.0])
def test_first_year_counts_fuel_as_compare_does(fuel_price: float) -> None:
    """A generator's fuel is in energy cost and savings, not in the bill, in year 1 as in ``compare``."""
    base = storm()
    assert base.generator is not None
    costly = base.model_copy(update={"generator": base.generator.model_copy(update={"fuel_price": fuel_price})})
    still, home = other_life(replace(storm_home(), scenario=costly), years=2)
    found = compare(still, home)
    for each, run in zip(life(still, home=home).strategies, found.runs, strict=True):
        first = each.years[1]
        assert first.fuel_cost == run.ledger.fuel_cost
        assert first.annual_bill == run.ledger.annual_bill
        assert first.energy_cost == run.ledger.annual_bill + run.ledger.fuel_cost
        assert first.savings == run.annual_savings
        assert (first.unserved_kwh, first.unserved_h) == (run.ledger.unserved_kwh, run.ledger.unserved_h)
    assert (sum(run.ledger.fuel_cost for run in found.runs) > 0.0) == (fuel_price > 0.0)


def test_solar_energy_on_the_ac_side_is_what_the_sun_served_and_exported(
    demo_home: Home, demo_comparison: Comparison
) -> None:
    still, home = other_life(demo_home, years=1)
    for each, run in zip(life(still, home=home).strategies, demo_comparison.runs, strict=True):
        (year,) = each.ledgers
        demand = run.ledger.annual_kwh["load_kwh"] + run.ledger.annual_kwh["standby_kwh"]
        # What the sun served by the ledger's own share, and what was sold less what the battery had from the grid.
        bought_in = run.flows["grid_to_battery_kw"].sum()
        entered = bought_in + run.flows["pv_to_battery_kw"].sum()
        of_grid = run.flows["battery_to_grid_kw"].sum() * bought_in / entered
        sold = run.ledger.annual_kwh["export_kwh"] - of_grid
        assert year.solar_kwh == pytest.approx(demand * run.ledger.self_sufficiency + sold)
        assert year.battery_kwh == pytest.approx(
            (run.flows["battery_to_load_kw"] + run.flows["battery_to_grid_kw"]).sum()
        )


def test_a_life_reads_the_two_meters_of_feed_in_pay_as_the_bill_does(demo_home: Home) -> None:
    """With feed-in pay all production is sold and all load bought, in a life as in a bill."""
    pay = ExportPay.model_validate({"pay": "feed_in", "price": 0.2})
    still, home = other_life(demo_home, years=1)
    fed = still.model_copy(update={"rate_plan": still.rate_plan.model_copy(update={"export": pay})})
    home = replace(home, scenario=fed, prices=prices_from(fed.rate_plan, home.timeline))
    (each,) = life(fed, "serve the home first", home).strategies
    bill = simulate(fed, "serve the home first", home).ledger.bill
    assert each.ledgers[0].annual_bill == float(bill.total)
    assert (
        sum(line.quantity * line.rate for line in bill.lines if line.kind == "export")
        < 5 * -0.2 * each.ledgers[0].sums["export_kwh"]
    )


@settings(max_examples=25)
@given(
    rates=st.builds(
        Rates,
        *[st.integers(0, 8).map(lambda percent: percent / 100)] * 2,
        *[st.integers(-5, 8).map(lambda percent: percent / 100)] * 5,
    ),
    number=st.integers(0, 4),
    year=st.integers(1, 12),
    sun=st.sampled_from([0.0, 0.9, 1.3]),
)
def test_energy_balance_closes_in_every_year_and_prices_grow_with_it(
    demo_home: Home, rates: Rates, number: int, year: int, sun: float
) -> None:
    """Any year of a life is a year like any other: hour by hour, in full, at that year's prices."""
    still, base = other_life(demo_home, years=year)
    course = replace(typical_course(rates, year), sun=np.full(year, sun))
    name = still.strategies[number].name
    later = list(homes_by_year([base], course, NEVER))[-1]
    run = simulate(later.scenario, name, later)
    assert balance_error_kw(run.flows) <= 1e-6
    assert abs(run.year_gap_kwh) <= 1e-6
    assert run.ledger.annual_kwh["load_kwh"] == pytest.approx(
        demo_home.load_kw.sum() * (1 + rates.load_growth) ** (year - 1)
    )
    without = without_system(later.scenario, later)
    factor = ((1 + rates.load_growth) * (1 + rates.energy)) ** (year - 1)
    fixed = 14.0 * 12
    first = float(without_system(base.scenario, base).ledger.bill.total) - fixed
    assert float(without.ledger.bill.total) == pytest.approx(
        first * factor + fixed * (1 + rates.customer_charge) ** (year - 1), abs=0.3
    )


def test_every_year_is_run_with_its_own_panels_and_cells(demo_home: Home) -> None:
    worn, home = other_life(demo_home, panel_degradation_per_year=0.02, battery_fade_per_year=0.05)
    homes = list(homes_by_year([home], typical_course(Rates(0.02, 0.05, 0, 0, 0, 0, 0), 4), NEVER))
    assert [each.limits.capacity_kwh / demo_home.limits.capacity_kwh for each in homes] == pytest.approx(
        [1.0, 0.95, 0.95**2, 0.95**3]
    )
    assert homes[3].limits.minimum_kwh == pytest.approx(0.1 * homes[3].limits.capacity_kwh)
    assert homes[3].limits.charge_kw == demo_home.limits.charge_kw
    offered = [year.sums["pv_available_kwh"] for year in life(worn, "zero export", home).strategies[0].ledgers]
    # No input of the demo is at its limit: power falls by just that share.
    assert np.array(offered[1:]) / offered[:-1] == pytest.approx([0.98] * 3)


@pytest.mark.by_hand
def test_panels_that_have_lost_power_are_cut_off_less() -> None:
    """Wear acts on the modules, before the limit of the inverter's input: not on what that has left over."""
    home = home_from(scenario(inverter__inputs=[{"max_kw": 2.0}]))
    later = home.later(0.8, 1.0, 1.0, home.scenario.rate_plan)
    made = home.production.array_kw["roof"]
    np.testing.assert_allclose(later.production.dc_kw, np.minimum(0.8 * made, 2.0))
    np.testing.assert_allclose(later.production.clipped_kw, np.maximum(0.8 * made - 2.0, 0.0), atol=1e-12)
    wrong = 0.8 * home.production.dc_kw
    assert later.production.dc_kw.sum() > 1.1 * wrong.sum()


def test_cells_and_panels_are_as_new_when_they_are_replaced(demo_home: Home) -> None:
    still, home = other_life(demo_home, years=6)
    parts = [
        {"name": "m", "quantity": 1.0, "unit_price": 1.0, "of": "modules", "life_years": 3, "replacement_price": 1.0},
        {"name": "c", "quantity": 1.0, "unit_price": 1.0, "of": "cells", "life_years": 2, "replacement_price": 1.0},
    ]
    costs = Costs.model_validate({"parts": tuple(parts)})
    homes = list(homes_by_year([home], typical_course(Rates(0.1, 0.2, 0, 0, 0, 0, 0), 6), costs))
    capacity, sun = (
        np.array([each.limits.capacity_kwh for each in homes]),
        np.array([each.production.dc_kw.sum() for each in homes]),
    )
    assert capacity / capacity[0] == pytest.approx([1, 0.8, 1, 0.8, 1, 0.8])
    assert sun / sun[0] == pytest.approx([1, 0.9, 0.81, 1, 0.9, 0.81])
    assert still.life is not None


def test_without_a_stated_rate_each_strategy_s_cells_fade_as_the_model_of_aging_says(
    demo_home: Home, demo_comparison: Comparison
) -> None:
    """A strategy that keeps the battery full wears it sooner, and the years of its life know that."""
    worn, home = other_life(demo_home, years=20, battery_fade_per_year=None)
    for each, run in zip(life(worn, home=home).strategies, demo_comparison.runs, strict=True):
        left = capacity_by_year(run, demo_home, 20)
        by_year = np.array([year.capacity_kwh for year in each.ledgers]) / demo_home.limits.capacity_kwh
        assert each.savings is not None
        # The demo's cells are replaced after 17 years.
        assert by_year == pytest.approx([*left[:17], *left[:3]])
        assert each.savings[17] < each.savings[1]
        assert each.savings[18] == pytest.approx(each.savings[1], abs=0.02)
    stated, home = other_life(demo_home, battery_fade_per_year=0.01)
    (only,) = life(stated, "zero export", home).strategies
    assert only.cells_left is None
    assert [year.capacity_kwh / demo_home.limits.capacity_kwh for year in only.ledgers] == pytest.approx(
        [1.0, 0.99, 0.99**2, 0.99**3]
    )


def test_shares_of_capacity_are_shares_and_enough() -> None:
    for wrong in ([1.0, 0.9, 0.8], [1.0, 0.9, 0.8, -0.1], [1.0, 1.1, 0.8, 0.7]):
        with pytest.raises(ValueError, match="a share from 0 to 1 for each of 4 years"):
            typical_course(STILL, 4, wrong)


def test_a_battery_that_the_model_leaves_nothing_of_is_no_battery(demo_home: Home) -> None:
    still, home = other_life(demo_home, years=1)
    _, (dead,) = ledgers_by_year("winter night charge", homes_by_year([home], typical_course(STILL, 1, [0.0]), NEVER))
    assert dead.annual_bill == without_battery(demo_home.scenario, demo_home).ledger.annual_bill
    assert (dead.battery_kwh, dead.capacity_kwh) == (0.0, 0.0)
    assert still.life is not None


@pytest.mark.by_hand
def test_cash_is_savings_and_payments(demo_home: Home) -> None:
    still, home = other_life(demo_home, discount_rate=0.10)
    (only,) = life(still, "winter night charge", home).strategies
    saved = 1786.30 - 322.21
    # 13,167 bought, a rebate of a tenth but at most 1,000 in year 1, 110 of O&M growing by nothing here.
    assert only.cash is not None
    assert only.cash == pytest.approx([-13167.0, saved + 1000 - 110, *[saved - 110] * 3], abs=0.05)
    assert only.npv == pytest.approx(
        -13167.0 + 1000 / 1.1 + sum((saved - 110) / 1.1**year for year in range(1, 5)), abs=0.2
    )
    assert only.simple_payback_years is None
    assert only.discounted_payback_years is None
    assert only.average_savings == pytest.approx(saved, abs=0.05)
    (rate,) = only.rates_of_return
    assert rate < -0.1
    last = only.years[-1].record()
    assert last["balance"] == pytest.approx(only.cash.sum())
    assert last["discounted_balance"] == pytest.approx(only.npv)
    assert last["baseline_bill"] - last["energy_cost"] == pytest.approx(last["savings"])
    assert only.table().loc[4, "cash"] == last["cash"]


@pytest.mark.by_hand
def test_levelized_costs_are_costs_over_what_was_delivered(demo_home: Home) -> None:
    still, home = other_life(demo_home, discount_rate=0.0)
    (only,) = life(still, "zero export", home).strategies
    year = only.ledgers[0]
    # No interest: money over kilowatt-hours. The rebate lowers the cost; cells 32 x 112, cabinet 2 x 310.
    assert only.lcoe == pytest.approx((13167 - 1000 + 4 * 110) / (4 * year.solar_kwh))
    assert only.lcos == pytest.approx((32 * 112 + 2 * 310) / (4 * year.battery_kwh))


def test_home_without_sun_or_battery_has_no_levelized_costs_and_never_pays_back() -> None:
    life_table: dict[str, Any] = {
        "years": 3, "money": "real", "discount_rate": 0.0, "panel_degradation_per_year": 0.0
    }  # fmt: skip
    parts = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 500.0}]}
    dark = scenario(arrays=[], battery=None, costs=parts, life=life_table)
    only = life(dark).strategies[0]
    assert only.lcoe is None
    assert only.lcos is None
    assert only.simple_payback_years is None
    assert only.rates_of_return == ()
    assert only.average_savings is not None
    assert only.average_savings < 0.0


def test_only_the_strategy_that_was_asked_for(demo_home: Home) -> None:
    still, home = other_life(demo_home, years=1)
    assert [each.name for each in life(still, "zero export", home).strategies] == ["zero export"]
    best = life(still, home=home).best
    assert best is not None
    assert best.name == "winter night charge"
    with pytest.raises(UnknownNameError, match="did you mean 'zero export'"):
        life(still, "zero exprot", home)


def test_scenario_without_life_or_costs_is_refused() -> None:
    parts = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 500.0}]}
    with pytest.raises(ScenarioError, match=r"has no table \[life\]; add one with years, money"):
        life(scenario(costs=parts))
    with pytest.raises(ScenarioError, match=r"has no table \[costs\]; add one with parts"):
        life(scenario())


def test_best_strategy_is_among_those_that_serve_the_most(demo_home: Home) -> None:
    """A strategy that saves more because it serves less is comparable with no system, but not named."""
    still, home = other_life(demo_home, years=2)
    found = life(still, home=home)
    names = [each.name for each in found.strategies]
    best = found.best
    assert best is not None
    darker = tuple(replace(year, sums={**year.sums, "unserved_kwh": 50.0}) for year in best.ledgers)
    outages = tuple(replace(year, sums={**year.sums, "unserved_kwh": 50.0}) for year in best.baselines)
    dark = replace(best, ledgers=darker, baselines=outages)
    assert dark.npv == best.npv
    second = replace(found, strategies=tuple(dark if each is best else each for each in found.strategies)).best
    assert second is not None
    assert second.name in set(names) - {best.name}


@pytest.mark.by_hand
def test_value_of_lost_load_decides_which_strategy_is_best_and_enters_no_cash_flow(demo_home: Home) -> None:
    """50 kWh a year at 100 a kWh are an outage cost of 5,000 a year: more than any strategy saves."""
    still, home = other_life(demo_home, years=2)
    found = life(still, home=home)
    best = found.best
    assert best is not None
    darker = tuple(
        replace(year, sums={**year.sums, "unserved_kwh": 50.0}, value_of_lost_load=100.0) for year in best.ledgers
    )
    dark = replace(best, ledgers=darker)
    assert dark.npv == best.npv
    assert dark.outage_cost == pytest.approx(2 * 5000.0)
    assert dark.years[1].outage_cost == pytest.approx(5000.0)
    assert dark.years[1].cash == best.years[1].cash
    second = replace(found, strategies=tuple(dark if each is best else each for each in found.strategies)).best
    assert second is not None
    assert second.name != best.name


def test_life_is_compared_over_all_its_years(demo_home: Home) -> None:
    """A year a little above the tolerance does not spoil a life; a life above it has no money at all."""
    still, home = other_life(demo_home, years=2)
    (only,) = life(still, "zero export", home).strategies
    limit = 0.001 * only.ledgers[0].demand_kwh

    def with_unserved(*kwh: float) -> StrategyLife:
        sums = [{**year.sums, "unserved_kwh": each} for year, each in zip(only.ledgers, kwh, strict=True)]
        years = zip(only.ledgers, sums, strict=True)
        return replace(only, ledgers=tuple(replace(year, sums=each) for year, each in years))

    assert with_unserved(1.5 * limit, 0.4 * limit).npv == only.npv
    dark = with_unserved(1.5 * limit, 0.6 * limit)
    assert (dark.npv, dark.average_savings, dark.simple_payback_years, dark.irr) == (None,) * 4
    assert dark.years[1].savings is None
    assert dark.lcoe == only.lcoe
