"""What a bill is made of: lines with quantity, rate and amount to the cent, and their sums."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property
from math import floor
from typing import NamedTuple

from solarsim.scenario.rate_plan.rate_plan import Kind

_CENT = Decimal("0.01")
_NEAR_HALF, _EXACT = 1e-3, 1e6  # cents off a half, and amounts, between which a float is as good as its decimals
NOTHING = Decimal("0.00")


class BillLine(NamedTuple):
    """One line of a bill.

    Attributes
    ----------
    month : int
        1 to 12: the calendar month, or the one in which the meter is read.
    kind : str
        ``energy``, ``rider``, ``customer_charge``, ``demand``, ``export`` (what exports earn or offset),
        ``credit`` (what is kept for later bills, used or settled), ``minimum``, ``tax`` (every
        percentage).
    what : str
        The name that the rate plan gives it, or what it is.
    quantity : float
        [``unit``].
    unit : str
        ``kWh``, ``kW``, ``month``, ``day``, or the currency.
    rate : float
        [currency/``unit``]; negative where it is earned.
    amount : decimal.Decimal
        Quantity x rate, rounded half up to the cent [currency]; negative where it is earned.
    """

    month: int
    kind: Kind
    what: str
    quantity: float
    unit: str
    rate: float
    amount: Decimal


def bill_line(month: int, kind: Kind, what: str, quantity: float, unit: str, rate: float) -> BillLine:
    """Write a line, and round its amount as rate plans do.

    Parameters
    ----------
    month : int
        1 to 12.
    kind : str
        As in ``BillLine``.
    what : str
        What a person reads.
    quantity : float
        [``unit``].
    unit : str
        What the quantity counts.
    rate : float
        [currency/``unit``].

    Returns
    -------
    BillLine
        The line.
    """
    return BillLine(month, kind, what, quantity, unit, rate, to_the_cent(quantity * rate))


def to_the_cent(amount: float) -> Decimal:
    """Round half up, as rate plans do; a ninth decimal off is the computer's and not the customer's."""
    cents = amount * 100.0
    below = floor(cents)
    if abs(cents - below - 0.5) > _NEAR_HALF and abs(amount) < _EXACT:  # no half in sight: four times sooner
        return Decimal(below + 1 if cents - below > 0.5 else below).scaleb(-2)
    return Decimal(repr(round(amount, 9))).quantize(_CENT, ROUND_HALF_UP) + 0


@dataclass(frozen=True)
class Bill:
    """A year of monthly bills.

    Attributes
    ----------
    currency : str
        ISO 4217 code.
    lines : tuple of BillLine
        In the order of months.
    """

    currency: str
    lines: tuple[BillLine, ...]

    def month_total(self, month: int) -> Decimal:
        """Add up the lines of a month (1 to 12) [currency]."""
        return sum((line.amount for line in self.lines if line.month == month), NOTHING)

    @cached_property
    def total(self) -> Decimal:
        """Add up the lines of the year [currency]."""
        return sum((line.amount for line in self.lines), NOTHING)

    def unrounded(self) -> dict[Kind, float]:
        """Add up quantity x rate of the year by kind of line, not rounded [currency]."""
        sums: dict[Kind, float] = {}
        for line in self.lines:
            sums[line.kind] = sums.get(line.kind, 0.0) + line.quantity * line.rate
        return sums
