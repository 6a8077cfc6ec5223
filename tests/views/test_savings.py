"""Savings for a person: the parts list, the strategies, what is not comparable, the figure, and JSON."""

import json
from dataclasses import replace

import pytest

from solarsim.home import Home
from solarsim.studies.savings import Savings, savings
from solarsim.views.json_text import to_json
from solarsim.views.savings import figure, page
from tests.homes_without_grid import storm, storm_home
from tests.studies.lives import off_grid_life
from tests.views.test_life import bars, sentences
from tests.views.test_tables import shown

LABOR = [{"name": "roof work", "per": "module", "unit_price": 45.0}]


@pytest.fixture(scope="module")
def found(demo_home: Home) -> Savings:
    return savings(demo_home.scenario, home=demo_home)


@pytest.fixture(scope="module")
def dark() -> Savings:
    scenario, strategy, home = off_grid_life()
    return savings(scenario, strategy, home)


def tables(result: Savings, width: int = 100) -> list[list[str]]:
    return [shown(part, width) for part in page(result) if not isinstance(part, str)]  # type: ignore[arg-type]


@pytest.mark.parametrize("width", [80, 100])
def test_tables_fit_and_lose_no_number(found: Savings, dark: Savings, width: int) -> None:
    fuelled = savings(storm(), home=storm_home())
    headings = " ".join(tables(fuelled)[1][:4])
    assert all(word in headings for word in ("Fuel", "Energy", "Unserved"))
    for lines in tables(found, width) + tables(dark, width) + tables(fuelled, width):
        assert max(map(len, lines)) <= width
        assert "…" not in "".join(lines)


def test_parts_add_up_and_strategies_are_rows(found: Savings) -> None:
    parts, strategies = tables(found)
    assert parts[-2].split() == ["Upfront", "cost", "13,167.00"]
    row = next(line for line in strategies if "winter night charge" in line)
    assert row.split()[3:] == ["322", "1,464", "9.0", "536", "7.8"]
    assert not any("Unserved" in line or "Fuel" in line for line in strategies)


def test_savings_in_the_dark_are_a_dash_with_the_energy_unserved(dark: Savings) -> None:
    only = dark.strategies[0]
    assert f"'{only.name}' is not comparable: {only.unserved_kwh:,.0f} kWh unserved." in sentences(page(dark))
    row = next(line for line in tables(dark)[1] if only.name in line).split()[len(only.name.split()) :]
    assert row == ["0", "-", f"{only.unserved_kwh:,.1f}", f"{only.unserved_h:,.0f}", "-"]
    record = json.loads(to_json(dark.record()))
    assert record["strategies"][0]["annual_savings"] is None
    assert record["strategies"][0]["simple_payback_years"] is None
    assert record["strategies"][0]["unserved_kwh"] == pytest.approx(only.unserved_kwh)
    panel = figure(dark).axes[0]
    assert [text.get_text() for text in panel.texts] == ["not comparable"]


def test_json_has_the_promised_keys(found: Savings) -> None:
    record = json.loads(to_json(found.record()))
    assert set(record) == set(Savings.facts())
    assert record["upfront_cost"] == sum(line["amount"] for line in record["purchase"]["lines"])
    assert record["baseline"]["annual_bill"] == pytest.approx(1786.30)
    assert {"name", "annual_bill", "fuel_cost", "energy_cost", "annual_savings", "simple_payback_years"} <= set(
        record["strategies"][0]
    )


def test_figure_has_a_bar_for_each_strategy_with_its_payback(found: Savings) -> None:
    panel = figure(found).axes[0]
    assert [bar.get_width() for bar in bars(panel)] == pytest.approx([each.annual_savings for each in found.strategies])
    assert [text.get_text() for text in panel.texts][2] == "9.0 years"


def test_outage_cost_is_beside_the_savings_of_a_home_left_dark() -> None:
    """What the lights are worth is more than the savings: the page says so."""
    home = off_grid_life()[0]
    result = savings(home.changed({"outages": {"value_of_lost_load": 5.0}}))
    first = result.strategies[0]
    assert first.outage_cost == pytest.approx(5.0 * first.unserved_kwh)
    told = sentences(page(result))
    assert f"no system 0, {first.name!r} {first.outage_cost:,.0f}" in told
    assert f"Outage cost included, these cost more than no system: {first.name!r}" in told
    cheap = sentences(page(savings(home.changed({"outages": {"value_of_lost_load": 0.05}}))))
    assert "Outage cost, USD a year" in cheap
    assert "cost more than no system" not in cheap


def test_list_shows_what_is_there_already_and_what_a_watt_costs(demo_home: Home) -> None:
    scenario = demo_home.scenario.changed({"costs.parts.0.owned": 9, "costs.labor": LABOR})
    result = savings(scenario, "zero export", replace(demo_home, scenario=scenario))
    for width in (80, 100):
        lines = tables(result, width)[0]
        assert max(map(len, lines)) <= width
    row = next(line for line in tables(result)[0] if "modules 410 W" in line)
    assert row.split() == ["modules", "410", "W", "module", "9", "10", "165.00", "1,650.00"]
    assert any("roof work" in line and "855.00" in line for line in tables(result)[0])
    # (13,167 - 9 x 165 + 19 x 45 - 4,204) / 7,790 W; 4,204 / (26.112 kWh x 0.9)
    assert "Cost: 1.07 USD per Wdc without the battery (7.79 kWdc); 179 USD per usable" in sentences(page(result))


def test_leased_system_has_no_payback(demo_home: Home) -> None:
    lease = {"years": 25, "monthly_payment": 90.0, "escalator_per_year": 0.0, "maintained": True}
    scenario = demo_home.scenario.changed({"costs.lease": lease, "costs.incentives": []})
    result = savings(scenario, "zero export", replace(demo_home, scenario=scenario))
    assert result.strategies[0].simple_payback_years is None
    assert "Lease of 25 years: 90.00 a month" in sentences(page(result))
    row = next(line for line in tables(result)[1] if "zero export" in line)
    assert row.split()[-3] == "-"
    assert any("Price, paid by the system's owner" in line for line in tables(result)[0])
    assert "There is no payback, since nothing is purchased" in sentences(page(result))
