"""Payments by year: costs and life in; purchase, incentives, loan, O&M, replacements and salvage out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.ledger.cash_flow import loan_payment
from solarsim.scenario.costs import Costs, Part
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


def payments_from(costs: Costs, life: Lifetime) -> Payments:
    """Return the payments of each year.

    O&M of year y is at the stated price times (1 + growth)^(y - 1). A part is replaced at the end of its last year y,
    at its replacement price times (1 + growth)^y; not at the end of the horizon. A loan is paid off monthly; its
    payments of a year are counted at the year's end.

    Parameters
    ----------
    costs : Costs
        Parts, installation, incentives, loan, O&M.
    life : Lifetime
        Horizon and growth.

    Returns
    -------
    Payments
        Taxes on income, depreciation and deductions are not in them.
    """
    zero = np.zeros(life.years + 1)
    upfront_cost = costs.upfront_cost
    incentives = zero.copy()
    for each in costs.incentives:
        incentives[each.year] += each.paid(upfront_cost)
    loan, repaid = zero.copy(), zero.copy()
    if costs.loan is not None:
        loan[0] = costs.loan.borrowed(upfront_cost)
        monthly = loan_payment(float(loan[0]), costs.loan.rate / _MONTHS, costs.loan.years * _MONTHS)
        repaid[1 : costs.loan.years + 1] = _MONTHS * monthly
    o_and_m = zero.copy()
    o_and_m[1:] = costs.o_and_m_per_year * (1.0 + life.o_and_m_growth_per_year) ** np.arange(life.years)
    storage = costs.battery_parts
    return Payments(
        purchase=-(_purchase(costs.parts, life) + _at_start(costs.installation, life)),
        incentives=incentives,
        loan=loan,
        o_and_m=-o_and_m,
        replacements=-_replacements(costs.parts, life),
        loan_payments=-repaid,
        salvage=_salvage(costs.parts, life),
        storage=_salvage(storage, life) - _purchase(storage, life) - _replacements(storage, life),
    )


def replacement_years(part: Part, years: int) -> range:
    """Return the years at whose end a part is replaced [years].

    Parameters
    ----------
    part : Part
        With or without a life.
    years : int
        The horizon.

    Returns
    -------
    range
        Every multiple of its life before the horizon.
    """
    return range(0) if part.life_years is None else range(part.life_years, years, part.life_years)


def _at_start(amount: float, life: Lifetime) -> Floats:
    """Return an amount in year 0."""
    amounts = np.zeros(life.years + 1)
    amounts[0] = amount
    return amounts


def _purchase(parts: Sequence[Part], life: Lifetime) -> Floats:
    """Return the price of parts in year 0."""
    return _at_start(sum(part.quantity * part.unit_price for part in parts), life)


def _replacements(parts: Sequence[Part], life: Lifetime) -> Floats:
    """Return the price of replaced parts by year."""
    amounts = np.zeros(life.years + 1)
    for part in parts:
        for year in replacement_years(part, life.years):
            amounts[year] += _replacement(part, life, year)
    return amounts


def _replacement(part: Part, life: Lifetime, year: int) -> float:
    """Return the price of replacing a part in a year."""
    return part.quantity * (part.replacement_price or 0.0) * (1.0 + life.replacement_growth_per_year) ** year


def _salvage(parts: Sequence[Part], life: Lifetime) -> Floats:
    """Return the value of parts at the end: the price of each less the share of its life that is over."""
    amounts = np.zeros(life.years + 1)
    for part in parts if life.salvage == "linear" else ():
        if part.life_years is not None:
            last = max(replacement_years(part, life.years), default=0)
            price = _replacement(part, life, last) if last else part.quantity * part.unit_price
            amounts[life.years] += price * (1.0 - (life.years - last) / part.life_years)
    return amounts
