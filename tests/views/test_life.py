"""A system's life for a person: tables, sentences, the figure, and JSON."""

import json
from dataclasses import replace

import pytest
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from solarsim.home import Home
from solarsim.scenario.costs import Costs
from solarsim.studies.life.life import Life, life
from solarsim.studies.life.life_year import LifeYear
from solarsim.studies.life.strategy_life import StrategyLife
from solarsim.views.json_text import to_json
from solarsim.views.life import figure, page
from solarsim.views.money import years_or_never
from tests.studies.lives import off_grid_life, other_life
from tests.views.test_tables import shown


def legend(panel: Axes) -> list[str]:
    found = panel.get_legend()
    return [] if found is None else [text.get_text() for text in found.get_texts()]


def bars(panel: Axes) -> list[Rectangle]:
    return [patch for patch in panel.patches if isinstance(patch, Rectangle)]


def sentences(parts: list[object]) -> str:
    """Join what a page says beside its tables."""
    return " ".join(part for part in parts if isinstance(part, str))


def told(result: Life) -> str:
    return sentences(page(result))


@pytest.fixture(scope="module")
def found(demo_home: Home) -> Life:
    return life(demo_home.scenario, home=demo_home)


@pytest.mark.parametrize("width", [80, 100])
def test_tables_fit_and_lose_no_number(found: Life, width: int) -> None:
    tables = [part for part in page(found) if not isinstance(part, str)]
    assert len(tables) == 2
    for table in tables:
        lines = shown(table, width)  # type: ignore[arg-type]  # the rest of a page is tables
        assert max(map(len, lines)) <= width
        assert "…" not in "".join(lines)


def test_strategies_and_years_are_rows(found: Life) -> None:
    strategies, years = (part for part in page(found) if not isinstance(part, str))
    best = found.best
    assert best is not None
    assert best.npv is not None
    assert best.simple_payback_years is not None
    assert best.average_savings is not None
    row = next(line for line in shown(strategies, 100) if best.name in line).split()  # type: ignore[arg-type]
    assert row[3:6] == [f"{best.average_savings:,.0f}", f"{best.simple_payback_years:.1f}", "10.6"]
    lines = shown(years, 100)  # type: ignore[arg-type]
    assert sum(line.strip()[:1].isdecimal() for line in lines) == 26
    assert lines[-2].split()[-1] == f"{best.npv:,.0f}"


def test_page_answers_first_and_says_what_is_assumed(found: Life) -> None:
    text = told(found)
    for words in (
        "With 'winter night charge' the system pays back in 8.2 years (discounted: 10.6); its NPV over 25 years is",
        "nominal rates (inflation included), discount rate 5%",
        "panels lose 0.5% and the battery 1.8%",
        "energy prices 2.8%",
        "have grown by (1 + rate)^(y - 1), prices of replaced parts by (1 + rate)^y",
        "loans and leases are paid monthly",
        "hybrid inverter 6 kW in year 13",
        "No salvage value at the end",
        "not a forecast",
        "Not included: income tax",
    ):
        assert words in text, words


def test_life_that_never_pays_back_says_never(demo_home: Home) -> None:
    short, home = other_life(demo_home, money="real", salvage="linear", battery_fade_per_year=None)
    plain = Costs.model_validate({"parts": ({"name": "all", "quantity": 1.0, "unit_price": 9e4},)})
    short = short.model_copy(update={"costs": plain, "losses.module.aging": 0.05})
    result = life(short, home=replace(home, scenario=short))
    result = replace(result, settings=result.settings.model_copy(update={"panel_degradation_per_year": 0.01}))
    text = told(result)
    assert "never pays back within 4 years; its NPV over 4 years is -8" in text
    assert "on top of inflation" in text
    assert "Replacements: none, because no part has life_years: everything is used for 4 years. Salvage" in text
    assert "Salvage value at the end: the share of each part's life that is left." in text
    assert "so there is no LCOS, and no replacement restores the battery" in text
    assert "panel aging counts twice" in text
    assert "with 'winter night charge', 90% of the original capacity is left in year 4." in text
    assert years_or_never(None) == "never"
    assert "never pays back" in " ".join(legend(figure(result).axes[1]))


def test_battery_that_is_used_beyond_its_end_is_told(demo_home: Home) -> None:
    """The model says after 12 years what the parts list replaces after 17."""
    worn, home = other_life(demo_home, years=18, battery_fade_per_year=None)
    text = told(life(worn, "winter night charge", home))
    assert (
        "77% of the original capacity is left in year 17; end of life (80%) comes after 12 years, but it stays in use"
        in text
    )
    assert "and the battery" not in text


def test_loan_replacement_and_several_rates_are_told(demo_home: Home) -> None:
    still, home = other_life(demo_home, years=20, discount_rate=0.0)
    tables = {
        "parts": ({"name": "pump", "quantity": 1.0, "unit_price": 4e3, "life_years": 5, "replacement_price": 12e3},),
        "loan": {"share": 1.0, "rate": 0.08, "years": 10},
    }
    still = still.model_copy(update={"costs": Costs.model_validate(tables)})
    text = told(life(still, "serve the home first", replace(home, scenario=still)))
    assert "Loan: 4,000 at 8% for 10 years, paid monthly." in text
    # 1,387 a year against 4,000: without the loan money comes back after three years, with it there is none to come.
    assert "Payback and IRR are on your own money" in text
    assert "paid in full at purchase, payback would be 2.9 years." in text
    assert "needs no money down" in text
    assert "pump in year 5 and 10 and 15" in text
    assert "falls below zero again in year 5" in text


