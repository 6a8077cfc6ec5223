"""Payments by year: purchase, costs and life in; purchase, incentives, loan, O&M, replacements and salvage out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.ledger.cash_flow import loan_payment
from solarsim.ledger.purchase import Purchase, PurchaseLine
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime

Floats = NDArray[np.float64]
_MONTHS = 12


@dataclass(frozen=True, eq=False)
class Payments:
    """All money but the savings, one entry for each year from year 0; money received is positive.

    Attributes
    ----------
    purchase : array of float
        Parts and installation [currency].
    incentives, loan : arrays of float
        Received from others [currency].
    o_and_m, replacements, loan_payments : arrays of float
        Paid [currency].
    salvage : array of float
        Value of the parts at the end of the last year [currency].
    storage : array of float
        The battery's part of purchase, replacements and salvage [currency].
    """

    purchase: Floats
    incentives: Floats
    loan: Floats
    o_and_m: Floats
    replacements: Floats
    loan_payments: Floats
    salvage: Floats
    storage: Floats

    @property
    def total(self) -> Floats:
        """Sum of all but the battery's part, which is in them already [currency]."""
        return np.asarray(self.without_loan + self.loan + self.loan_payments, np.float64)

    @property
    def without_loan(self) -> Floats:
        """Sum of what the system itself costs, whoever lends the money [currency]."""
        return np.asarray(self.purchase + self.incentives + self.o_and_m + self.replacements + self.salvage, np.float64)


def payments_from(purchase: Purchase, costs: Costs, life: Lifetime) -> Payments:
    """Return the payments of each year.

    O&M of year y is at the stated price times (1 + growth)^(y - 1). A part is replaced at the end of its last year y,
    at its replacement price times (1 + growth)^y; not at the end of the horizon. A loan is paid off monthly; its
    payments of a year are counted at the year's end.

    Parameters
    ----------
    purchase : Purchase
        What is bought.
    costs : Costs
        Incentives, loan, O&M.
    life : Lifetime
        Horizon and growth.

    Returns
    -------
    Payments
        Taxes on income, depreciation and deductions are not in them.
    """
    zero = np.zeros(life.years + 1)
    upfront_cost = purchase.upfront_cost
    incentives = zero.copy()
    for each in costs.incentives:
        incentives[each.year] += each.paid(upfront_cost)
    loan, repaid = zero.copy(), zero.copy()
    if costs.loan is not None:
        loan[0] = costs.loan.borrowed(upfront_cost)
        monthly = loan_payment(costs.loan.debt(upfront_cost), costs.loan.rate / _MONTHS, costs.loan.years * _MONTHS)
        repaid[1 : costs.loan.years + 1] = _MONTHS * monthly
    o_and_m = zero.copy()
    o_and_m[1:] = costs.o_and_m_per_year * (1.0 + life.o_and_m_growth_per_year) ** np.arange(life.years)
    storage = purchase.battery_parts
    return Payments(
        purchase=-_price(purchase.lines, life),
        incentives=incentives,
        loan=loan,
        o_and_m=-o_and_m,
        replacements=-_replacements(purchase.lines, life),
        loan_payments=-repaid,
        salvage=_salvage(purchase.lines, life),
        storage=_salvage(storage, life) - _price(storage, life) - _replacements(storage, life),
    )


def replacement_years(part: PurchaseLine, years: int) -> range:
    """Return the years at whose end a part is replaced [years].

    Parameters
    ----------
    part : PurchaseLine
        With or without a life.
    years : int
        The horizon.

    Returns
    -------
    range
        Every multiple of its life before the horizon.
    """
    return range(0) if part.life_years is None else range(part.life_years, years, part.life_years)


def _price(lines: Sequence[PurchaseLine], life: Lifetime) -> Floats:
    """Return the price of what is bought in year 0."""
    amounts = np.zeros(life.years + 1)
    amounts[0] = float(sum(line.amount for line in lines))
    return amounts


def _replacements(parts: Sequence[PurchaseLine], life: Lifetime) -> Floats:
    """Return the price of replaced parts by year."""
    amounts = np.zeros(life.years + 1)
    for part in parts:
        for year in replacement_years(part, life.years):
            amounts[year] += _replacement(part, life, year)
    return amounts


def _replacement(part: PurchaseLine, life: Lifetime, year: int) -> float:
    """Return the price of replacing a part in a year, units already there included."""
    return part.quantity * (part.replacement_price or 0.0) * (1.0 + life.replacement_growth_per_year) ** year


def _salvage(parts: Sequence[PurchaseLine], life: Lifetime) -> Floats:
    """Return the value of parts at the end: the price of each less the share of its life that is over."""
    amounts = np.zeros(life.years + 1)
    for part in parts if life.salvage == "linear" else ():
        if part.life_years is not None:
            last = max(replacement_years(part, life.years), default=0)
            price = _replacement(part, life, last) if last else float(part.amount)
            amounts[life.years] += price * (1.0 - (life.years - last) / part.life_years)
    return amounts
