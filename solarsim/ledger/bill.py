"""The bill: import and export of every step and a tariff in, lines that add up to the cent out."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

import numpy as np
from numpy.typing import NDArray

from solarsim.ledger.prices import Prices
from solarsim.scenario.tariff import Tariff
from solarsim.scenario.timeline import Timeline

_CENT = Decimal("0.01")


@dataclass(frozen=True)
class BillLine:
    """One line of a bill.

    Attributes
    ----------
    month : int
        1 to 12.
    what : str
        The rate's name, ``export`` or ``fixed charge``.
    quantity : float
        [``unit``].
    unit : str
        ``kWh`` or ``month``.
    rate : float
        [currency/``unit``]; negative where it is earned.
    amount : decimal.Decimal
        Quantity x rate, rounded half up to the cent [currency]; negative where it is earned.
    """

    month: int
    what: str
    quantity: float
    unit: str
    rate: float
    amount: Decimal


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
        return sum((line.amount for line in self.lines if line.month == month), Decimal("0.00"))

    @property
    def total(self) -> Decimal:
        """Add up the lines of the year [currency]."""
        return sum((line.amount for line in self.lines), Decimal("0.00"))


def bill_for(
    import_kw: NDArray[np.float64], export_kw: NDArray[np.float64], tariff: Tariff, prices: Prices, timeline: Timeline
) -> Bill:
    """Charge what went through the meter.

    Parameters
    ----------
    import_kw, export_kw : arrays of float
        Of the whole home, mean of each step [kW].
    tariff : Tariff
        Rates, fixed charge, export pay.
    prices : Prices
        The tariff on the timeline.
    timeline : Timeline
        Months are those of the wall clock, as on bills.

    Returns
    -------
    Bill
        A line for the fixed charge, each rate and each export price of every month; lines without
        energy are left out.
    """
    rates = len(tariff.rates)
    slot = (timeline.month - 1) * rates + prices.rate
    import_kwh = np.bincount(slot, import_kw, minlength=12 * rates).reshape(12, rates) * timeline.step_h
    export_kwh = np.bincount(slot, export_kw, minlength=12 * rates).reshape(12, rates) * timeline.step_h
    export_price = np.zeros(rates)
    export_price[prices.rate] = prices.export_price

    lines: list[BillLine] = []
    for month in range(1, 13):
        if tariff.fixed_per_month:
            lines.append(_line(month, "fixed charge", 1.0, "month", tariff.fixed_per_month))
        for each, kwh in zip(tariff.rates, import_kwh[month - 1].tolist(), strict=True):
            if kwh > 0.0:
                lines.append(_line(month, each.name, kwh, "kWh", each.import_price))
        sold = export_kwh[month - 1]
        for price in sorted(set(export_price[sold > 0.0].tolist())):
            kwh = float(sold[export_price == price].sum())
            lines.append(_line(month, "export", kwh, "kWh", 0.0 - price))
    return Bill(currency=tariff.currency, lines=tuple(lines))


def to_the_cent(amount: float) -> Decimal:
    """Round half up, as tariffs do; a ninth decimal off is the computer's and not the customer's."""
    return Decimal(repr(round(amount, 9))).quantize(_CENT, ROUND_HALF_UP) + 0


def _line(month: int, what: str, quantity: float, unit: str, rate: float) -> BillLine:
    return BillLine(month, what, quantity, unit, rate, to_the_cent(quantity * rate))


def energy_cost(import_kw: NDArray[np.float64], export_kw: NDArray[np.float64], prices: Prices, step_h: float) -> float:
    """Add up import less export at the price of each step, not rounded.

    Parameters
    ----------
    import_kw, export_kw : arrays of float
        Mean of each step [kW].
    prices : Prices
        Price of each step [currency/kWh].
    step_h : float
        Length of a step [h].

    Returns
    -------
    float
        [currency].
    """
    return float(np.dot(import_kw, prices.import_price) - np.dot(export_kw, prices.export_price)) * step_h
