"""The ladder on a screen and in a picture."""

from dataclasses import replace
from typing import Any

import pytest

from solarsim.home import Home
from solarsim.studies.ladder.ladder import Ladder, Rung
from solarsim.views.figure import figure as figure_of
from solarsim.views.ladder import page
from solarsim.views.screen import Screen


def rung(kind: str, cost: float, share: float | None, strategy: str | None = None) -> Rung:
    """Return a rung that does a little worse in other years."""
    other = None if share is None else share - 0.02
    return Rung(
        kind, strategy, cost, share, 170.0, 0.0, cost + 10.0, other,
        None if other is None else other - 0.05, None if other is None else other + 0.03,
    )  # fmt: skip


@pytest.fixture
def result(demo_home: Home) -> Ladder:
    return ladder_of(demo_home)


def ladder_of(home: Home) -> Ladder:
    """Return invented rungs."""
    rungs = (
        rung("solar_only", 858.0, 0.0),
        rung("plainest", 400.0, 0.78, "plainest strategy"),
        rung("best_written", 322.0, 0.916, "winter night charge"),
        rung("tuned", 310.0, 0.935, "tuned"),
        rung("plans_from_past_days", 301.0, 0.95),
        rung("plans_with_forecast", 285.0, 0.976),
        rung("plans_with_known_hours", 274.0, 0.994),
        rung("optimum", 271.0, 1.0),
    )
    years = ("1: resampled days, random load changes", "2: load x 1.15")
    return Ladder(home, "Greensboro family home", "USD", 0.2, 0.3, 0.034, years, rungs, "")


def shown(result: Ladder, capsys: pytest.CaptureFixture[str]) -> str:
    Screen().show(*page(result))
    return " ".join(capsys.readouterr().out.split())


def test_page_says_what_planning_saves(result: Ladder, capsys: pytest.CaptureFixture[str]) -> None:
    told = shown(result, capsys)
    assert "a controller that plans from past days saves 9 USD a year more than 'tuned settings'" in told
    assert "one with a forecast that is off by 30% saves 25 USD a year more than 'tuned settings'" in told
    assert "energy cost plus battery wear, 0.034 USD per kWh discharged" in told
    # The headings, line by line: "Share of possible battery savings" and "Lowest to highest share" side by side.
    assert "Share of possible Other Other Lowest Cost battery Full years years to highest" in told
    assert "savings cycles USD/yr share share" in told
    assert "best as written 322 91.6% 170 332 89.6% 85 to 93%" in told
    assert "winter night charge" in told
    assert "Utility and battery voltages can kill" in told


def test_without_other_years_it_speaks_of_this_one(result: Ladder, capsys: pytest.CaptureFixture[str]) -> None:
    told = shown(replace(result, others=(), wear_price=0.0), capsys)
    assert "In this year, a controller that plans from past days saves 9 USD" in told
    assert "Lowest" not in told
    assert "Cost: energy cost. All keep" in told


def test_without_a_bound_it_says_why(result: Ladder, capsys: pytest.CaptureFixture[str]) -> None:
    rungs = tuple(replace(each, battery_savings_share=None, other_share=None) for each in result.rungs[:-1])
    why = "the price of a tier falls, so the bill is not convex and its lowest value is not known"
    told = shown(replace(result, rungs=rungs, why_no_optimum=why), capsys)
    assert f"No optimum, and so no shares: {why}." in told


def test_planning_that_costs_more_says_so(result: Ladder, capsys: pytest.CaptureFixture[str]) -> None:
    worse = tuple(
        replace(each, other_cost=400.0) if each.kind == "plans_from_past_days" else each for each in result.rungs
    )
    assert "plans from past days costs 80 USD a year more than" in shown(replace(result, rungs=worse), capsys)


def test_picture_has_a_bar_for_each_rung_and_the_spread_of_other_years(result: Ladder) -> None:
    drawn: Any = figure_of(result)
    panel = drawn.axes[0]
    assert [label.get_text() for label in panel.get_yticklabels()] == [
        "serve the home first", "best as written", "tuned settings", "plans from past days", "forecast, error 30%",
        "knows the next 48 h", "optimum, reserve 20%",
    ]  # fmt: skip
    assert [round(bar.get_width(), 1) for bar in panel.patches] == [78.0, 91.6, 93.5, 95.0, 97.6, 99.4, 100.0]
    assert len(panel.lines) == 6
    assert panel.get_xlabel() == "share of possible battery savings, %; line: lowest to highest of other years"
