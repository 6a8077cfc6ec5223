"""What the system costs and earns."""

import pytest

from solarsim.errors import ScenarioError, UnknownNameError
from solarsim.studies.compare.compare import Comparison, compare
from solarsim.studies.savings import savings
from tests.builders import content, scenario

PARTS = [
    {"name": "modules", "quantity": 10.0, "unit_price": 150.5},
    {"name": "labour", "quantity": 1.0, "unit_price": 2000.0},
]


@pytest.mark.by_hand
def test_payback_is_cost_over_savings(demo_comparison: Comparison) -> None:
    found = savings(demo_comparison)
    # 19 x 165 + 19 x 42 + 1450 + 48 x 68 + 3 x 210 + 980 + 2600 = 12,857.
    assert float(found.upfront_cost) == 12857.00
    for payback, run in zip(found.paybacks, demo_comparison.runs, strict=True):
        assert payback.annual_savings is not None
        assert payback.annual_savings == demo_comparison.annual_savings(run)
        assert payback.simple_payback_years == pytest.approx(12857.0 / payback.annual_savings)
    assert found.table().index.tolist() == [run.strategy for run in demo_comparison.runs]


def test_system_that_saves_nothing_never_pays_back() -> None:
    dark = scenario(arrays=[], battery=None, costs={"parts": PARTS})
    found = savings(compare(dark))
    assert float(found.upfront_cost) == 3505.00
    assert found.paybacks[0].annual_savings is not None
    assert found.paybacks[0].annual_savings < 0
    assert found.paybacks[0].simple_payback_years is None


def test_one_strategy_may_be_asked_for(demo_comparison: Comparison) -> None:
    assert [each.strategy for each in savings(demo_comparison, "zero export").paybacks] == ["zero export"]
    with pytest.raises(UnknownNameError, match="did you mean 'zero export'"):
        savings(demo_comparison, "zero exprot")


def test_scenario_without_costs_is_refused() -> None:
    with pytest.raises(ScenarioError, match=r"lists no costs: add a table \[costs\]"):
        savings(compare(scenario(strategies=[content()["strategies"][0]])))
