"""The lines of a bill, for a person: two bills in; tables and sentences out."""

from typing import Any

from rich.table import Table

from solarsim.ledger.lines import BillLine
from solarsim.ledger.money import not_comparable
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.studies.bill import BillStudy, PrintedBill
from solarsim.views.bill_figure import ORDER, figure
from solarsim.views.tables import plain_table
from solarsim.views.texts import CAUTION, heading

__all__ = ["MONTH_NAMES", "figure", "page"]

MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


def page(result: BillStudy) -> list[Any]:
    """Return what a person sees of two bills.

    Parameters
    ----------
    result : BillStudy
        Without any system, and with it.

    Returns
    -------
    list
        Text and tables.
    """
    plan = result.home.rate_plan
    tables = [_table(bill, result.currency) for bill in result.bills]
    return [heading(result.home), _period(plan, result.month), *tables, *_sentences(result, plan), CAUTION]


def _period(rate_plan: RatePlan, month: int | None) -> str:
    """Return which days a bill is for."""
    if month is None:
        return "Annual bill"
    name, day = MONTH_NAMES[month - 1], rate_plan.reading_day
    if day is None:
        return f"{name} bill"
    # The day after 28 February is 1 March: the run has no 29 February.
    first = f"1 {name}" if (day, month) == (28, 3) else f"{day + 1} {MONTH_NAMES[month - 2]}"
    return f"{name} bill, {first} to {day} {name}"


def _table(bill: PrintedBill, currency: str) -> Table:
    """Return a bill as its utility would print it; of a year its lines are added up, changing rates as their mean."""
    table = plain_table(bill.name, "Quantity", "Rate", f"Amount\n{currency}")
    groups: dict[tuple[str, str, str], list[BillLine]] = {}
    for line in sorted(bill.lines, key=lambda each: ORDER.index(each.kind)):
        groups.setdefault((line.kind, line.what, line.unit), []).append(line)
    for (_, what, unit), lines in groups.items():
        quantity = sum(line.quantity for line in lines)
        value = sum(line.quantity * line.rate for line in lines)
        rates = {line.rate for line in lines}
        rate = rates.pop() if len(rates) == 1 else value / quantity
        mean = "mean " if rates else ""
        amount = sum(line.amount for line in lines)
        table.add_row(what, _quantity(quantity, unit), mean + _rate(rate, unit, currency), f"{amount:,.2f}")
    table.add_section()
    table.add_row("total", "", "", f"{bill.total:,.2f}")
    return table


def _quantity(quantity: float, unit: str) -> str:
    digits = {"kWh": 1, "kW": 2, "month": 0, "day": 0}.get(unit, 2)
    plural = "s" if unit in ("month", "day") and quantity != 1.0 else ""
    return f"{quantity:,.{digits}f} {unit}{plural}"


def _rate(rate: float, unit: str, currency: str) -> str:
    if unit == currency:
        return "" if abs(rate) == 1.0 else f"{rate:.2%}"
    digits = 2 if unit in ("month", "day", "kW") and abs(rate - round(rate, 2)) < 1e-9 else 5
    return f"{rate + 0.0:,.{digits}f}"


def _sentences(result: BillStudy, rate_plan: RatePlan) -> list[str]:
    """Return what a reader of the two bills must know."""
    before, after = result.bills[0], result.bills[-1]
    change = round(after.total - before.total, 2)
    period = "annual" if result.month is None else MONTH_NAMES[result.month - 1]
    words = "lowers" if change <= 0.0 else "raises"
    sentences = []
    if result.annual_savings is None:
        sentences = [f"{after.name!r} is {not_comparable(after.run.ledger)}."]
    elif len(result.bills) > 1:
        sentences = [
            f"The system with {after.name!r} {words} the {period} bill by {abs(change):,.2f} {result.currency}."
        ]
    if after.fuel_cost:
        sentences.append(
            f"Generator fuel is not on the bill: {after.fuel_cost:,.2f} {result.currency} a year."
            + ("" if result.annual_savings is None else f" Savings with it: {result.annual_savings:,.2f} a year.")
        )
    cost = after.run.outage_cost
    if after.unserved_kwh >= 0.05:
        sentences.append(
            f"Unserved energy is not on the bill: {after.unserved_kwh:,.1f} kWh in {after.unserved_h:,.0f} h of"
            " the year" + (f", an outage cost of {cost:,.2f} {result.currency}." if cost else ".")
        )
    if rate_plan.export.true_up_month is not None:
        month_name = MONTH_NAMES[rate_plan.export.true_up_month - 1]
        sentences.append(
            f"Credits are settled with the {month_name} bill (true-up); a new year of credits begins after it."
        )
    if rate_plan.export.pay == "feed_in":
        sentences.append(
            "Feed-in: the whole inverter output is paid as export, and the whole demand is billed as import."
        )
    return sentences
