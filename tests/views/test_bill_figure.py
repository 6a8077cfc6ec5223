"""The picture of the bill by month."""

from typing import Any

import numpy as np
import pytest

import solarsim
from solarsim.studies.bill import BillStudy, bill
from solarsim.studies.compare.compare import Comparison


@pytest.fixture(scope="module")
def study(demo_comparison: Comparison) -> BillStudy:
    """Bill the demo's year."""
    home = demo_comparison.home
    return bill(home.scenario, "winter night charge", home=home)


def test_amounts_by_month_add_up_to_each_month_s_total(study: BillStudy) -> None:
    for printed in study.bills:
        for by_kind in (False, True):
            amounts = np.array(list(printed.monthly_amounts(by_kind).values()))
            assert amounts.sum(axis=0) == pytest.approx(printed.monthly_total, abs=1e-9)
        assert sum(printed.monthly_total) == pytest.approx(printed.total, abs=1e-9)
    kinds = [kind for kind, what in study.bills[0].monthly_amounts(by_kind=True) if not what]
    assert kinds == ["customer_charge", "energy"]


def test_both_bills_are_stacked_on_one_scale_with_their_totals(study: BillStudy) -> None:
    drawn = solarsim.figure(study)
    before, after = drawn.axes
    assert before.get_ylim() == after.get_ylim()
    assert before.get_title("left") == "no system: 1,786 USD a year"
    for panel, printed in zip(drawn.axes, study.bills, strict=True):
        assert [text.get_text() for text in panel.texts] == [f"{total:,.0f}" for total in printed.monthly_total]
    lowest = min(bar.get_y() + min(0.0, bar.get_height()) for bar in bars_of(after))
    assert lowest == pytest.approx(min(printed_export(study)), abs=1e-9)
    legend = before.get_legend()
    assert legend is not None
    assert legend.get_texts()[0].get_text() == "export"


def bars_of(panel: Any) -> list[Any]:
    """Return the bars of a panel."""
    return [bar for container in panel.containers for bar in container]


def printed_export(study: BillStudy) -> tuple[float, ...]:
    """Return what is earned by month."""
    return study.bills[1].monthly_amounts(by_kind=True)["export", ""]


def test_month_alone_has_one_bar(demo_comparison: Comparison) -> None:
    home = demo_comparison.home
    drawn = solarsim.figure(bill(home.scenario, "winter night charge", 7, home))
    assert [label.get_text() for label in drawn.axes[1].get_xticklabels()] == ["Jul"]
    assert drawn.axes[1].get_title("left").endswith("USD in Jul")


def test_many_lines_are_drawn_by_kind(demo_comparison: Comparison) -> None:
    rates = [
        {"name": f"hour {hour}", "import_price": 0.1 + hour / 100,
         "windows": [{"from": f"{hour:02d}:00", "to": f"{hour + 1:02d}:00"}]}
        for hour in range(9)
    ]  # fmt: skip
    plan = demo_comparison.home.scenario.tables["rate_plan"]
    hourly = demo_comparison.home.scenario.changed({"rate_plan.rates": [*rates, {"name": "rest", "import_price": 0.2}]})
    assert plan["currency"] == "USD"
    legend = solarsim.figure(bill(hourly)).axes[0].get_legend()
    assert legend is not None
    assert [text.get_text() for text in legend.get_texts()] == ["export", "energy", "customer charge", "total"]
