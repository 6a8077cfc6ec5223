"""Small years with bills: a few hours, or one day of each month, of a lossless home."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from solarsim.clock.timeline import Timeline
from solarsim.engine.records import Dispatch, Inputs, Limits
from solarsim.ledger.prices import Prices, prices_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.studies.optimum._program import least_cost
from tests.builders import inputs_of, limits, orders
from tests.draws import cut
from tests.rate_plan_draws import WHERE

Floats = NDArray[np.float64]
#: The 15th of each month, of which no two clock changes are one.
DAYS = np.concatenate([np.flatnonzero((WHERE.month == month) & (WHERE.day_of_month == 15)) for month in range(1, 13)])
YEAR: Timeline = cut(WHERE, DAYS)


def plan(**changes: Any) -> RatePlan:
    """Give a plan of 0.20 a kWh and no export pay, with keys replaced."""
    return RatePlan.model_validate(
        {
            "name": "small",
            "currency": "USD",
            "customer_charge_per_month": 0.0,
            "rates": ({"name": "all", "import_price": 0.2},),
            "export": {"pay": "none"},
            **changes,
        }
    )


def in_month(month: int, *kw: float, first_hour: int = 12) -> Floats:
    """Return a year of days with power in some hours of one month's day [kW]."""
    series = np.zeros(len(YEAR))
    start = int(np.flatnonzero((month == YEAR.month) & (YEAR.minute_of_day == 60 * first_hour))[0])
    series[start : start + len(kw)] = kw
    return series


def free(steps: int, **changes: ArrayLike) -> Dispatch:
    """Return a dispatch that keeps no reserve, with fields replaced."""
    asked = orders(reserve=0.0)._asdict() | changes
    return Dispatch(**{key: np.broadcast_to(asked.get(key, False), steps).copy() for key in Dispatch._fields})


def year_of(hardware: Limits, pv_kw: Floats, load_kw: Floats, **changes: ArrayLike) -> Inputs:
    """Return the inputs of a year, its dispatch with fields replaced."""
    return inputs_of(hardware, free(load_kw.size, **changes), pv_kw, load_kw)


def lowest(
    rate_plan: RatePlan, pv_kw: Floats, load_kw: Floats, export_limit_kw: float = np.inf, **hardware: Any
) -> float:
    """Return the least cost of a year of days with the lossless home, its limits replaced [currency]."""
    return least_cost(year_of(limits(**hardware), pv_kw, load_kw), prices(rate_plan), export_limit_kw).cost


def prices(rate_plan: RatePlan, where: Timeline = YEAR) -> Prices:
    """Return a plan's prices on the days."""
    return prices_from(rate_plan, where)