def test_json_has_every_declared_key_and_26_years(found: Life) -> None:
    record = json.loads(to_json(found.record()))
    assert set(record) == {
        "scenario", "currency", "upfront_cost", "assumed", "strategies", "solar_only", "changes", "notes",
    }  # fmt: skip
    assert record["upfront_cost"] == 13167.0
    assert record["assumed"]["life"]["discount_rate"] == 0.05
    for each in record["strategies"]:
        assert set(each) == set(StrategyLife.facts())
        assert [year["year"] for year in each["years"]] == list(range(26))
        assert all(set(year) == set(LifeYear.facts()) for year in each["years"])
        assert each["years"][0]["annual_bill"] is None
        assert each["years"][1]["energy_cost"] == each["years"][1]["annual_bill"] + each["years"][1]["fuel_cost"]


def test_life_in_the_dark_is_not_comparable_and_says_so_where_money_would_be() -> None:
    """A home without a grid that leaves demand unserved has no savings, no payback, no NPV."""
    result = life(*off_grid_life())
    (only,) = result.strategies
    kwh = only.unserved_kwh
    assert f"'{only.name}' is not comparable: {kwh:,.0f} kWh unserved." in told(result)
    record = json.loads(to_json(result.record()))["strategies"][0]
    for key in ("npv", "average_savings", "simple_payback_years", "discounted_payback_years", "irr"):
        assert record[key] is None, key
    assert all(year["savings"] is None and year["cash"] is None for year in record["years"])
    assert record["unserved_kwh"] == pytest.approx(kwh)
    assert record["unserved_h"] > 0.0
    table = next(part for part in page(result) if not isinstance(part, str))
    row = next(line for line in shown(table, 100) if only.name in line)  # type: ignore[arg-type]
    assert row.split()[-8:-2] == ["-", "-", "-", "-", "-", row.split()[-3]]
    flows, balance = figure(result).axes
    assert "Only payments are drawn" in balance.texts[0].get_text()
    assert "savings" not in legend(flows)


def test_figure_shows_payments_savings_and_payback(found: Life) -> None:
    best = found.best
    assert best is not None
    assert best.cash is not None
    flows, balance = figure(found).axes
    assert set(legend(flows)) == {
        "cash of the year", "savings", "incentives, loan, salvage", "purchase", "O&M", "replacements"
    }  # fmt: skip
    text = " ".join(legend(balance))
    assert "pays back in 8.2 years" in text
    assert f"{best.npv:,.0f} USD at the end" in text
    assert flows.get_ylabel() == "USD in the year"
    assert balance.get_xlabel() == "year (0: the purchase)"
    # Bars of a year stand on each other: up and down they end at what came in and what went out.
    cash = {round(patch.get_x() + patch.get_width() / 2): 0.0 for patch in bars(flows)}
    for patch in bars(flows):
        cash[round(patch.get_x() + patch.get_width() / 2)] += patch.get_height()
    assert [cash[year] for year in range(26)] == pytest.approx(best.cash.tolist())
    other = figure(found, strategy="zero export")
    assert other.get_suptitle().endswith("zero export")


def test_outage_cost_is_beside_a_life_in_the_dark() -> None:
    dark = off_grid_life()[0].changed({"outages": {"value_of_lost_load": 5.0}})
    result = life(dark)
    year = result.strategies[0].unserved_kwh / 2 * 5.0
    assert f"no system 0, {result.strategies[0].name!r} {year:,.0f}." in told(result)
    assert "Outage cost included, these cost more than no system" in told(result)


@pytest.mark.parametrize("width", [80, 100])
def test_dated_changes_and_months_are_tables_that_fit(demo_home: Home, width: int) -> None:
    change = {"name": "end of the plan for early customers", "year": 2, "set": ["rate_plan.export.price=0.01"]}
    loan = {"share": 0.9, "rate": 0.0399, "years": 3, "dealer_fee": 0.25}
    scenario = demo_home.scenario.changed({"life.years": 3, "life.changes": [change], "costs.loan": loan})
    result = life(scenario, "zero export", replace(demo_home, scenario=scenario))
    tables = [shown(part, width) for part in page(result) if not isinstance(part, str)]  # type: ignore[arg-type]
    assert len(tables) == 4
    for lines in tables:
        assert max(map(len, lines)) <= width
        assert "…" not in "".join(lines)
    months = tables[-1]
    assert [line.split()[0] for line in months if line.split()[:1] in (["Jan"], ["Dec"])] == ["Jan", "Dec"]
    text = told(result)
    # 13,167 x 0.9 / 0.75 are owed; the rate with its fee is checked in tests/ledger.
    assert "Loan: 11,850 at 3.99% for 3 years, paid monthly. With the dealer fee of 25%, 15,800 is owed;" in text
    assert "The battery is not worth its cost in money alone" in text


def test_lease_is_told_and_drawn(demo_home: Home) -> None:
    lease = {"years": 2, "monthly_payment": 90.0, "escalator_per_year": 0.03, "maintained": True, "at_end": "removed"}
    scenario = demo_home.scenario.changed({"life.years": 3, "costs.lease": lease, "costs.incentives": []})
    result = life(scenario, "zero export", replace(demo_home, scenario=scenario))
    text = told(result)
    assert "Lease of 2 years: 90.00 a month in year 1, growing 3% a year." in text
    assert "After the term the system is removed, and the home has none." in text
    assert "With 'zero export' the system is not purchased, so there is no payback; its NPV over 3 years is" in text
    assert "lease, power purchase" in legend(figure(result).axes[0])
    assert "purchase" not in legend(figure(result).axes[0])
