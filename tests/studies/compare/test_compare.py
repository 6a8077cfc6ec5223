"""Every strategy side by side."""

import pytest

from solarsim.home import Home
from solarsim.run import simulate, without_system
from solarsim.scenario.model import Scenario
from solarsim.studies.compare.compare import Comparison, compare
from solarsim.views.compare import page
from tests.builders import content, scenario


def test_baseline_buys_all_of_the_load_and_nothing_else(demo: Scenario, demo_home: Home) -> None:
    run = without_system(demo, demo_home)
    assert run.ledger.annual_kwh["import_kwh"] == pytest.approx(sum(demo.load.monthly_kwh or ()))
    assert run.ledger.annual_kwh["standby_kwh"] == 0.0
    assert run.ledger.balance_error_kw == 0.0


def test_comparison_runs_what_simulate_runs(demo: Scenario, demo_comparison: Comparison) -> None:
    alone = simulate(demo, demo.strategies[2].name)
    assert alone.ledger.bill.total == demo_comparison.runs[2].ledger.bill.total


def test_home_of_another_scenario_is_refused(demo_home: Home) -> None:
    """It would silently answer for the scenario that it was computed from."""
    other = scenario()
    for run in (lambda: compare(other, demo_home), lambda: simulate(other, "home first", demo_home)):
        with pytest.raises(ValueError, match=r"another scenario .'Greensboro family home', not 'plain home'"):
            run()


def test_table_has_a_row_for_each_strategy(demo: Scenario, demo_comparison: Comparison) -> None:
    table = demo_comparison.table()
    assert table.index.tolist() == [strategy.name for strategy in demo.strategies]
    assert (table["annual_savings"] + table["annual_bill"]).round(6).nunique() == 1


def test_reserve_and_strategy_names_change_only_their_own_row() -> None:
    base = content()["strategies"][0]
    two = scenario(strategies=[base, {**base, "name": "careful", "reserve": 0.6}])
    found = compare(two)
    one = compare(scenario(strategies=[base]))
    assert found.runs[0].ledger.bill.total == one.runs[0].ledger.bill.total
    assert found.runs[1].ledger.bill.total > found.runs[0].ledger.bill.total


@pytest.mark.snapshot
def test_demo_s_figures_are_the_readme_s(demo_comparison: Comparison) -> None:
    """Any change here is a change of results: say so in DEVELOPERS.md and renew the README."""
    bills = [float(run.ledger.bill.total) for run in demo_comparison.runs]
    assert float(demo_comparison.baseline.ledger.bill.total) == pytest.approx(1786.30, abs=0.005)
    assert bills == pytest.approx([399.75, 518.15, 322.21, 465.37, 429.15], abs=0.02)


def test_without_a_battery_there_is_no_optimum_and_no_share() -> None:
    found = compare(scenario(battery=None), best=True)
    assert found.best is not None
    assert [(each.energy_cost, each.scheduled_energy_cost) for each in found.best] == [(None, None)]
    assert [run.battery_savings_share for run in found.runs] == [None]
    told = " ".join(part for part in page(found) if isinstance(part, str))
    assert "No optimum: there is no battery to control." in told
    assert "hour-by-hour" not in told
