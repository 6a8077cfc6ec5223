"""Money for a person: the cells and sentences that savings, plans, life and risk share."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from solarsim.home import Home
from solarsim.ledger.cash_flow import loan_payment, loan_rate
from solarsim.ledger.money import Cost, not_comparable
from solarsim.ledger.purchase import Purchase
from solarsim.scenario.costs import Costs
from solarsim.scenario.financing import Lease
from solarsim.scenario.life import Lifetime
from solarsim.views.tables import whole

if TYPE_CHECKING:
    from solarsim.studies.life.life import Life
    from solarsim.studies.risk.risk import Risk

CONVENTIONS = (
    "In year y, load, energy prices, other charges and O&M have grown by (1 + rate)^(y - 1), prices of replaced parts"
    " by (1 + rate)^y. Amounts are booked at the end of their year; loans and leases are paid"
    " monthly."
)
NOT_INCLUDED = "Not included: income tax, deductions, depreciation, any increase in the value of the house."
_NOTICED_KWH = 0.05
_AT_END = {
    "removed": "removed, and the home has none",
    "renewed": "kept, and the payments continue and keep growing",
    "transferred": "yours at no cost",
}


def percent(share: float) -> str:
    """Return a share as percent, with the digits it needs, at most two."""
    return f"{round(100 * share, 2) + 0:g}%"


def amount(value: float | None) -> str:
    """Return money in whole units; a dash where it is not known."""
    return "-" if value is None else whole(value)


def years_or_never(years: float | None) -> str:
    """Return a payback [years]."""
    return "never" if years is None else f"{years:.1f}"


def has_unserved(costs: Iterable[Cost]) -> bool:
    """Return whether any of some years leaves unserved demand that a table would show."""
    return any(each.unserved_kwh >= _NOTICED_KWH for each in costs)


def not_comparable_notes(costs: Iterable[tuple[str, Cost, object]]) -> list[str]:
    """Return a sentence for each name and cost whose savings, the third, are not known."""
    return [f"{name!r} is {not_comparable(cost)}." for name, cost, savings in costs if savings is None]


def outage_cost_notes(
    years: Iterable[tuple[str, float | None, float | None, float | None]], currency: str
) -> list[str]:
    """Return what outages cost in a year: of each name its own cost, that of no system, and the savings."""
    found = [(repr(name), own, before or 0.0, saved) for name, own, before, saved in years if own and round(own)]
    if not found:
        return []
    costs = {"no system": found[0][2], **{name: own for name, own, *_ in found}}
    told = ", ".join(f"{name} {whole(cost)}" for name, cost in costs.items())
    more = [name for name, own, before, saved in found if saved is not None and own - before > saved]
    return [
        f"Outage cost, {currency} a year at the value of lost load (no cash, in no savings or payback): {told}.",
        *([f"Outage cost included, these cost more than no system: {', '.join(more)}."] if more else []),
    ]


def assumption_notes(result: "Life | Risk") -> list[str]:
    """Return what a life or its risk assumes, conventions included."""
    settings = result.settings
    inflation = "inflation included" if settings.money == "nominal" else "on top of inflation"
    prices = settings.price_growth
    wear = f"panels lose {percent(settings.panel_degradation_per_year)}"
    if settings.battery_fade_per_year is not None:
        wear += f" and the battery {percent(settings.battery_fade_per_year)}"
    grown = {
        "load": settings.load_growth_per_year,
        "energy prices": prices.energy,
        "customer charges": prices.customer_charge,
        "demand charges": prices.demand,
        "export prices": prices.export,
        "O&M": settings.o_and_m_growth_per_year,
        "replaced parts": settings.replacement_growth_per_year,
    }
    growth = ", ".join(f"{name} {percent(rate)}" for name, rate in grown.items())
    replaced = [f"{name} in year {' and '.join(map(str, years))}" for name, years in result.replacements.items()]
    none = "none"
    if not any(line.life_years for line in result.purchase.lines):
        none = f"none, because no part has life_years: everything is used for {settings.years} years"
    notes = [
        f"Assumed: {settings.years} years, {settings.money} rates ({inflation}), discount rate"
        f" {percent(settings.discount_rate)}; each year {wear}; growth per year: {growth}.",
        CONVENTIONS,
        f"Replacements: {', '.join(replaced) or none}. {_salvage(settings)}",
    ]
    return [*notes, *financing_notes(result.costs, result.purchase, settings.years)]


def financing_notes(costs: Costs, purchase: Purchase, years: int) -> list[str]:
    """Return how the system is paid, where it is not in cash."""
    loan, contract = costs.loan, costs.contract
    if loan is not None:
        received, debt = loan.borrowed(purchase.upfront_cost), loan.debt(purchase.upfront_cost)
        words = f"Loan: {whole(received)} at {percent(loan.rate)} for {loan.years} years, paid monthly."
        if loan.dealer_fee and received:
            payment = loan_payment(debt, loan.rate / 12, 12 * loan.years)
            rate = 12 * loan_rate(received, payment, 12 * loan.years)
            words += (
                f" With the dealer fee of {percent(loan.dealer_fee)}, {whole(debt)} is owed; with the fee,"
                f" the rate is {percent(rate)}."
            )
        return [words]
    if contract is None:
        return []
    if isinstance(contract, Lease):
        words = f"Lease of {contract.years} years: {contract.monthly_payment:,.2f} a month"
    else:
        words = f"Power purchase agreement of {contract.years} years: {contract.price_per_kwh:.4g} for each solar kWh"
    words += f" in year 1, growing {percent(contract.escalator_per_year)} a year"
    words += f", {whole(contract.upfront_payment)} at the start" if contract.upfront_payment else ""
    payer = "the system's owner" if contract.maintained else "you"
    words += f". O&M and replaced parts during the term are paid by {payer}."
    if contract.buyout is not None:
        words += f" You buy it for {whole(contract.buyout.price)} at the end of year {contract.buyout.year}."
    elif contract.years < years and contract.at_end is not None:
        words += f" After the term the system is {_AT_END[contract.at_end]}."
    return [f"{words} The system's owner, not you, pays for the parts list."]


def aging_notes(home: Home, costs: Costs, strategy: str, cells_left: tuple[float, ...] | None) -> list[str]:
    """Return what the model of aging leaves of the battery; nothing where the scenario states a rate."""
    battery = home.scenario.battery
    if cells_left is None or battery is None:
        return []
    last = min(costs.life_of("cells") or len(cells_left), len(cells_left)) - 1
    words = "Battery capacity follows the aging model of its chemistry (solarsim wear), for each strategy: with"
    words += f" {strategy!r}, {cells_left[last]:.0%} of the original capacity is left in year {last + 1}"
    worn = next((age for age, left in enumerate(cells_left[: last + 1]) if left <= battery.end_of_life), None)
    if worn is not None:
        words += f"; end of life ({battery.end_of_life:.0%}) comes after {worn} years, but it stays in use"
    return [f"{words}."]


def _salvage(settings: Lifetime) -> str:
    """Return the salvage value of the parts, as a sentence."""
    if settings.salvage == "none":
        return "No salvage value at the end."
    return "Salvage value at the end: the share of each part's life that is left."
