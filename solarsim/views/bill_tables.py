"""Bills for a person at a terminal: lines in, rich tables and sentences out."""

from rich.table import Table

from solarsim.ledger.lines import Bill, BillLine
from solarsim.run import Run
from solarsim.scenario.rate_plan.rate_plan import Kind, RatePlan
from solarsim.views.tables import plain_table

MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
_ORDER: tuple[Kind, ...] = ("customer_charge", "energy", "rider", "demand", "export", "credit", "minimum", "tax")


def period_words(rate_plan: RatePlan, month: int | None) -> str:
    """Say which days a bill is for.

    Parameters
    ----------
    rate_plan : RatePlan
        By calendar months or by the day of the meter's reading.
    month : int or None
        1 to 12; None for the year.

    Returns
    -------
    str
        A heading.
    """
    if month is None:
        return "Bill of the year"
    name, day = MONTH_NAMES[month - 1], rate_plan.reading_day
    if day is None:
        return f"Bill of {name}"
    # The day after 28 February is 1 March: the run has no 29 February.
    first = f"1 {name}" if (day, month) == (28, 3) else f"{day + 1} {MONTH_NAMES[month - 2]}"
    return f"Bill of {name}, {first} to {day} {name}"


def bill_table(bill: Bill, name: str, month: int | None) -> Table:
    """Show a bill as its utility would print it.

    Parameters
    ----------
    bill : Bill
        A year.
    name : str
        Whose it is.
    month : int or None
        1 to 12; None adds the year's lines up, and shows a rate that changes as its mean.

    Returns
    -------
    rich.table.Table
        Amounts to the cent; at most 80 columns wide.
    """
    table = plain_table(name, "Quantity", "Rate", f"Amount\n{bill.currency}")
    groups: dict[tuple[str, str, str], list[BillLine]] = {}
    for line in sorted(bill.lines, key=lambda each: _ORDER.index(each.kind)):
        if month in (None, line.month):
            groups.setdefault((line.kind, line.what, line.unit), []).append(line)
    for (_, what, unit), lines in groups.items():
        quantity = sum(line.quantity for line in lines)
        value = sum(line.quantity * line.rate for line in lines)
        rates = {line.rate for line in lines}
        rate = rates.pop() if len(rates) == 1 else value / quantity
        mean = "mean " if rates else ""
        amount = sum(line.amount for line in lines)
        table.add_row(what, _quantity(quantity, unit), mean + _rate(rate, unit, bill.currency), f"{amount:,.2f}")
    table.add_section()
    table.add_row("total", "", "", f"{bill.total if month is None else bill.month_total(month):,.2f}")
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


def bill_notes(rate_plan: RatePlan, without: Run, run: Run, month: int | None) -> list[str]:
    """Say what a reader of the two bills must know.

    Parameters
    ----------
    rate_plan : RatePlan
        The rate plan.
    without, run : Run
        The home without any system, and with it.
    month : int or None
        1 to 12; None for the year.

    Returns
    -------
    list of str
        Sentences.
    """
    before, after = (
        each.ledger.bill.total if month is None else each.ledger.bill.month_total(month) for each in (without, run)
    )
    words = "lowers" if after <= before else "raises"
    period = "the year's bill" if month is None else f"the bill of {MONTH_NAMES[month - 1]}"
    notes = [f"The system with {run.strategy!r} {words} {period} by {abs(before - after):,.2f} {rate_plan.currency}."]
    if rate_plan.export.true_up_month is not None:
        month_name = MONTH_NAMES[rate_plan.export.true_up_month - 1]
        notes.append(f"What is kept is settled with the bill of {month_name}; the year of credits begins after it.")
    if rate_plan.export.pay == "feed_in":
        notes.append("Feed-in: all that the inverter puts out is sold, all that the home uses is bought.")
    return notes
