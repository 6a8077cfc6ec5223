"""The short ledger of one year: the engine's table in, the sums and the bill that a life needs out.

The bill is the ledger's own (``bill.bill_for``); what is left out is the hourly table and the months.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.engine.records import GENERATOR, GRID
from solarsim.engine.year import HOUR_COLUMNS, Year
from solarsim.ledger.bill import bill_total, metered
from solarsim.ledger.generator import fuel_liters
from solarsim.ledger.prices import Prices
from solarsim.scenario.backup.backup import Generator
from solarsim.scenario.rate_plan.rate_plan import RatePlan

Floats = NDArray[np.float64]


class YearSums(NamedTuple):
    """A year in a few numbers.

    Attributes
    ----------
    bill : float
        Sum of the year's bill lines and a generator's fuel [currency].
    pv_available_kwh : float
        Solar energy offered at the DC side [kWh].
    load_kwh, import_kwh, export_kwh : float
        As in the ledger [kWh].
    solar_kwh : float
        Solar energy that served the home or was sold, directly or through the battery, AC [kWh].
    battery_kwh : float
        What the battery gave to the home or the grid, AC [kWh].
    start_soc : float
        State of charge at the year's start and end, 0-1.
    gap_kwh : float
        Stored energy at the end less at the start [kWh].
    capacity_kwh : float
        Of the battery in this year [kWh].
    balance_error_kwh : float
        By how much the books of the year fail to close [kWh].
    """

    bill: float
    pv_available_kwh: float
    load_kwh: float
    import_kwh: float
    export_kwh: float
    solar_kwh: float = 0.0
    battery_kwh: float = 0.0
    start_soc: float = 0.0
    gap_kwh: float = 0.0
    capacity_kwh: float = 0.0
    balance_error_kwh: float = 0.0


def sums_from(
    year: Year,
    rate_plan: RatePlan,
    prices: Prices,
    timeline: Timeline,
    generator: Generator | None = None,
    to_the_cent: bool = True,
) -> YearSums:
    """Add a year up.

    Parameters
    ----------
    year : Year
        What the engine did.
    rate_plan : RatePlan
        The year's rate plan.
    prices : Prices
        The same on the timeline.
    timeline : Timeline
        The steps.
    generator : Generator, optional
        What burned fuel, where there is one.
    to_the_cent : bool
        See ``bill_total``.

    Returns
    -------
    YearSums
        Sums of exactly these flows, and the rate plan applied to exactly these flows.
    """
    limits, cells, load_kw = year.inputs.limits, year.inputs.cells, year.inputs.load_kw
    columns, hours = dict(zip(HOUR_COLUMNS, year.table.T, strict=True)), timeline.step_h
    flow = dict(zip(HOUR_COLUMNS, (np.einsum("ij->j", year.table) * hours).tolist(), strict=True))
    import_kw = columns["source_to_load_kw"] + columns["source_to_battery_kw"]
    generated = 0.0
    if flow["source"] != len(timeline) * hours * GRID:  # seldom: the grid is out, or a generator runs
        on_grid = columns["source"] % GENERATOR == GRID
        generated = float(import_kw[~on_grid].sum()) * hours
        import_kw = np.where(on_grid, import_kw, 0.0)
    export_kw = columns["pv_to_grid_kw"] + columns["battery_to_grid_kw"]
    offered, load = float((year.inputs.pv_kw + year.inputs.ac_solar_kw).sum()) * hours, float(load_kw.sum()) * hours
    bought, sold = float(import_kw.sum()) * hours, float(export_kw.sum()) * hours
    given = flow["battery_to_load_kw"] + flow["battery_to_grid_kw"]
    entered = flow["pv_to_battery_kw"] + flow["source_to_battery_kw"]
    run_h = float((columns["source"] >= GENERATOR).sum()) * hours
    fuel_cost = 0.0 if generator is None else generator.fuel_price * fuel_liters(generator, run_h, generated)
    demand = load + (limits.standby_kw * len(timeline) + float(cells.heater_kw.sum())) * hours
    left = flow["clipped_kw"] + flow["curtailed_kw"]
    taken = demand - flow["unserved_kw"] + sold + left + year.gap_kwh + flow["losses_kw"]
    bought_kw, sold_kw = metered(
        rate_plan, import_kw, export_kw, columns["pv_to_load_kw"] + columns["battery_to_load_kw"]
    )
    return YearSums(
        bill=bill_total(bought_kw, sold_kw, rate_plan, prices, timeline, to_the_cent) + fuel_cost,
        pv_available_kwh=offered,
        load_kwh=load,
        import_kwh=bought,
        export_kwh=sold,
        solar_kwh=flow["pv_to_load_kw"]
        + flow["pv_to_grid_kw"]
        + (given * flow["pv_to_battery_kw"] / entered if entered > 0.0 else 0.0),
        battery_kwh=given,
        start_soc=year.start_kwh / limits.capacity_kwh if limits.capacity_kwh > 0.0 else 0.0,
        gap_kwh=year.gap_kwh,
        capacity_kwh=limits.capacity_kwh,
        balance_error_kwh=abs(offered + bought + generated - taken),
    )


def sums_without_system(
    load_kw: Floats,
    rate_plan: RatePlan,
    prices: Prices,
    timeline: Timeline,
    grid: NDArray[np.bool_] | None = None,
    to_the_cent: bool = True,
) -> YearSums:
    """Add up a year in which the grid alone serves the load.

    Parameters
    ----------
    load_kw : array of float
        [kW].
    rate_plan : RatePlan
        The year's rate plan.
    prices : Prices
        The same on the timeline.
    timeline : Timeline
        The steps.
    grid : array of bool, optional
        When the grid is there; always, if left out.
    to_the_cent : bool
        See ``bill_total``.

    Returns
    -------
    YearSums
        The baseline of the year's savings.
    """
    import_kw = load_kw if grid is None else np.where(grid, load_kw, 0.0)
    load, bought = float(load_kw.sum()) * timeline.step_h, float(import_kw.sum()) * timeline.step_h
    bill = bill_total(import_kw, np.zeros(len(timeline)), rate_plan, prices, timeline, to_the_cent)
    return YearSums(bill, 0.0, load, bought, 0.0)
