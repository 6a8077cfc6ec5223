"""Tables, sentences, JSON and pictures of a system's life."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from solarsim.home import Home
from solarsim.scenario.costs import Costs
from solarsim.scenario.glossary_studies import LIFE, LIFE_YEAR
from solarsim.studies.life.life import LifeStudy, life
from solarsim.studies.risk.risk import Risk, risk
from solarsim.views.life_plot import cash_figure, risk_figure
from solarsim.views.life_records import life_json, risk_json
from solarsim.views.life_tables import life_notes, life_table, years_or_never, years_table
from solarsim.views.month_plot import BLUE, ORANGE
from solarsim.views.risk_tables import moved_table, risk_notes, risk_table
from tests.studies.lives import other_life
from tests.studies.risk.test_risk import UNSURE
from tests.views.test_tables import shown


def legend(panel: Axes) -> list[str]:
    found = panel.get_legend()
    return [] if found is None else [text.get_text() for text in found.get_texts()]


def bars(panel: Axes) -> list[Rectangle]:
    return [patch for patch in panel.patches if isinstance(patch, Rectangle)]


@pytest.fixture(scope="module")
def study(demo_home: Home) -> LifeStudy:
    return life(demo_home.scenario, home=demo_home)


@pytest.fixture(scope="module")
def doubt(demo_home: Home) -> Risk:
    unsure, home = other_life(demo_home, years=3, uncertainty=UNSURE)
    return risk(unsure, home=home)


@pytest.mark.parametrize("width", [80, 100])
def test_tables_fit_and_lose_no_number(study: LifeStudy, doubt: Risk, width: int) -> None:
    for table in (life_table(study), years_table(study.best, "USD"), risk_table(doubt), moved_table(doubt)):
        lines = shown(table, width)
        assert max(map(len, lines)) <= width
        assert "…" not in "".join(lines)
        headings = {word for column in table.columns for word in str(column.header).split()}
        assert headings <= set(" ".join(lines).split())


def test_strategies_and_years_are_rows(study: LifeStudy) -> None:
    lines = shown(life_table(study), 100)
    best = study.best
    assert best.simple_payback_years is not None
    row = next(line for line in lines if best.strategy in line).split()
    assert row[3:6] == [f"{best.average_savings:,.0f}", f"{best.simple_payback_years:.1f}", "10.3"]
    years = shown(years_table(best, "USD"), 100)
    assert sum(line.strip()[:1].isdecimal() for line in years) == 26
    assert years[-2].split()[-1] == f"{best.npv:,.0f}"


def test_notes_answer_first_and_say_what_is_assumed(study: LifeStudy) -> None:
    notes = life_notes(study)
    assert notes[0].startswith("'winter night charge' pays back in 8.0 years (in 10.3 with the discount rate); over 25")
    told = " ".join(notes)
    for words in (
        "nominal rates (inflation is in them), discount rate 5 %",
        "panels lose 0.5 % and the battery 1.8 %",
        "energy 2.8 %",
        "hybrid inverter 6 kW in year 13",
        "At the end nothing is left",
        "no forecast",
        "Not in it: taxes on income",
    ):
        assert words in told, words


def test_life_that_never_pays_says_never(demo_home: Home) -> None:
    short, home = other_life(demo_home, money="real", salvage="linear", battery_fade_per_year=None)
    plain = Costs.model_validate({"parts": ({"name": "all", "quantity": 1.0, "unit_price": 9e4},)})
    short = short.model_copy(update={"costs": plain, "losses.module.aging": 0.05})
    found = life(short, home=replace(home, scenario=short))
    found = replace(found, settings=found.settings.model_copy(update={"panel_degradation_per_year": 0.01}))
    told = " ".join(life_notes(found))
    assert "never pays back within 4 years; over 4 years it is worth" in told
    assert "less today than no system at all" in told
    assert "on top of inflation" in told
    assert "Replaced: nothing. At the end a part with a life is worth what is left of it." in told
    assert "there is no cost of storage, and no replacement makes the battery as new" in told
    assert "the panels age twice" in told
    assert "by the model of its chemistry (solarsim wear); under 'winter night charge' 90% in its year 4." in told
    assert years_or_never(None) == "never"
    assert "never pays back" in " ".join(legend(cash_figure(found.best, "USD", "t").axes[1]))


def test_a_battery_that_is_used_beyond_its_end_is_told(demo_home: Home) -> None:
    """The model says after 12 years what the parts list replaces after 17."""
    worn, home = other_life(demo_home, years=18, battery_fade_per_year=None)
    told = " ".join(life_notes(life(worn, "winter night charge", home)))
    assert "77% in its year 17; worn out (at most 80%) after 12 years, and used on." in told
    assert "and the battery" not in told


def test_loan_replacement_and_several_rates_are_told(demo_home: Home) -> None:
    still, home = other_life(demo_home, years=20, discount_rate=0.0)
    tables = {
        "parts": (
            {
                "name": "pump",
                "quantity": 1.0,
                "unit_price": 4000.0,
                "life_years": 5,
                "replacement_price": 12000.0,
            },
        ),
        "loan": {"share": 1.0, "rate": 0.08, "years": 10},
    }
    still = still.model_copy(update={"costs": Costs.model_validate(tables)})
    found = life(still, "serve the home first", replace(home, scenario=still))
    told = " ".join(life_notes(found))
    assert "Loan: 4,000 at 8 % for 10 years, paid monthly." in told
    # 1,384 a year against 4,000: without the loan money comes back after three years, with it there is none to come.
    assert "Payback and Return are of your own money" in told
    assert "paid at the purchase, payback would be 2.9 years." in told
    assert "needs no money of your own at the purchase" in told
    assert "pump in year 5 and 10 and 15" in told
    assert "falls below zero again in year 5" in told


def test_json_keys_are_in_the_glossary_and_never_is_null(study: LifeStudy, doubt: Risk) -> None:
    record = json.loads(life_json(study))
    for each in record["strategies"]:
        assert set(each) - {"name", "years"} <= set(LIFE)
        assert set(each["years"][0]) | set(each["years"][1]) == set(LIFE_YEAR)
        assert len(each["years"]) == 26
    assert record["assumed"]["life"]["discount_rate"] == 0.05
    lifetimes = json.loads(risk_json(replace(doubt, payback=np.full(12, math.inf))))
    assert set(lifetimes) - {"scenario", "currency", "strategy", "inputs", "assumed", "notes"} <= set(LIFE)
    assert set(lifetimes["inputs"][0]) - {"name"} <= set(LIFE)
    assert lifetimes["simple_payback_years"] == {"p10": None, "p50": None, "p90": None}
    assert all(entry.meaning and entry.unit for entry in (LIFE | LIFE_YEAR).values())


def test_notes_of_many_lifetimes_name_the_strongest_input(doubt: Risk) -> None:
    told = " ".join(risk_notes(doubt))
    assert "0% of the lifetimes pay back within 3 years" in told
    assert "The strongest input: energy price grows each year" in told
    assert "energy price grows each year uniform, -5 % to 15 %" in told
    assert "sun of one year normal, give or take 5 %" in told
    assert "P10 is the poor end of savings and worth, but the good end of payback" in told
    assert f"with all at their medians it is worth {doubt.middle_value:,.0f} USD" in told
    assert "Seed 1" in told
    lines = shown(risk_table(doubt), 100)
    assert any("simple payback" in line and line.split()[-3:] == ["never"] * 3 for line in lines)


def test_cash_picture_shows_what_is_paid_and_when_it_is_back(study: LifeStudy) -> None:
    flows, balance = cash_figure(study.best, "USD", "a title").axes
    assert set(legend(flows)) == {
        "cash of the year", "savings", "incentives, loan, what is left", "purchase", "o_and_m", "replacements"
    }  # fmt: skip
    told = " ".join(legend(balance))
    assert "pays back in 8.0 years" in told
    assert f"{study.best.npv:,.0f} USD in the end" in told
    assert flows.get_ylabel() == "USD in the year"
    assert balance.get_xlabel() == "year (0: the purchase)"
    # Bars of a year stand on each other: up and down they end at what came in and what went out.
    cash = {round(patch.get_x() + patch.get_width() / 2): 0.0 for patch in bars(flows)}
    for patch in bars(flows):
        cash[round(patch.get_x() + patch.get_width() / 2)] += patch.get_height()
    assert [cash[year] for year in range(26)] == pytest.approx(study.best.cash.tolist())


def test_tornado_has_a_bar_each_way_and_the_values_beside_it(doubt: Risk) -> None:
    spread, inputs = risk_figure(doubt, "a title").axes
    assert sum(patch.get_height() for patch in bars(spread)) == 12
    assert [label.get_text() for label in inputs.get_yticklabels()] == [
        "energy price grows each year",
        "sun of all years / typical year",
        "load grows each year",
    ]
    first = [bar for bar in bars(inputs) if bar.get_y() < 0.0]
    strongest = doubt.moved[0]
    assert [bar.get_x() + bar.get_width() for bar in first] == pytest.approx([strongest.at_low, strongest.at_high])
    assert [bar.get_facecolor()[:3] for bar in first] == [
        pytest.approx(tuple(int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)))
        for colour in (ORANGE, BLUE)
    ]
    texts = {text.get_text() for text in inputs.texts}
    assert {"-3 %", "13 %"} <= texts
    assert "net present value, USD" in inputs.get_xlabel()
