"""The optimum: a home's series and limits in, a bound that no program of its inverter can beat out.

A linear program over the whole year with perfect foresight (scipy, HiGHS): the same sun, load,
prices, hardware and export limit, but no rules. In each step

    import - export = demand + charger input - inverter output
    solar + discharge + charger output - charge >= inverter input
    stored after = stored before x kept + charge x one_way - discharge / one_way     (the year a circle)

The stage's input is convex in its output once the loss of running at all is spread by the chord
from the origin; tangents lie below it, so inverter input is at least each tangent, and the bound
stays a bound. A bank's taper near full and Peukert's loss are left out, which only loosens it. It may
charge and discharge, or import and export, in one step: that never pays
unless export pays more than import, and then there is no bound.
"""

from dataclasses import dataclass
from math import floor, sqrt

import numpy as np
from numpy.typing import NDArray

from solarsim.engine.records import Cells, Curve, Limits, cells_at_ease
from solarsim.home import Home
from solarsim.results import Result, fact

_TANGENTS = 4


@dataclass(frozen=True, eq=False, repr=False)
class Optimum(Result):
    """The optimum year. Many ways through the year may cost the same least, so it has a cost but no flows."""

    listed_cost: float | None = fact(
        "lowest possible sum of import less export at listed prices; null where there is no bound", "currency"
    )
    annual_bill: float | None = fact("with the customer charges, rounded down to the cent", "currency")
    why_none: str = fact("why there is no bound; empty where there is one", "text", default="")


def optimum(home: Home) -> Optimum:
    """Compute the lowest bill that perfect foresight could reach with a home's hardware.

    Parameters
    ----------
    home : Home
        Series, prices and limits.

    Returns
    -------
    Optimum
        The bound, or why there is none.
    """
    if home.supply is not None and not (home.supply.grid.all() and home.supply.stays_connected):
        return Optimum(None, None, "the grid is not always there, and unserved load would look like savings")
    if home.scenario.ac_inverters:
        return Optimum(None, None, "arrays behind inverters of their own are not in the bound")
    grid = home.scenario.grid
    export_limit_kw = np.inf if grid is None else grid.export_limit_kw
    beyond = home.scenario.rate_plan.beyond_hours()
    if beyond:
        words = " and ".join([", ".join(beyond[:-1]), beyond[-1]] if len(beyond) > 1 else beyond)
        return Optimum(None, None, f"with {words} a bill is more than a sum of hours, and no bound of it is known here")
    pays_more = (home.prices.export_price > home.prices.import_price).sum() * home.timeline.step_h
    if pays_more and export_limit_kw > 0.0:
        return Optimum(
            None, None, f"export pays more than import costs in {pays_more:g} hours, so importing to export would pay"
        )
    cost = least_cost(
        home.limits,
        home.prices.import_price,
        home.prices.export_price,
        home.production.dc_kw,
        home.load_kw,
        export_limit_kw,
        home.bank.cells,
    )
    days = float(home.prices.hours.bill_days.sum())
    bill = (
        cost
        + 12 * home.scenario.rate_plan.customer_charge_per_month
        + days * home.scenario.rate_plan.customer_charge_per_day
    )
    return Optimum(cost, floor(bill * 100) / 100)


def least_cost(
    limits: Limits,
    import_price: NDArray[np.float64],
    export_price: NDArray[np.float64],
    pv_kw: NDArray[np.float64],
    load_kw: NDArray[np.float64],
    export_limit_kw: float,
    cells: Cells | None = None,
) -> float:
    """Solve the linear program.

    Parameters
    ----------
    limits : Limits
        Hardware.
    import_price, export_price : arrays of float
        Export must nowhere pay more than import costs [currency/kWh].
    pv_kw, load_kw : arrays of float
        Solar power offered at the DC side, and load without standby [kW].
    export_limit_kw : float
        At the meter [kW].
    cells : Cells, optional
        What the cells' temperature allows and needs; left out, they are never cold and never heated.

    Returns
    -------
    float
        Least possible cost of energy [currency].

    Raises
    ------
    RuntimeError
        The solver failed, which is a fault of ours: doing nothing is always allowed.
    """
    from scipy import sparse
    from scipy.optimize import linprog

    n, hours, curve = pv_kw.size, limits.step_h, limits.curve
    cells = cells_at_ease(limits, n) if cells is None else cells
    one = sparse.eye_array(n, format="csr")
    none = sparse.csr_array((n, n))
    before = sparse.csr_array((np.full(n, limits.kept), (np.arange(n), (np.arange(n) - 1) % n)), shape=(n, n))

    # Columns: import, export, inverter output, charger output, charger input, charge, discharge, stored above minimum.
    meter = [one, -one, one, none, -one, none, none, none]
    storage = [none, none, none, none, none, -limits.one_way * hours * one, hours / limits.one_way * one, one - before]
    lines = tangents(curve)
    at_most = [[none, none, slope * one, -one, none, one, -one, none] for slope, _ in lines]
    at_most += [[none, none, none, slope * one, -one, none, none, none] for slope, _ in lines]
    right = [pv_kw - offset for _, offset in lines] + [np.full(n, -offset) for _, offset in lines]

    most = (
        np.inf,
        export_limit_kw,
        curve.rated_kw,
        curve.rated_kw,
        curve.rated_kw if limits.charge_kw > 0.0 else 0.0,
        cells.charge_kw,
        cells.discharge_kw,
        limits.capacity_kwh - limits.minimum_kwh,
    )
    upper = np.concatenate([np.broadcast_to(each, n) for each in most])
    cost = np.zeros(8 * n)
    cost[:n], cost[n : 2 * n] = import_price * hours, -export_price * hours
    result = linprog(
        cost,
        A_ub=sparse.block_array(at_most, format="csr"),
        b_ub=np.concatenate(right),
        A_eq=sparse.block_array([meter, storage], format="csr"),
        b_eq=np.concatenate([load_kw + limits.standby_kw + cells.heater_kw, np.zeros(n)]),
        bounds=np.column_stack([np.zeros(8 * n), upper]),
        method="highs",
    )
    if result.status != 0:
        raise RuntimeError(f"the optimum was not found: {result.message}")
    return float(result.fun)


def tangents(curve: Curve) -> list[tuple[float, float]]:
    """Return lines below the stage's input curve, as slope and offset [kW/kW, kW].

    Parameters
    ----------
    curve : Curve
        Loss of the conversion stage.

    Returns
    -------
    list of (float, float)
        The chord from the origin that touches the curve, and tangents above the point where it
        does. A curve without a square term has one line.
    """
    square = curve.k2 / curve.rated_kw
    if square == 0.0:
        # The chord to the rated output: below it the loss of running at all weighs more.
        return [(1.0 + curve.k1 + curve.k0_kw / curve.rated_kw, 0.0)]
    touch = min(sqrt(curve.k0_kw / square), curve.rated_kw)
    chord = 1.0 + curve.k1 + curve.k0_kw / touch + square * touch if touch > 0.0 else 1.0 + curve.k1
    points = np.linspace(touch, curve.rated_kw, _TANGENTS)[1:].tolist() if touch < curve.rated_kw else []
    return [(chord, 0.0)] + [(1.0 + curve.k1 + 2.0 * square * p, curve.k0_kw - square * p * p) for p in points]
