"""Payments by year: purchase, costs and life in; everything that is paid and received but the savings out."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.ledger.cash_flow import loan_payment
from solarsim.ledger.purchase import Purchase, PurchaseLine
from solarsim.scenario.costs import Costs
from solarsim.scenario.financing import Lease, PowerPurchase
from solarsim.scenario.life import Lifetime

Floats = NDArray[np.float64]
_MONTHS = 12


class Later(NamedTuple):
    """What is bought for a change in a later year.

    Attributes
    ----------
    from_year : int
        First year in which it is there; it is paid at the end of the year before.
    purchase : Purchase
        What the home needs from then on.
    cost : float
        At first-year prices [currency].
    storage : float
        Of it what is known to be the battery's [currency].
    """

    from_year: int
    purchase: Purchase
    cost: float
    storage: float


@dataclass(frozen=True, eq=False)
class Payments:
    """All money but the savings, one entry for each year from year 0; money received is positive.

    Attributes
    ----------
    purchase : array of float
        Parts and installation [currency].
    changes : array of float
        Paid for dated changes [currency].
    incentives, loan : arrays of float
        Received from others [currency].
    o_and_m, replacements, loan_payments : arrays of float
        Paid [currency].
    contract : array of float
        Paid under a lease, or once under a power purchase agreement; buyout included [currency].
    salvage : array of float
        Value of the parts at the end of the last year [currency].
    storage : array of float
        The battery's part of purchase, changes, replacements and salvage; 0 where its owner is another [currency].
    solar_price : array of float
        Of a power purchase agreement, paid for each kWh of solar energy; 0 without one [currency/kWh].
    under_contract : bool
        Whether it is a lease or a power purchase agreement: nothing is purchased that could pay back.
    """

    purchase: Floats
    changes: Floats
    incentives: Floats
    loan: Floats
    o_and_m: Floats
    replacements: Floats
    loan_payments: Floats
    contract: Floats
    salvage: Floats
    storage: Floats
    solar_price: Floats
    under_contract: bool

    @property
    def total(self) -> Floats:
        """Sum of all but the battery's part, which is in them already, and of what depends on energy [currency]."""
        return np.asarray(self.without_loan + self.loan + self.loan_payments, np.float64)

    @property
    def without_loan(self) -> Floats:
        """Sum of what the system itself costs, whoever lends the money [currency]."""
        own = self.purchase + self.changes + self.incentives + self.o_and_m + self.replacements + self.salvage
        return np.asarray(own + self.contract, np.float64)


def payments_from(purchase: Purchase, costs: Costs, life: Lifetime, later: Sequence[Later] = ()) -> Payments:
    """Return the payments of each year.

    O&M of year y is at the stated price times (1 + growth)^(y - 1). A part is replaced at the end of its last year y,
    at its replacement price times (1 + growth)^y; not at the end of the horizon. A loan and a lease are paid monthly;
    the payments of a year are counted at the year's end.

    Parameters
    ----------
    purchase : Purchase
        What is bought.
    costs : Costs
        Incentives, loan, lease or power purchase agreement, O&M.
    life : Lifetime
        Horizon and growth.
    later : sequence of Later
        What dated changes add.

    Returns
    -------
    Payments
        Taxes on income, depreciation and deductions are not in them. Under a lease or a power purchase agreement the
        system itself is not paid; O&M and replaced parts are from its owner where the contract says so.
    """
    years = life.years
    contract, upfront_cost = costs.contract, purchase.upfront_cost
    incentives, loan, repaid, changes, storage_changes = (np.zeros(years + 1) for _ in range(5))
    for each in costs.incentives:
        incentives[each.year] += each.paid(upfront_cost)
    if costs.loan is not None:
        loan[0] = costs.loan.borrowed(upfront_cost)
        monthly = loan_payment(costs.loan.debt(upfront_cost), costs.loan.rate / _MONTHS, costs.loan.years * _MONTHS)
        repaid[1 : costs.loan.years + 1] = _MONTHS * monthly
    for change in later:
        grown = (1.0 + life.replacement_growth_per_year) ** (change.from_year - 1)
        changes[change.from_year - 1] += change.cost * grown
        storage_changes[change.from_year - 1] += change.storage * grown
    o_and_m = np.zeros(years + 1)
    o_and_m[1:] = costs.o_and_m_per_year * (1.0 + life.o_and_m_growth_per_year) ** np.arange(years)
    everything = list(_owned_parts(purchase, later, battery_only=False))
    storage = list(_owned_parts(purchase, later, battery_only=True))
    owned = _years_of_upkeep(contract, years)
    bought, sold = (1.0, 1.0) if contract is None else (0.0, float(_keeps_system(contract, years)))
    return Payments(
        purchase=-bought * _at_start(upfront_cost, years),
        changes=-changes,
        incentives=incentives,
        loan=loan,
        o_and_m=-o_and_m * owned,
        replacements=-_replacements(everything, life) * owned,
        loan_payments=-repaid,
        contract=-_contract_payments(contract, years),
        salvage=_salvage(everything, life) * sold,
        storage=bought
        * (
            _salvage(storage, life)
            - _at_start(float(sum(line.amount for line in purchase.battery_parts)), years)
            - storage_changes
            - _replacements(storage, life)
        ),
        solar_price=_solar_price(contract, years),
        under_contract=contract is not None,
    )


