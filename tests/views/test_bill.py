"""The lines of a bill on the screen and as JSON."""

import json
from dataclasses import replace
from typing import Any

import pytest
from rich.table import Table

from solarsim.home import home_from
from solarsim.ledger.lines import Bill, charges_of
from solarsim.ledger.prices import prices_from
from solarsim.run import Run, simulate, without_system
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.scenario.read import read_rate_plan, read_scenario
from solarsim.studies.bill import BillStudy, _printed, bill
from solarsim.studies.compare.compare import Comparison
from solarsim.views.bill import page
from solarsim.views.json_text import to_json
from tests.builders import READY_PLANS, scenario
from tests.views.test_tables import shown

READY = {path.stem: read_rate_plan(path) for path in READY_PLANS}


def bills_of(
    comparison: Comparison, month: int | None = None, run: Run | None = None, rate_plan: RatePlan | None = None
) -> BillStudy:
    """Return what ``bill`` returns of runs that are known, under any rate plan."""
    plan = rate_plan or comparison.home.rate_plan
    prices = prices_from(plan, comparison.home.timeline)
    runs = [
        replace(each, ledger=each.ledger.under(prices)) for each in (comparison.baseline, run or comparison.runs[0])
    ]
    home = replace(comparison.home, prices=prices)
    bills = tuple(_printed(each, month) for each in runs)
    return BillStudy(home, comparison.scenario, plan.currency, plan.name, month, bills)


def lines_of(found: BillStudy, place: int) -> list[str]:
    return shown([part for part in page(found) if isinstance(part, Table)][place], 80)


def sentences_of(found: BillStudy) -> str:
    return " ".join(part for part in page(found) if isinstance(part, str))


def row(lines: list[str], name: str) -> list[str]:
    return next(line for line in lines if line.strip().startswith(name)).removeprefix(f" {name}").split()


def test_bill_of_a_month_shows_its_lines_to_the_cent(demo_comparison: Comparison) -> None:
    lines = lines_of(bills_of(demo_comparison, 7), 0)
    # The home's July has 1060 kWh.
    assert row(lines, "customer charge") == ["1", "month", "14.00", "14.00"]
    assert row(lines, "summer peak")[1:] == ["kWh", "0.34000", "87.01"]
    assert row(lines, "total") == [f"{demo_comparison.baseline.ledger.bill.month_total(7):,.2f}"]
    assert sum(float(row(lines, name)[0]) for name in ("summer peak", "night", "day")) == pytest.approx(1060, abs=0.2)


def test_bill_of_the_year_adds_lines_up_and_shows_what_it_earns_last(demo_comparison: Comparison) -> None:
    lines = lines_of(bills_of(demo_comparison), 1)
    names = [line[1:17].strip() for line in lines if line.startswith(" ") and line[1].isalpha()]
    assert names[1:] == ["customer charge", "winter peak", "night", "day", "summer peak", "export", "total"]
    assert row(lines, "customer charge") == ["12", "months", "14.00", "168.00"]
    assert row(lines, "total") == ["399.75"]


@pytest.mark.parametrize("name", READY)
@pytest.mark.parametrize("month", [None, 1, 7])
def test_bill_of_every_ready_rate_plan_fits_80_columns(
    demo_comparison: Comparison, name: str, month: int | None
) -> None:
    found = bills_of(demo_comparison, month, demo_comparison.runs[2], READY[name])
    lines = lines_of(found, 1)
    assert max(map(len, lines)) <= 80
    assert "…" not in "".join(lines)
    assert row(lines, "total") == [f"{found.bills[1].total:,.2f}"]


def test_percentages_are_percent_and_changing_rates_are_a_mean(demo_comparison: Comparison) -> None:
    zero, hold = demo_comparison.runs[3], demo_comparison.runs[1]
    taxed = lines_of(bills_of(demo_comparison, 7, zero, READY["three_periods"]), 1)
    hourly = lines_of(bills_of(demo_comparison, None, hold, READY["hourly_net_billing"]), 1)
    demand = lines_of(bills_of(demo_comparison, 7, zero, READY["demand"]), 1)
    assert row(taxed, "sales tax")[1:3] == ["USD", "4.50%"]
    assert "mean" in row(hourly, "export, mean of hours")
    assert row(demand, "peak demand, hourly mean")[1:3] == ["kW", "8.60"]


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("day", "month", "words"),
    [
        (18, None, "Annual bill"),
        (None, 3, "March bill"),
        (18, 1, "January bill, 19 December to 18 January"),
        (28, 3, "March bill, 1 March to 28 March"),
        (27, 3, "March bill, 28 February to 27 March"),
    ],
)
def test_a_bill_says_which_days_it_is_for(
    demo_comparison: Comparison, day: int | None, month: int | None, words: str
) -> None:
    plan = READY["flat"].model_copy(update={"reading_day": day})
    assert page(bills_of(demo_comparison, month, rate_plan=plan))[1] == words


