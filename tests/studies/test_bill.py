"""The bill with and without the system."""

import pytest

from solarsim.errors import UnknownNameError
from solarsim.scenario.model import BillScenario
from solarsim.scenario.read import read_scenario
from solarsim.studies.bill import bill
from solarsim.studies.compare.compare import Comparison


def test_months_add_up_to_the_year_and_the_year_is_that_of_compare(demo_comparison: Comparison) -> None:
    home = demo_comparison.home
    whole = bill(home.scenario, "zero export", home=home)
    months = [bill(home.scenario, "zero export", month, home) for month in range(1, 13)]
    for number, printed in enumerate(whole.bills):
        assert sum(month.bills[number].total for month in months) == pytest.approx(printed.total, abs=1e-6)
        assert sum(float(line.amount) for line in printed.lines) == pytest.approx(printed.total, abs=1e-6)
    compared = next(run for run in demo_comparison.runs if run.strategy == "zero export")
    assert [printed.name for printed in whole.bills] == ["no system", "zero export"]
    assert whole.bills[1].total == float(compared.ledger.bill.total)
    assert {line.month for line in months[6].bills[1].lines} == {7}


def test_first_strategy_is_taken_and_an_unknown_one_refused(demo_comparison: Comparison) -> None:
    home = demo_comparison.home
    assert bill(home.scenario, home=home).bills[1].name == home.scenario.strategies[0].name
    with pytest.raises(UnknownNameError, match="did you mean 'zero export'"):
        bill(home.scenario, "zero exprt", home=home)


def test_load_and_rate_plan_are_enough_for_the_bill_without_a_system(demo_comparison: Comparison) -> None:
    """What a homeowner can set beside the utility's bills before there is any system."""
    (only,) = bill(read_scenario(kind=BillScenario)).bills
    assert only.name == "no system"
    assert only.total == float(demo_comparison.baseline.ledger.bill.total)
    (same,) = bill(read_scenario().changed({"system": None})).bills
    assert same.lines == only.lines


@pytest.mark.parametrize("month", [0, 13])
def test_month_that_is_none_is_refused(demo_comparison: Comparison, month: int) -> None:
    home = demo_comparison.home
    with pytest.raises(ValueError, match=f"month {month} must be 1 to 12"):
        bill(home.scenario, month=month, home=home)