def replacements_of(purchase: Purchase, later: Sequence[Later], years: int) -> dict[str, tuple[int, ...]]:
    """Return the years at whose end each part is replaced.

    Parameters
    ----------
    purchase : Purchase
        What is bought.
    later : sequence of Later
        What dated changes add; a part that one of them leaves out is replaced no more.
    years : int
        The horizon.

    Returns
    -------
    dict of str to tuple of int
        By name of the part; those that are never replaced are left out.
    """
    found: dict[str, set[int]] = {}
    for each in _owned_parts(purchase, later, battery_only=False):
        found.setdefault(each.part.name, set()).update(each.replaced(years))
    return {name: tuple(sorted(when)) for name, when in found.items() if when}


def replacement_years(part: PurchaseLine, years: int, bought: int = 0) -> range:
    """Return the years at whose end a part is replaced [years].

    Parameters
    ----------
    part : PurchaseLine
        With or without a life.
    years : int
        The horizon.
    bought : int
        Year at whose end it was bought.

    Returns
    -------
    range
        Every multiple of its life after that and before the horizon.
    """
    return range(0) if part.life_years is None else range(bought + part.life_years, years, part.life_years)


def escalated(amount: float, escalator: float, payments: int, years: int) -> NDArray[np.float64]:
    """Return an amount that grows each year, one entry for each year from year 0.

    Parameters
    ----------
    amount : float
        In the first year.
    escalator : float
        Growth a year.
    payments : int
        Years in which it is paid.
    years : int
        The horizon.

    Returns
    -------
    array of float
        0 in year 0 and after the last payment.
    """
    amounts = np.zeros(years + 1)
    amounts[1 : payments + 1] = amount * (1.0 + escalator) ** np.arange(payments)
    return amounts


class _Owned(NamedTuple):
    """A part in one stage: bought at the end of a year, needed from the end of another until that of a third.

    ``kept`` is how many of them the next stage needs: what it leaves out is not replaced as it begins.
    """

    part: PurchaseLine
    bought: int
    start: int
    until: int
    kept: float

    def replaced(self, years: int) -> dict[int, float]:
        """Return how many are replaced at the end of each year of the stage in which any are."""
        every = replacement_years(self.part, years, self.bought)
        inside = {year: self.part.quantity if year < self.until else self.kept for year in every}
        return {year: number for year, number in inside.items() if self.start < year <= self.until and number}


