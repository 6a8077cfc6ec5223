"""Bills and plans for a person and for programs: what they say and how wide they are."""

import json

import pytest

from solarsim.ledger.lines import Bill, charges_of
from solarsim.run import Run, simulate, without_system
from solarsim.scenario.read import read_rate_plan, read_scenario, ready_rate_plans
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.plans import Plans, plans
from solarsim.views.bill_tables import bill_notes, bill_table, period_words
from solarsim.views.rate_records import bill_json
from tests.builders import scenario
from tests.views.test_tables import shown

READY = {path.stem: read_rate_plan(path) for path in ready_rate_plans()}


@pytest.fixture(scope="module")
def found(demo_comparison: Comparison) -> Plans:
    """Bill the demo under the ready rate plans."""
    home = demo_comparison.home
    return plans(home.scenario, list(READY.values()), home=home)


def row(lines: list[str], name: str) -> list[str]:
    return next(line for line in lines if line.strip().startswith(name)).removeprefix(f" {name}").split()


def test_bill_of_a_month_shows_its_lines_to_the_cent(demo_comparison: Comparison) -> None:
    bill = demo_comparison.baseline.ledger.bill
    lines = shown(bill_table(bill, "no system at all", 7), 80)
    # The home's July has 1060 kWh.
    assert row(lines, "customer charge") == ["1", "month", "14.00", "14.00"]
    assert row(lines, "summer peak")[1:] == ["kWh", "0.34000", "90.53"]
    assert row(lines, "total") == [f"{bill.month_total(7):,.2f}"]
    assert sum(float(row(lines, name)[0]) for name in ("summer peak", "night", "day")) == pytest.approx(1060, abs=0.2)


def test_bill_of_the_year_adds_lines_up_and_shows_what_it_earns_last(demo_comparison: Comparison) -> None:
    run = demo_comparison.runs[0]
    lines = shown(bill_table(run.ledger.bill, run.strategy, None), 80)
    names = [line[1:17].strip() for line in lines if line.startswith(" ") and line[1].isalpha()]
    assert names[1:] == ["customer charge", "winter peak", "night", "day", "summer peak", "export", "total"]
    assert row(lines, "customer charge") == ["12", "months", "14.00", "168.00"]
    assert row(lines, "total") == ["414.29"]


@pytest.mark.parametrize("name", READY)
@pytest.mark.parametrize("month", [None, 1, 7])
def test_bill_of_every_ready_rate_plan_fits_80_columns(found: Plans, name: str, month: int | None) -> None:
    pair = found.pair(READY[name].name, "winter night charge")
    assert pair.bill is not None
    lines = shown(bill_table(pair.bill, pair.strategy, month), 80)
    assert max(map(len, lines)) <= 80
    assert "…" not in "".join(lines)
    total = pair.bill.total if month is None else pair.bill.month_total(month)
    assert row(lines, "total") == [f"{total:,.2f}"]


def test_percentages_are_percent_and_changing_rates_are_a_mean(found: Plans) -> None:
    taxed = found.pair("Three periods (invented)", "zero export").bill
    hourly = found.pair("Hourly pay (invented)", "hold for the peak").bill
    demand = found.pair("Demand (invented)", "zero export").bill
    assert taxed is not None
    assert hourly is not None
    assert demand is not None
    assert row(shown(bill_table(taxed, "x", 7), 80), "sales tax")[1:3] == ["USD", "4.50%"]
    assert "mean" in row(shown(bill_table(hourly, "x", None), 80), "export, mean of hours")
    assert row(shown(bill_table(demand, "x", 7), 80), "peak demand, hourly mean")[1:3] == ["kW", "8.60"]


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("day", "month", "words"),
    [
        (18, None, "Bill of the year"),
        (None, 3, "Bill of March"),
        (18, 1, "Bill of January, 19 December to 18 January"),
        (28, 3, "Bill of March, 1 March to 28 March"),
        (27, 3, "Bill of March, 28 February to 27 March"),
    ],
)
def test_a_bill_says_which_days_it_is_for(day: int | None, month: int | None, words: str) -> None:
    assert period_words(READY["flat"].model_copy(update={"reading_day": day}), month) == words


def test_a_daily_charge_is_shown_with_the_digits_that_make_its_amount() -> None:
    """Supply charges come as 108.12 cents a day: 31 x 1.08 would not be the amount beside it."""
    days, peak = [31.0] + [0.0] * 11, [2.0] + [0.0] * 11
    supply = charges_of("customer_charge", ["supply"], "day", days, 1.0812)
    bill = Bill("AUD", (supply, charges_of("demand", ["d"], "kW", peak, 8.0)))
    lines = shown(bill_table(bill, "x", 1), 80)
    assert row(lines, "supply") == ["31", "days", "1.08120", "33.52"]
    assert row(lines, "d")[2:] == ["8.00", "16.00"]


def test_bill_says_what_the_system_changes_and_when_credits_are_settled(demo_comparison: Comparison) -> None:
    def notes(rate_plan: str, without: Run, run: Run, month: int | None) -> str:
        return " ".join(bill_notes(READY[rate_plan], without, run, month))

    one, other = demo_comparison.baseline, demo_comparison.runs[0]
    assert "lowers the year's bill by 1,383.91 USD" in notes("flat", one, other, None)
    assert "raises the bill of July by" in notes("flat", other, one, 7)
    assert "settled with the bill of March" in notes("net_metering", one, other, None)
    fed = READY["flat"].model_copy(update={"export": READY["flat"].export.model_copy(update={"pay": "feed_in"})})
    assert "all that the home uses is bought" in " ".join(bill_notes(fed, one, other, None))


def test_json_of_bills(demo_comparison: Comparison) -> None:
    runs = [demo_comparison.baseline, demo_comparison.runs[0]]
    record = json.loads(bill_json(demo_comparison.home, runs, 7))
    assert [each["name"] for each in record["bills"]] == ["no system at all", "serve the home first"]
    for each in record["bills"]:
        assert sum(line["amount"] for line in each["lines"]) == pytest.approx(each["total"])
        assert {line["month"] for line in each["lines"]} == {7}
    year = json.loads(bill_json(demo_comparison.home, runs, None))
    assert year["bills"][0]["total"] == pytest.approx(1798.20)


def test_reading_day_and_demand_are_told_with_every_result() -> None:
    home = read_scenario().model_copy(update={"rate_plan": READY["three_periods"]})
    run = without_system(home)
    assert run.ledger.bill.lines[0].what == "customer charge by day"
    other = scenario(rate_plan__demand=[{"name": "d", "price": 5.0}], rate_plan__reading_day=3)
    from solarsim.home import home_from

    computed = home_from(other)
    notes = computed.notes(simulate(other, "home first", computed))
    assert [note for note in notes if "highest hourly mean" in note]
    assert [note for note in notes if "read on its day 3" in note]
