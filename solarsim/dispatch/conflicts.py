"""Orders that work against each other: a dispatch in, what is wrong and the dispatch without it out."""

from math import inf
from typing import NamedTuple

import numpy as np

from solarsim.engine.records import Dispatch

_LEAST_CYCLES = 1.0


class Conflict(NamedTuple):
    """Two orders of a strategy that work against each other.

    Attributes
    ----------
    what : str
        A sentence without its end.
    remedy : str
        The change that ends it, as in "with ...".
    without : Dispatch
        The same orders with that change.
    """

    what: str
    remedy: str
    without: Dispatch


def conflicts(dispatch: Dispatch, step_h: float, capacity_kwh: float, cycles: float) -> list[Conflict]:
    """Find the orders of a strategy that work against each other.

    Parameters
    ----------
    dispatch : Dispatch
        The orders.
    step_h : float
        Length of a step [h].
    capacity_kwh : float
        Of the battery [kWh].
    cycles : float
        Equivalent full cycles of the battery in the year that was run with them.

    Returns
    -------
    list of Conflict
        A ceiling for solar charging below the level to which the grid charges in the same steps: the grid fills what
        the sun may not. Surplus that goes to the grid first and leaves a battery that may discharge less than one
        cycle a year.
    """
    if capacity_kwh <= 0.0:
        return []
    found = []
    below = dispatch.grid & (dispatch.ceiling < dispatch.charge_to)
    if below.any():
        ceiling = np.maximum(dispatch.ceiling, dispatch.charge_to[below].max())
        found.append(
            Conflict(
                f"solar_ceiling is below charge_from_grid_to in {below.sum() * step_h:,.0f} hours, so the grid charges"
                " what solar may not",
                "with the ceiling at that level in every hour",
                dispatch._replace(ceiling=ceiling),
            )
        )
    may_discharge = dispatch.serves_load.any() or dispatch.sell_to.min() < 1.0 or dispatch.import_cap_kw.min() < inf
    if cycles < _LEAST_CYCLES and may_discharge and not dispatch.surplus_to_battery.all():
        found.append(
            Conflict(
                f"surplus solar goes to the grid first, and the battery makes {cycles:.1f} full cycles a year",
                'with surplus_to = "battery"',
                dispatch._replace(surplus_to_battery=np.ones_like(dispatch.surplus_to_battery)),
            )
        )
    return found