def _owned_parts(purchase: Purchase, later: Sequence[Later], battery_only: bool) -> Iterator[_Owned]:
    """Yield the parts of each stage; a part keeps its age from one stage to the next, whatever its quantity."""
    # Of changes in one year the last decides.
    stages = list({0: purchase, **{change.from_year - 1: change.purchase for change in later}}.items())
    lines = [stage.battery_parts if battery_only else stage.lines for _, stage in stages]
    bought: dict[str, int] = {}
    ends = [start for start, _ in stages[1:]]
    for (start, _), end, parts, following in zip(stages, [*ends, 10**6], lines, [*lines[1:], ()], strict=True):
        there, needed = _quantities(parts), _quantities(following)
        bought = {part.name: bought.get(part.name, start) for part in parts}
        for part in parts:
            kept = part.quantity * min(1.0, needed[part.kind, part.name] / there[part.kind, part.name])
            yield _Owned(part, bought[part.name], start, end, kept)


def _quantities(parts: Sequence[PurchaseLine]) -> dict[tuple[str, str], float]:
    """Return how many of each kind and name are needed; lines of one name add up."""
    found: defaultdict[tuple[str, str], float] = defaultdict(float)
    for part in parts:
        found[part.kind, part.name] += part.quantity
    return found


def _at_start(amount: float, years: int) -> Floats:
    """Return an amount in year 0."""
    amounts = np.zeros(years + 1)
    amounts[0] = amount
    return amounts


def _replacements(owned: Sequence[_Owned], life: Lifetime) -> Floats:
    """Return the price of replaced parts by year."""
    amounts = np.zeros(life.years + 1)
    for each in owned:
        for year, number in each.replaced(life.years).items():
            amounts[year] += _replacement(each.part, number, life, year)
    return amounts


def _replacement(part: PurchaseLine, number: float, life: Lifetime, year: int) -> float:
    """Return the price of replacing some of a part in a year, units already there included."""
    return number * (part.replacement_price or 0.0) * (1.0 + life.replacement_growth_per_year) ** year


def _salvage(owned: Sequence[_Owned], life: Lifetime) -> Floats:
    """Return the value of parts at the end: the price of each less the share of its life that is over."""
    amounts = np.zeros(life.years + 1)
    for part, bought, _, until, _ in owned if life.salvage == "linear" else ():
        if part.life_years is not None and until > life.years:
            last = max(replacement_years(part, life.years, bought), default=bought)
            price = _replacement(part, part.quantity, life, last) if last > bought else float(part.amount)
            amounts[life.years] += price * (1.0 - (life.years - last) / part.life_years)
    return amounts


def _keeps_system(contract: Lease | PowerPurchase, years: int) -> bool:
    """Return whether a leased system becomes the home's within the horizon."""
    if contract.buyout is not None:
        return contract.buyout.year <= years
    return contract.at_end == "transferred" and contract.years <= years


def _years_of_upkeep(contract: Lease | PowerPurchase | None, years: int) -> Floats:
    """Return 1 for each year in which the home pays O&M and replaced parts, else 0."""
    pays = np.ones(years + 1)
    if contract is not None:
        if contract.maintained:
            pays[: contract.years_of_payment(years) + 1] = 0.0
        pays[contract.years_with_system(years) + 1 :] = 0.0
    return pays


def _contract_payments(contract: Lease | PowerPurchase | None, years: int) -> Floats:
    """Return what is paid under a contract by year, but for the price of energy."""
    amounts = np.zeros(years + 1)
    if contract is None:
        return amounts
    if isinstance(contract, Lease):
        yearly = _MONTHS * contract.monthly_payment
        amounts += escalated(yearly, contract.escalator_per_year, contract.years_of_payment(years), years)
    amounts[0] += contract.upfront_payment
    if contract.buyout is not None and contract.buyout.year <= years:
        amounts[contract.buyout.year] += contract.buyout.price
    return amounts


def _solar_price(contract: Lease | PowerPurchase | None, years: int) -> Floats:
    """Return the price of a kWh of solar energy by year."""
    if not isinstance(contract, PowerPurchase):
        return np.zeros(years + 1)
    return escalated(contract.price_per_kwh, contract.escalator_per_year, contract.years_of_payment(years), years)
