"""Tables for a person: what they say and how wide they are."""

import io
from dataclasses import replace

import pytest
from rich.console import Console
from rich.table import Table

from solarsim.ledger.ledger import ledger_from
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.compare.optimum import Best
from solarsim.views.tables import (
    bills_by_month_table,
    comparison_notes,
    comparison_table,
    monthly_table,
)


def shown(table: Table, width: int) -> list[str]:
    console = Console(file=io.StringIO(), width=width, color_system=None)
    console.print(table)
    text = console.file.getvalue()  # type: ignore[attr-defined]  # it is a StringIO
    return [line.rstrip() for line in text.splitlines()]


def with_best(comparison: Comparison, best: Best) -> Comparison:
    return replace(comparison, best=best)


@pytest.mark.parametrize("width", [80, 100])
def test_every_table_fits_and_loses_no_number(demo_comparison: Comparison, width: int) -> None:
    tables = [
        comparison_table(with_best(demo_comparison, Best(102.28, 270.28))),
        monthly_table(demo_comparison.runs[0], "USD"),
    ]
    for table in tables:
        lines = shown(table, width)
        assert max(map(len, lines)) <= width
        assert "…" not in "".join(lines)
        headings = {word for column in table.columns for word in str(column.header).split()}
        assert headings <= set(" ".join(lines).split())


def test_comparison_says_what_each_strategy_costs_and_saves(demo_comparison: Comparison) -> None:
    lines = shown(comparison_table(demo_comparison), 100)
    row = next(line for line in lines if "winter night charge" in line)
    assert row.split()[3:] == ["333", "1,465", "3,115", "2,222", "0", "72%", "190"]
    assert any("no system at all" in line and "1,798" in line and "10,120" in line for line in lines)


def test_optimum_is_a_row_or_a_sentence(demo_comparison: Comparison) -> None:
    there = with_best(demo_comparison, Best(102.28, 270.28))
    assert any("optimum" in line and "100%" in line for line in shown(comparison_table(there), 100))
    assert "No optimum" not in " ".join(comparison_notes(there))
    absent = with_best(demo_comparison, Best(None, None, "export pays more"))
    assert not any("best" in line for line in shown(comparison_table(absent), 100))
    assert "No optimum: export pays more." in comparison_notes(absent)


def test_solar_alone_stands_between_nothing_and_the_strategies(demo_comparison: Comparison) -> None:
    lines = shown(comparison_table(demo_comparison), 100)
    names = [line[:22].strip() for line in lines if line.strip() and line[1].isalpha()]
    assert names[1:4] == ["no system at all", "solar, no battery", "serve the home first"]
    assert demo_comparison.solar_only is not None
    assert demo_comparison.solar_only.ledger.equivalent_full_cycles == 0.0


def test_bills_by_month_add_up_to_the_year_s(demo_comparison: Comparison) -> None:
    for line in shown(bills_by_month_table(demo_comparison), 100):
        if line.startswith(" winter night charge"):
            assert sum(map(int, line.split()[3:])) == pytest.approx(333, abs=6)
            break
    else:
        pytest.fail("the strategy has no row")


def test_tie_is_told_as_a_tie(demo_comparison: Comparison) -> None:
    runs = demo_comparison.runs
    tied = replace(demo_comparison, runs=(runs[2], runs[0], replace(runs[2], strategy="twin")))
    assert "Lowest energy cost: 'winter night charge' and 'twin', less than 1 apart." in comparison_notes(tied)


def test_notes_report_the_books_and_the_lowest_bill(demo_comparison: Comparison) -> None:
    notes = " ".join(comparison_notes(demo_comparison))
    assert "Lowest energy cost: 'winter night charge'." in notes
    assert "every hour closes to" in notes


def test_months_add_up_to_the_year(demo_comparison: Comparison) -> None:
    lines = shown(monthly_table(demo_comparison.runs[0], "USD"), 100)
    assert [line.split()[0] for line in lines if line[1:4].strip().isalpha()][-13:-1] == [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"
    ]  # fmt: skip
    assert lines[-2].split()[0] == "Year"
    assert lines[-2].split()[-1] == "414.29"


def test_notes_tell_the_worst_book_of_all_runs(demo_comparison: Comparison) -> None:
    run = demo_comparison.runs[-1]
    spoiled = replace(run.flows, given={**run.flows.given, "load_kw": run.flows["load_kw"] + 0.5})
    bad = replace(run, ledger=ledger_from(spoiled))
    notes = comparison_notes(replace(demo_comparison, runs=(*demo_comparison.runs[:-1], bad)))
    assert any("closes to 5e-01 kW" in note for note in notes)
