"""Money, defined once: what years cost, what they save, and which of them can be compared.

    energy_cost    = annual_bill + fuel_cost                        (cash)
    outage_cost    = unserved_kwh x outages.value_of_lost_load      (never in a cash flow)
    annual_savings = the baseline's energy_cost - energy_cost

Darkness is never a saving: a run that leaves more than a thousandth of its demand unserved beyond what the
baseline leaves is not comparable in money, unless the user values lost load.
"""

from collections.abc import Iterable, Sequence
from math import fsum
from typing import Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

#: Share of demand that a run may leave unserved beyond another and still be compared with it in money.
TOLERANCE = 0.001


class Cost(Protocol):
    """What a year costs and leaves unserved: a ``Ledger``, or any result that tells the same."""

    @property
    def energy_cost(self) -> float:
        """Bill and generator fuel [currency]."""

    @property
    def outage_cost(self) -> float | None:
        """Unserved energy at the user's value of lost load; None without one [currency]."""

    @property
    def unserved_kwh(self) -> float:
        """Unserved demand [kWh]."""

    @property
    def demand_kwh(self) -> float:
        """Load and standby [kWh]."""


C = TypeVar("C", bound=Cost)


def total_cost(cost: Cost) -> float:
    """Return energy and outage cost: what runs are ranked by [currency]."""
    return cost.energy_cost + (cost.outage_cost or 0.0)


def serves_as_much(cost: Cost, unserved_kwh: float) -> bool:
    """Return whether a run leaves no more unserved than this [kWh] and a thousandth of its demand."""
    return cost.unserved_kwh <= unserved_kwh + TOLERANCE * cost.demand_kwh


def annual_savings(cost: Cost, baseline: Cost) -> float | None:
    """Return the baseline's energy cost less that of a run; None where they are not comparable [currency]."""
    if cost.outage_cost is None and not serves_as_much(cost, baseline.unserved_kwh):
        return None
    return baseline.energy_cost - cost.energy_cost


def yearly_savings(costs: Sequence[Cost], baselines: Sequence[Cost]) -> list[float] | None:
    """Return the savings of each of several years; None where over all of them they are not comparable."""
    beyond_kwh = fsum(cost.unserved_kwh - TOLERANCE * cost.demand_kwh for cost in costs)
    valued = all(cost.outage_cost is not None for cost in costs)
    if not valued and beyond_kwh > fsum(each.unserved_kwh for each in baselines):
        return None
    return [baseline.energy_cost - cost.energy_cost for cost, baseline in zip(costs, baselines, strict=True)]


def value_notes(value_of_lost_load: float | None, import_price: NDArray[np.float64], currency: str) -> list[str]:
    """Return a warning where an unserved kWh counts less than an imported one: darkness then ranks better.

    Parameters
    ----------
    value_of_lost_load : float or None
        Value of an unserved kWh to the user [currency/kWh]; None where it is not stated.
    import_price : array of float
        Listed price in each step [currency/kWh].
    currency : str
        ISO 4217 code.

    Returns
    -------
    list of str
        One note, or none.
    """
    if value_of_lost_load is None or value_of_lost_load >= float(import_price.max()):
        return []
    below, most = float((import_price > value_of_lost_load).mean()), float(import_price.max())
    return [
        f"outages.value_of_lost_load {value_of_lost_load:g} {currency}/kWh is below the import price in {below:.0%} of"
        f" the year (up to {most:g}): in these hours a run that leaves demand unserved ranks better than one that"
        " serves it"
    ]


def not_comparable(cost: Cost) -> str:
    """Return the words shown in place of savings."""
    return f"not comparable: {cost.unserved_kwh:,.0f} kWh unserved"


def lowest(costs: Iterable[C], within: float = 0.0) -> tuple[C, ...]:
    """Return the runs of the lowest cost: the first, and all that cost less than this more, in the order given.

    With a value of lost load the cost is that of energy and outages. Without one, only runs within the
    tolerance of the least unserved count.
    """
    found = list(costs)
    least_kwh = min(cost.unserved_kwh for cost in found)
    ranked = [cost for cost in found if cost.outage_cost is not None or serves_as_much(cost, least_kwh)]
    first = min(ranked, key=total_cost)
    return tuple(cost for cost in ranked if cost is first or total_cost(cost) < total_cost(first) + within)
