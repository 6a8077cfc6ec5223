"""What the system costs and earns."""

from dataclasses import replace

import pytest

from solarsim.errors import ScenarioError, UnknownNameError
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.savings import savings
from tests.builders import scenario
from tests.homes_without_grid import storm, storm_home
from tests.studies.lives import off_grid_life

PARTS = [
    {"name": "modules", "quantity": 10.0, "unit_price": 150.5},
    {"name": "labour", "quantity": 1.0, "unit_price": 2000.0},
]


@pytest.mark.by_hand
def test_payback_is_cost_over_savings(demo_comparison: Comparison) -> None:
    found = savings(demo_comparison.home.scenario, home=demo_comparison.home)
    # 19 x 165 + 19 x 42 + 1450 + 32 x 112 + 2 x 310 + 980 + 2600 = 13,167.
    assert found.upfront_cost / 1.0 == 13167.00  # a number, not a Decimal, as in every other result
    for each, run in zip(found.strategies, demo_comparison.runs, strict=True):
        assert each.annual_savings is not None
        assert each.annual_savings == run.annual_savings
        assert each.simple_payback_years == pytest.approx(13167.0 / each.annual_savings)
    assert found.table().index.tolist() == [run.strategy for run in demo_comparison.runs]


def test_system_that_saves_nothing_never_pays_back() -> None:
    dark = scenario(arrays=[], battery=None, costs={"parts": PARTS})
    found = savings(dark)
    assert float(found.upfront_cost) == 3505.00
    assert found.strategies[0].annual_savings is not None
    assert found.strategies[0].annual_savings < 0
    assert found.strategies[0].simple_payback_years is None


def test_one_strategy_may_be_asked_for(demo_comparison: Comparison) -> None:
    home = demo_comparison.home
    assert [each.name for each in savings(home.scenario, "zero export", home).strategies] == ["zero export"]
    with pytest.raises(UnknownNameError, match="did you mean 'zero export'"):
        savings(home.scenario, "zero exprot", home)


def test_scenario_without_costs_is_refused() -> None:
    with pytest.raises(ScenarioError, match=r"has no table \[costs\]; add one with parts"):
        savings(scenario())


def test_home_in_the_dark_has_no_savings_and_no_payback() -> None:
    """Without a grid it pays no bill; what nothing served is not saved."""
    dark, strategy, home = off_grid_life()
    found = savings(dark, strategy, home)
    (only,) = found.strategies
    assert (only.annual_bill, only.energy_cost) == (0.0, 0.0)
    assert (only.annual_savings, only.simple_payback_years) == (None, None)
    assert only.unserved_kwh > 100.0
    assert only.unserved_h > 100.0
    assert found.baseline.annual_bill > 1000.0


def test_fuel_is_taken_from_the_savings() -> None:
    base = storm()
    assert base.generator is not None
    costly = base.model_copy(update={"generator": base.generator.model_copy(update={"fuel_price": 60.0})})
    found = savings(costly, home=replace(storm_home(), scenario=costly))
    burning = [each for each in found.strategies if each.fuel_cost > 0.0]
    assert burning
    for each in burning:
        assert each.energy_cost == each.annual_bill + each.fuel_cost
        assert each.annual_savings == found.baseline.energy_cost - each.energy_cost
