"""Rate plans for a person: tables, sentences, the figure, and JSON."""

import json
from dataclasses import replace

import numpy as np
import pytest

from solarsim.errors import UnknownNameError
from solarsim.ledger.ledger import Ledger
from solarsim.scenario.read import read_rate_plan
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.plans import Pair, Plans, plans
from solarsim.views.json_text import to_json
from solarsim.views.plans import figure, page
from tests.builders import READY_PLANS, scenario
from tests.views.test_life import legend, sentences
from tests.views.test_tables import shown


@pytest.fixture(scope="module")
def found(demo_comparison: Comparison) -> Plans:
    """Bill the demo under the ready rate plans."""
    home = demo_comparison.home
    return plans(home.scenario, [read_rate_plan(path) for path in READY_PLANS], home=home)


def tables(result: Plans, width: int = 100) -> list[list[str]]:
    return [shown(part, width) for part in page(result) if not isinstance(part, str)]  # type: ignore[arg-type]


def told(result: Plans) -> str:
    return sentences(page(result))


def with_ledgers(result: Plans, changed: dict[str, Ledger]) -> Plans:
    """Put other ledgers in place of some strategies' under every rate plan."""

    def pair(each: Pair) -> Pair:
        return replace(each, ledger=changed.get(each.strategy, each.ledger))

    columns = tuple(replace(plan, strategies=tuple(map(pair, plan.strategies))) for plan in result.plans)
    return replace(result, plans=columns, present=columns[0].strategies[0])


@pytest.mark.parametrize("width", [80, 100])
def test_table_fits_and_marks_the_lowest_cost(found: Plans, width: int) -> None:
    (lines,) = tables(found, width)
    assert max(map(len, lines)) <= 80
    assert "…" not in "".join(lines)
    assert [line.split()[:2] for line in lines if "*" in line] == [found.cheapest.rate_plan.split()[:2]]
    assert f"{found.cheapest.annual_bill:,.0f}*" in "\n".join(lines)


def test_many_strategies_are_in_tables_below_each_other(found: Plans) -> None:
    many = replace(
        found,
        plans=tuple(
            replace(plan, strategies=tuple(replace(plan.strategies[0], strategy=f"number {n}") for n in range(7)))
            for plan in found.plans
        ),
    )
    headings = [lines for lines in tables(many) if any("number" in line for line in lines)]
    assert [sum(line.count("number") for line in lines) for lines in headings] == [5, 2]


def test_sentences_say_what_changing_plan_strategy_and_both_saves(found: Plans) -> None:
    text = told(found)
    assert "Now: 'Evening peak (invented)' with 'serve the home first', 400 USD a year." in text
    assert f"Changing only the rate plan saves {found.only_rate_plan.annual_savings:,.0f} USD a year: to " in text
    assert "Changing only the strategy saves 78 USD a year: to 'winter night charge'." in text
    assert f"* Lowest energy cost: '{found.cheapest.rate_plan}' with" in text
    assert "Unserved" not in "".join(tables(found)[0])
    alone = told(plans(scenario(), []))
    for words in (
        "Changing only the rate plan saves nothing.",
        "Changing only the strategy saves nothing.",
        "Changing both saves nothing more.",
    ):
        assert words in alone


def test_pair_that_does_not_go_together_is_a_dash_with_its_reason(found: Plans) -> None:
    without = replace(
        found,
        plans=tuple(
            replace(
                plan,
                strategies=tuple(
                    replace(pair, ledger=None, why_none="cannot be") if pair.strategy == "zero export" else pair
                    for pair in plan.strategies
                ),
            )
            for plan in found.plans
        ),
    )
    assert " - " in "\n".join(tables(without)[0])
    assert "-: 'zero export' cannot be." in told(without)


def test_strategy_that_leaves_more_unserved_is_not_the_lowest_cost(found: Plans) -> None:
    """A strategy that costs nothing because it serves nothing is shown with what it leaves unserved, and not named."""
    own = found.plans[0].strategies
    ledger = own[3].ledger
    assert ledger is not None
    dark = replace(ledger, sums={**ledger.sums, "unserved_kwh": 900.0}, unserved_h=300.0, readings=None)
    result = with_ledgers(found, {"zero export": dark})
    assert result.pair(own[0].rate_plan, "zero export").energy_cost == 0.0
    assert result.pair(own[0].rate_plan, "zero export").annual_savings is None
    assert result.cheapest.strategy == found.cheapest.strategy
    lines = tables(result)[0]
    unserved = next(line for line in lines if "Unserved, kWh" in line).split()
    assert unserved[2:] == ["0.0", "0.0", "0.0", "0.0", "900.0", "0.0"]
    assert "Lowest energy cost: among pairs whose unserved energy is at most 0.1% of demand above the lowest." in told(
        result
    )


def test_json_has_every_pair_and_the_four_answers(found: Plans) -> None:
    record = json.loads(to_json(found.record()))
    assert set(record) == set(Plans.facts())
    assert record["present"]["annual_savings"] == 0
    assert len(record["plans"]) == 8
    least = min(each["energy_cost"] for plan in record["plans"] for each in plan["strategies"])
    assert record["cheapest"]["energy_cost"] == least
    assert set(record["plans"][0]["baseline"]) == set(Pair.facts())


def test_figure_has_a_mark_for_every_pair(found: Plans) -> None:
    panel = figure(found).axes[0]
    assert len(panel.lines) == 6
    assert [label.get_text() for label in panel.get_yticklabels()] == [plan.rate_plan for plan in found.plans]
    first = next(line for line in panel.lines if line.get_label() == "zero export")
    assert np.asarray(first.get_xdata()).tolist() == [plan.strategies[3].energy_cost for plan in found.plans]
    assert panel.get_xlabel() == "bill, USD a year"


def test_figure_has_a_week_for_each_season_of_a_plan(found: Plans) -> None:
    _, winter, summer = figure(found).axes
    assert summer.get_title(loc="left") == "May-Sep: week of Monday, May 25"
    assert summer.get_title(loc="right") == "summer peak 0.34, night 0.075, day 0.125"
    words = [each.get_text() for each in winter.texts]
    assert words == ["Mon", "Tue", "Wed", "Thu, holiday", "Fri", "Sat", "Sun"]
    assert legend(summer) == ["import price", "export price"]
    assert summer.get_ylabel() == "USD/kWh"
    assert len(figure(found, weeks="Flat (invented)").axes) == 2
    with pytest.raises(UnknownNameError, match=r"rate plan 'Flatt' is not compared here; "):
        figure(found, weeks="Flatt")


def test_home_without_a_grid_compares_no_rate_plans() -> None:
    result = plans(scenario(arrangement={"kind": "off_grid", "backed_up": "all", "grid": "none"}), [])
    assert "Rate plans are not comparable: the home has no grid connection, and so no bill." in told(result)
    assert "Lowest energy cost" not in told(result)
    assert "*" not in " ".join(line for table in tables(result) for line in table)
