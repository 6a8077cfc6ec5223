"""What a design costs and earns with its best strategy, and how far two may be told apart."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf
from typing import Any

import numpy as np
from numpy.typing import NDArray

from solarsim.results import Result, fact

Floats = NDArray[np.float64]
#: What interpolated lives may be off by, and so what is told apart: share of NPV, share of the upfront cost.
_TIE_OF_NPV, _TIE_OF_COST = 0.005, 0.001


@dataclass(frozen=True, eq=False, repr=False)
class Design(Result):
    """One design with its best strategy over the whole life."""

    changes: Mapping[str, Any] = fact("keys that differ from the file, every axis among them", "table")
    strategy: str | None = fact("strategy of the highest NPV; null where none is comparable in money", "text")
    upfront_cost: float = fact("parts and installation, before incentives", "currency")
    energy_cost: float | None = fact("bill and fuel of the first year; null where not comparable", "currency")
    annual_savings: float | None = fact("of the first year; null where not comparable", "currency")
    npv: float | None = fact("net present value; null where not comparable", "currency")
    payback_years: float | None = fact(
        "simple payback over the life, as if paid in full at the purchase; null: never, or not comparable", "years"
    )
    kw_dc: float = fact("rating of all arrays", "kWdc")
    kw_ac: float = fact("rating of the hybrid inverter", "kWac")
    usable_kwh: float = fact("energy of the battery above its low cutoff", "kWh")
    backup_duration_h: float | None = fact(
        "backup duration in the worst month, median of all starts, at most 72; null without an arrangement, or where"
        " the design is on no frontier and is not exact",
        "h",
    )
    exact: bool = fact("true where every year was computed; false where most are interpolated", "true or false")
    cash: Floats | None = None  # of every year, as if paid in full at the purchase; only where exact


def tie_of(design: Design) -> float:
    """Return the difference of NPV below which another design cannot be told apart from one [currency].

    Parameters
    ----------
    design : Design
        With an NPV.

    Returns
    -------
    float
        [currency].
    """
    return tie(design.npv or 0.0, design.upfront_cost)


def tie(npv: float, upfront_cost: float) -> float:
    """Return the difference of NPV that an interpolated life cannot tell.

    Parameters
    ----------
    npv : float
        Net present value [currency].
    upfront_cost : float
        [currency].

    Returns
    -------
    float
        [currency].
    """
    return max(_TIE_OF_NPV * abs(npv), _TIE_OF_COST * upfront_cost)


def npv_of(design: Design) -> float:
    """Return the net present value of a design, minus infinity where it is not comparable [currency].

    Parameters
    ----------
    design : Design
        Any.

    Returns
    -------
    float
        [currency].
    """
    return -inf if design.npv is None else design.npv


def some_of(designs: Sequence[Design], most: int) -> list[Design]:
    """Return at most so many of some designs, evenly apart, the first and the last among them.

    Parameters
    ----------
    designs : sequence of Design
        In an order.
    most : int
        At least 2.

    Returns
    -------
    list of Design
        In the same order.
    """
    if len(designs) <= most:
        return list(designs)
    places = {round(place * (len(designs) - 1) / (most - 1)) for place in range(most)}
    return [designs[place] for place in sorted(places)]
