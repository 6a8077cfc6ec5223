"""The risk of a system's money for a person: tables, sentences, the figure, and JSON."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from solarsim.home import Home
from solarsim.scenario.financing import Lease, Loan
from solarsim.studies.risk.risk import Risk, risk
from solarsim.views.figure import BLUE, ORANGE
from solarsim.views.json_text import to_json
from solarsim.views.risk import figure, page
from tests.studies.lives import off_grid_life, other_life
from tests.studies.risk.test_risk import UNCERTAIN
from tests.views.test_life import bars, sentences
from tests.views.test_tables import shown


@pytest.fixture(scope="module")
def found(demo_home: Home) -> Risk:
    uncertain, home = other_life(demo_home, years=3, uncertainty=UNCERTAIN)
    return risk(uncertain, home=home)


def told(result: Risk) -> str:
    return sentences(page(result))


def tables(result: Risk, width: int = 100) -> list[list[str]]:
    return [shown(part, width) for part in page(result) if not isinstance(part, str)]  # type: ignore[arg-type]


@pytest.mark.parametrize("width", [80, 100])
def test_tables_fit_and_lose_no_number(found: Risk, width: int) -> None:
    for lines in tables(found, width):
        assert max(map(len, lines)) <= width
        assert "…" not in "".join(lines)


def test_page_leads_with_confidence_and_the_strongest_input(found: Risk) -> None:
    text = told(found)
    assert "0% of the lifetimes pay back within 3 years" in text
    assert "Strongest input: energy price growth per year, which moves NPV by" in text
    assert "energy price growth per year uniform, -5% to 15%" in text
    assert "solar energy of each year normal, mean of the typical year, standard deviation 5%" in text
    assert "90% confidence: savings and NPV are at least this (P90), and payback is at most this, in 90% of the" in text
    assert f"With all inputs at their medians the NPV is {found.npv_at_medians:,.0f}." in text
    assert "Random seed 1" in text
    assert "(1 + rate)^(y - 1)" in text
    outcomes, _ = tables(found)
    assert any("Payback" in line and line.split()[-3:] == ["never"] * 3 for line in outcomes)
    npv = next(line for line in outcomes if "NPV" in line).split()[-3:]
    assert npv == [f"{each:,.0f}" for each in (found.npv.p90, found.npv.p50, found.npv.p10)]


def test_payback_is_told_with_its_confidence(found: Risk) -> None:
    paid = replace(found, payback_of_each=np.arange(1.0, 13.0))
    assert "with 90% confidence the payback is at most 11.0 years" in told(paid)
    row = next(line for line in tables(paid)[0] if "Payback, years, at most" in line)
    assert row.split()[-3:] == ["11.0", "6.0", "2.0"]
    assert "on your own money" not in told(paid)
    lent = paid.costs.model_copy(update={"loan": Loan(share=0.5, rate=0.05, years=3)})
    assert "Payback is on your own money, while the loan is still being repaid." in told(replace(paid, costs=lent))


def test_lease_has_no_payback(found: Risk) -> None:
    lease = Lease(years=20, monthly_payment=95.0, escalator_per_year=0.0, maintained=True)
    leased = replace(found, costs=found.costs.model_copy(update={"lease": lease, "incentives": ()}))
    assert leased.share_paid_back is None
    assert "pay back" not in told(leased)
    assert not any("Payback" in line for line in tables(leased)[0])


def test_strategy_is_said_to_be_the_first_of_several(found: Risk) -> None:
    assert "(the first of the scenario; solarsim life names the best, --strategy chooses)" in told(found)


def test_json_has_every_declared_key_and_never_is_null(found: Risk) -> None:
    record = json.loads(to_json(replace(found, payback_of_each=np.full(12, math.inf)).record()))
    assert set(record) == set(Risk.facts())
    assert record["simple_payback_years"] == {"p90": None, "p50": None, "p10": None}
    assert record["npv"]["p90"] <= record["npv"]["p50"] <= record["npv"]["p10"]
    assert set(record["inputs"][0]) == {"name", "low_value", "high_value", "npv_at_low", "npv_at_high", "swing"}
    assert record["lifetimes"] == 12


def test_lifetimes_that_are_not_comparable_count_as_the_worst_and_are_told(found: Risk) -> None:
    npv = found.npv_of_each.copy()
    npv[:3] = -math.inf
    dark = replace(found, npv_of_each=npv, unserved_kwh=120.0, unserved_h=40.0, npv_at_medians=None)
    assert "3 of 12 lifetimes are not comparable: 120 kWh unserved a year; they count as the worst outcomes." in told(
        dark
    )
    assert "Unserved: mean of all lifetimes 120.0 kWh in 40 h a year." in told(dark)
    assert json.loads(to_json(dark.record()))["npv"]["p90"] is None
    assert next(line for line in tables(dark)[0] if "NPV" in line).split()[-3] == "-"
    spread, inputs = figure(dark).axes
    assert sum(bar.get_height() for bar in bars(spread)) == 9
    assert inputs.texts[0].get_text() == "not comparable"


def test_figure_has_a_bar_each_way_and_the_values_beside_it(found: Risk) -> None:
    spread, inputs = figure(found).axes
    assert sum(patch.get_height() for patch in bars(spread)) == 12
    names = [text.get_text().split("\n")[0] for text in spread.texts]
    places = [text.get_position()[0] for text in spread.texts]
    assert names == ["P90", "P50", "P10"]
    assert places == sorted(places)
    assert [label.get_text() for label in inputs.get_yticklabels()] == [
        "energy price growth per year",
        "solar energy / typical year's",
        "load growth per year",
    ]
    first = [bar for bar in bars(inputs) if bar.get_y() < 0.0]
    strongest = found.inputs[0]
    assert [bar.get_x() + bar.get_width() for bar in first] == pytest.approx(
        [strongest.npv_at_low, strongest.npv_at_high]
    )
    assert [bar.get_facecolor()[:3] for bar in first] == [
        pytest.approx(tuple(int(color[place : place + 2], 16) / 255 for place in (1, 3, 5))) for color in (ORANGE, BLUE)
    ]
    texts = {text.get_text() for text in inputs.texts}
    assert {"-3%", "13%"} <= texts
    assert "NPV, USD" in inputs.get_xlabel()


def test_outage_cost_is_beside_the_risk_of_a_home_in_the_dark() -> None:
    dark = off_grid_life(uncertainty=UNCERTAIN)[0].changed({"outages": {"value_of_lost_load": 5.0}})
    result = risk(dark, lifetimes=10)
    assert result.lifetimes_not_comparable == 0
    assert f"Outage cost, at the value of lost load: {5.0 * result.unserved_kwh:,.0f} USD a year" in told(result)


def test_battery_s_worth_is_a_row_and_a_share_of_the_lifetimes(found: Risk) -> None:
    outcomes, _ = tables(found)
    assert found.battery_npv is not None
    row = next(line for line in outcomes if "NPV added by the battery" in line)
    assert row.split()[-3:] == [f"{getattr(found.battery_npv, key):,.0f}" for key in ("p90", "p50", "p10")]
    assert "The battery is worth its cost in 0% of the lifetimes." in told(found)
    unknown = replace(found, solar_only_npv_of_each=None)
    assert "battery is worth" not in told(unknown)
    assert not any("battery adds" in line for line in tables(unknown)[0])