def test_a_daily_charge_is_shown_with_the_digits_that_make_its_amount(demo_comparison: Comparison) -> None:
    """Supply charges come as 108.12 cents a day: 31 x 1.08 would not be the amount beside it."""
    days, peak = [31.0] + [0.0] * 11, [2.0] + [0.0] * 11
    supply = charges_of("customer_charge", ["supply"], "day", days, 1.0812)
    bill = Bill("AUD", (supply, charges_of("demand", ["d"], "kW", peak, 8.0)))
    found = bills_of(demo_comparison, 1)
    changed = replace(found.bills[1], lines=bill.lines, total=float(bill.total))
    lines = lines_of(replace(found, bills=(changed, changed)), 1)
    assert row(lines, "supply") == ["31", "days", "1.08120", "33.52"]
    assert row(lines, "d")[2:] == ["8.00", "16.00"]
    assert row(lines, "total") == ["49.52"]


def test_page_says_what_the_system_changes_and_when_credits_are_settled(demo_comparison: Comparison) -> None:
    found = bills_of(demo_comparison)
    assert "lowers the annual bill by 1,386.55 USD" in sentences_of(found)
    raised = replace(bills_of(demo_comparison, 7), bills=bills_of(demo_comparison, 7).bills[::-1])
    assert "raises the July bill by" in sentences_of(raised)
    netted = bills_of(demo_comparison, rate_plan=READY["net_metering"])
    assert "settled with the March bill" in sentences_of(netted)
    fed = READY["flat"].model_copy(update={"export": READY["flat"].export.model_copy(update={"pay": "feed_in"})})
    assert "the whole demand is billed as import" in sentences_of(bills_of(demo_comparison, rate_plan=fed))


def test_what_is_not_on_the_bill_is_beside_it(demo_comparison: Comparison) -> None:
    found = bills_of(demo_comparison)
    dark = replace(found.bills[1], fuel_cost=12.5, unserved_kwh=100.4, unserved_h=99.0)
    told = sentences_of(replace(found, bills=(found.bills[0], dark)))
    assert "Generator fuel is not on the bill: 12.50 USD a year." in told
    assert "Unserved energy is not on the bill: 100.4 kWh in 99 h of the year." in told


def test_json_holds_every_line(demo_comparison: Comparison) -> None:
    july: dict[str, Any] = json.loads(to_json(bills_of(demo_comparison, 7).record()))
    assert [each["name"] for each in july["bills"]] == ["no system", "serve the home first"]
    for each in july["bills"]:
        assert sum(line["amount"] for line in each["lines"]) == pytest.approx(each["total"])
        assert {line["month"] for line in each["lines"]} == {7}
    year = json.loads(to_json(bills_of(demo_comparison).record()))
    assert year["bills"][0]["total"] == pytest.approx(1786.30)


def test_reading_day_and_demand_are_noted_with_every_result() -> None:
    home = read_scenario().model_copy(update={"rate_plan": READY["three_periods"]})
    assert without_system(home).ledger.bill.lines[0].what == "customer charge by day"
    other = scenario(rate_plan__demand=[{"name": "d", "price": 5.0}], rate_plan__reading_day=3)
    computed = home_from(other)
    notes = computed.notes(simulate(other, "home first", computed))
    assert [note for note in notes if "highest hourly mean" in note]
    assert [note for note in notes if "reading day, day 3" in note]


def test_darkness_does_not_lower_a_bill() -> None:
    """A home left without power is told as not comparable; with a value of lost load its bill is."""
    dark = read_scenario().changed({"arrangement.kind": "off_grid", "arrangement.grid": "none"})
    found = bill(dark)
    assert found.annual_savings is None
    assert "'serve the home first' is not comparable: 1,840 kWh unserved." in sentences_of(found)
    assert "lowers" not in sentences_of(found)
    valued = bill(dark.changed({"outages.value_of_lost_load": 5.0}))
    assert f"h of the year, an outage cost of {5.0 * valued.bills[1].unserved_kwh:,.2f} USD." in sentences_of(valued)
    assert valued.annual_savings == pytest.approx(1786.30)
    assert "lowers the annual bill by 1,786.30 USD" in sentences_of(valued)


def test_fuel_is_taken_from_the_savings_beside_the_bill(demo_comparison: Comparison) -> None:
    found = bills_of(demo_comparison)
    burning = found.bills[1].run.ledger.generator._replace(fuel_cost=12.5)
    run = replace(found.bills[1].run, ledger=replace(found.bills[1].run.ledger, generator=burning))
    told = sentences_of(replace(found, bills=(found.bills[0], _printed(run, None))))
    assert "12.50 USD a year. Savings with it: 1,374.05 a year." in told
