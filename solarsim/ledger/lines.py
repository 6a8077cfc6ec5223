"""What a bill is made of: charges of twelve bills at a time, to the cent; their lines are written when asked for."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from solarsim.results import Result, fact
from solarsim.scenario.rate_plan.rate_plan import Kind

Floats = NDArray[np.float64]
Cents = NDArray[np.int64]
_CENT = Decimal("0.01")
_NEAR_HALF, _EXACT = 0.499, 1e6  # parts of a cent, and amounts, from which a float needs its decimals


@dataclass(frozen=True, repr=False)
class BillLine(Result):
    """One line of a bill.

    Examples
    --------
    >>> from solarsim import read_scenario, without_system
    >>> without_system(read_scenario()).ledger.bill.lines[0].what
    'customer charge'
    """

    month: int = fact("1 to 12: the calendar month, or that in which the meter is read", "1")
    kind: Kind = fact(
        "energy, rider, customer_charge, demand, export (what it earns or offsets), credit (kept, used, settled),"
        " minimum, tax (every percentage)",
        "text",
    )
    what: str = fact("the name in the rate plan, or what it is", "text")
    quantity: float = fact("how much of it", "as unit says")
    unit: str = fact("kWh, kW, month, day, or the currency for a share of an amount", "text")
    rate: float = fact("price of one unit; negative where it is earned", "currency/unit")
    amount: Decimal = fact("quantity x rate to the cent, half up; negative where it is earned", "currency")


class Charges(NamedTuple):
    """The lines of one kind: one row for each name, one column for each of twelve bills; no line of quantity 0.

    Attributes
    ----------
    kind, names, unit
        As in ``BillLine``.
    quantity : array of float
        As in ``BillLine``.
    rate : array of float
        As in ``BillLine``; one for all, one for each name as a column, or one for each line.
    cents : array of int
        The amounts [currency/100].
    """

    kind: Kind
    names: tuple[str, ...]
    unit: str
    quantity: Floats
    rate: Floats
    cents: Cents

    def lines(self, place: int) -> Iterator[BillLine]:
        """Yield the lines of a bill, 0 to 11."""
        rates = np.broadcast_to(self.rate, self.quantity.shape)
        columns = (each[:, place].tolist() for each in (self.quantity, rates, self.cents))
        for name, quantity, rate, cents in zip(self.names, *columns, strict=True):
            if quantity > 0.0:
                yield BillLine(place + 1, self.kind, name, quantity, self.unit, rate, Decimal(cents).scaleb(-2))


def charges_of(kind: Kind, names: Iterable[str], unit: str, quantity: ArrayLike, rate: ArrayLike) -> Charges:
    """Build charges and round their amounts; one row may be given as such, and a rate for all bills as a column."""
    quantities = np.asarray(quantity, np.float64).reshape(-1, 12)
    rates = np.asarray(rate, np.float64)
    return Charges(kind, tuple(names), unit, quantities, rates, cents_of(quantities * rates))


def cents_of(amounts: Floats) -> Cents:
    """Return amounts in cents, rounded half up as rate plans do."""
    scaled = amounts * 100.0
    whole = np.rint(scaled)
    off = np.abs(scaled - whole)
    if off.max(initial=0.0) > _NEAR_HALF or np.abs(whole).max(initial=0.0) > _EXACT * 100.0:
        unsure = (off > _NEAR_HALF) | (np.abs(amounts) > _EXACT)
        whole[unsure] = [float(to_the_cent(amount) * 100) for amount in amounts[unsure].tolist()]
    return whole.astype(np.int64)


def to_the_cent(amount: float) -> Decimal:
    """Return an amount rounded half up; what a float is off in its ninth decimal is not the customer's."""
    return Decimal(repr(round(amount, 9))).quantize(_CENT, ROUND_HALF_UP) + 0


def cents_by_bill(charges: Iterable[Charges]) -> Cents:
    """Return the sum of charges for each of twelve bills [currency/100]."""
    return sum((each.cents.sum(axis=0) for each in charges), np.zeros(12, np.int64))


@dataclass(frozen=True, eq=False, repr=False)
class Bill:
    """A year of monthly bills; total and lines are of the same amounts.

    Attributes
    ----------
    currency : str
        ISO 4217 code.
    charges : tuple of Charges
        In the order of each bill.

    Examples
    --------
    >>> from solarsim import read_scenario, without_system
    >>> bill = without_system(read_scenario()).ledger.bill
    >>> bill.total == sum(line.amount for line in bill.lines)
    True
    """

    currency: str
    charges: tuple[Charges, ...]

    def __repr__(self) -> str:
        return f"Bill({len(self.lines)} lines, total {self.total} {self.currency})"

    @cached_property
    def _cents(self) -> Cents:
        return cents_by_bill(self.charges)

    @cached_property
    def lines(self) -> tuple[BillLine, ...]:
        """The lines of the year, by month."""
        return tuple(line for place in range(12) for each in self.charges for line in each.lines(place))

    @property
    def total(self) -> Decimal:
        """Sum of the year's lines [currency]."""
        return Decimal(sum(int(each.cents.sum()) for each in self.charges)).scaleb(-2)

    def month_total(self, month: int) -> Decimal:
        """Return the sum of the lines of a month (1 to 12) [currency]."""
        return Decimal(int(self._cents[month - 1])).scaleb(-2)
