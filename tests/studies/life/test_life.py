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
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.life.life import life
from solarsim.studies.life.years import Rates, homes_by_year, lived, typical_course
from solarsim.studies.wear import capacity_by_year
from tests.builders import scenario
from tests.studies.lives import other_life

STILL = Rates(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
NEVER = Costs.model_validate({"parts": ({"name": "all", "quantity": 1.0, "unit_price": 1.0},)})


def test_years_without_change_all_equal_the_first_and_the_first_is_simulate_s(
    demo_home: Home, demo_comparison: Comparison
) -> None:
    still, home = other_life(demo_home)
    for each, run in zip(life(still, home=home).lives, demo_comparison.runs, strict=True):
        first = each.years[0]
        assert first.energy_cost == run.ledger.energy_cost
        assert first.sums["import_kwh"] == pytest.approx(run.ledger.annual_kwh["import_kwh"])
        assert first.sums["export_kwh"] == pytest.approx(run.ledger.annual_kwh["export_kwh"])
        assert each.baseline[0].energy_cost == demo_comparison.baseline.ledger.energy_cost
        for year in each.years[1:]:
            # The circle closes within a billionth of the bank, from wherever it starts.
            assert year.sums == pytest.approx(first.sums, rel=1e-6, abs=1e-6)
            assert year.energy_cost == pytest.approx(first.energy_cost, abs=0.01)


def test_solar_energy_on_the_ac_side_is_what_the_sun_served_and_sold(
    demo_home: Home, demo_comparison: Comparison
) -> None:
    still, home = other_life(demo_home, years=1)
    for each, run in zip(life(still, home=home).lives, demo_comparison.runs, strict=True):
        (year,) = each.years
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
    (each,) = life(fed, "serve the home first", home).lives
    bill = simulate(fed, "serve the home first", home).ledger.bill
    assert each.years[0].annual_bill == float(bill.total)
    assert bill.unrounded()["export"] < 5 * -0.2 * each.years[0].sums["export_kwh"]


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
def test_books_close_in_every_year_and_the_short_ledger_is_the_long_one(
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
    offered = [year.sums["pv_available_kwh"] for year in life(worn, "zero export", home).lives[0].years]
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
    for each, run in zip(life(worn, home=home).lives, demo_comparison.runs, strict=True):
        left = capacity_by_year(run, demo_home, 20)
        by_year = np.array([record["capacity_kwh"] for record in each.records()[1:]]) / demo_home.limits.capacity_kwh
        # The demo's cells are replaced after 17 years.
        assert by_year == pytest.approx([*left[:17], *left[:3]])
        assert each.savings[17] < each.savings[1]
        assert each.savings[18] == pytest.approx(each.savings[1], abs=0.02)
    stated, home = other_life(demo_home, battery_fade_per_year=0.01)
    (only,) = life(stated, "zero export", home).lives
    assert only.cells_left is None
    assert [year.capacity_kwh / demo_home.limits.capacity_kwh for year in only.years] == pytest.approx(
        [1.0, 0.99, 0.99**2, 0.99**3]
    )


def test_shares_of_capacity_are_shares_and_enough() -> None:
    for wrong in ([1.0, 0.9, 0.8], [1.0, 0.9, 0.8, -0.1], [1.0, 1.1, 0.8, 0.7]):
        with pytest.raises(ValueError, match="a share from 0 to 1 for each of 4 years"):
            typical_course(STILL, 4, wrong)


def test_a_battery_that_the_model_leaves_nothing_of_is_no_battery(demo_home: Home) -> None:
    still, home = other_life(demo_home, years=1)
    _, (dead,) = lived("winter night charge", homes_by_year([home], typical_course(STILL, 1, [0.0]), NEVER))
    assert dead.annual_bill == without_battery(demo_home.scenario, demo_home).ledger.annual_bill
    assert (dead.battery_kwh, dead.capacity_kwh) == (0.0, 0.0)
    assert still.life is not None


@pytest.mark.by_hand
def test_cash_is_savings_and_payments(demo_home: Home) -> None:
    still, home = other_life(demo_home, discount_rate=0.10)
    (only,) = life(still, "winter night charge", home).lives
    saved = 1798.20 - 333.17
    # 12,857 bought, a rebate of a tenth but at most 1,000 in year 1, 110 of O&M growing by nothing here.
    assert only.cash == pytest.approx([-12857.0, saved + 1000 - 110, *[saved - 110] * 3], abs=0.05)
    assert only.npv == pytest.approx(
        -12857.0 + 1000 / 1.1 + sum((saved - 110) / 1.1**year for year in range(1, 5)), abs=0.2
    )
    assert only.simple_payback_years is None
    assert only.discounted_payback_years is None
    assert only.average_savings == pytest.approx(saved, abs=0.05)
    (rate,) = only.rates_of_return
    assert rate < -0.1
    last = only.records()[-1]
    assert last["balance"] == pytest.approx(only.cash.sum())
    assert last["discounted_balance"] == pytest.approx(only.npv)
    assert last["baseline_bill"] - last["annual_bill"] == pytest.approx(last["savings"])
    assert only.table().loc[4, "cash"] == last["cash"]


@pytest.mark.by_hand
def test_levelized_costs_are_costs_over_what_was_delivered(demo_home: Home) -> None:
    still, home = other_life(demo_home, discount_rate=0.0)
    (only,) = life(still, "zero export", home).lives
    year = only.years[0]
    # No interest: money over kilowatt-hours. The rebate lowers the cost; cells 48 x 68, cabinet 3 x 210.
    assert only.lcoe == pytest.approx((12857 - 1000 + 4 * 110) / (4 * year.solar_kwh))
    assert only.lcos == pytest.approx((48 * 68 + 3 * 210) / (4 * year.battery_kwh))


def test_home_without_sun_or_battery_has_no_levelized_costs_and_never_pays_back() -> None:
    life_table: dict[str, Any] = {
        "years": 3, "money": "real", "discount_rate": 0.0, "panel_degradation_per_year": 0.0
    }  # fmt: skip
    parts = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 500.0}]}
    dark = scenario(arrays=[], battery=None, costs=parts, life=life_table)
    only = life(dark).lives[0]
    assert only.lcoe is None
    assert only.lcos is None
    assert only.simple_payback_years is None
    assert only.rates_of_return == ()
    assert only.average_savings < 0.0


def test_only_the_strategy_that_was_asked_for(demo_home: Home) -> None:
    still, home = other_life(demo_home, years=1)
    assert [each.strategy for each in life(still, "zero export", home).lives] == ["zero export"]
    assert life(still, home=home).best.strategy == "winter night charge"
    with pytest.raises(UnknownNameError, match="did you mean 'zero export'"):
        life(still, "zero exprot", home)


def test_scenario_without_life_or_costs_is_refused() -> None:
    parts = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 500.0}]}
    with pytest.raises(
        ScenarioError, match=r"says nothing of the years to come: add a table \[life\] with years, money"
    ):
        life(scenario(costs=parts))
    with pytest.raises(ScenarioError, match=r"lists no costs: add a table \[costs\]"):
        life(scenario())
