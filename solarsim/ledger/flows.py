"""The hourly table: what the engine did and what it was given in, the columns of the books out."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.engine.records import GENERATOR, GRID, Limits
from solarsim.engine.year import HOUR_COLUMNS, Year
from solarsim.ledger.prices import Prices
from solarsim.scenario.glossary import BESIDE_HOURLY, HOURLY

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, eq=False)
class Flows:
    """Every step of a year; the columns are those of ``glossary.HOURLY`` and ``BESIDE_HOURLY``.

    Attributes
    ----------
    timeline : Timeline
        The steps.
    columns : mapping of str to array of float
        All columns but ``time``, one entry for each step.
    start_kwh : float
        Stored energy at the start of the first step [kWh].
    capacity_kwh, minimum_kwh : float
        Stored energy when full, and below which nothing goes [kWh].
    """

    timeline: Timeline
    columns: Mapping[str, NDArray[np.float64]]
    start_kwh: float
    capacity_kwh: float
    minimum_kwh: float

    def __getitem__(self, column: str) -> NDArray[np.float64]:
        return self.columns[column]

    @cached_property
    def battery_change_kwh(self) -> NDArray[np.float64]:
        """Stored energy at the end less at the start of each step [kWh]."""
        return np.diff(self["battery_kwh"], prepend=self.start_kwh)

    @property
    def generator_runs(self) -> NDArray[np.bool_]:
        """The steps in which a generator runs, idle or not."""
        return np.asarray(self["source"] >= GENERATOR)

    def table(self) -> "pd.DataFrame":
        """Give the columns as a pandas table, indexed by the start of each step, standard time."""
        import pandas as pd

        index = pd.DatetimeIndex(pd.to_datetime(self.timeline.labels), name="time")
        return pd.DataFrame({name: self.columns[name] for name in HOURLY if name != "time"}, index=index)


def flows_from_year(timeline: Timeline, prices: Prices, year: Year) -> Flows:
    """Put what the engine was given and what it did side by side.

    Parameters
    ----------
    timeline, prices
        As for the bill.
    year : Year
        What the engine was given, and what it did.

    Returns
    -------
    Flows
        The whole table.
    """
    did = told_apart(year)
    inputs, limits, dispatch = year.inputs, year.inputs.limits, year.inputs.dispatch
    standby_kw = limits.standby_kw + inputs.cells.heater_kw
    given = {
        "load_kw": inputs.load_kw,
        "standby_kw": standby_kw,
        "pv_available_kw": inputs.pv_kw + inputs.ac_solar_kw,
    }
    lowest = limits.minimum_kwh / limits.capacity_kwh if limits.capacity_kwh > 0.0 else 0.0
    above_cap = inputs.load_kw + standby_kw > dispatch.import_cap_kw
    on_grid = np.where(above_cap, dispatch.reserve, np.maximum(dispatch.reserve, dispatch.charge_to))
    floor = np.where(did["source"] % GENERATOR == GRID, on_grid, lowest)
    return _flows(timeline, prices, {**given, **did, "discharge_floor": floor}, year.start_kwh, limits)


def told_apart(year: Year) -> dict[str, NDArray[np.float64]]:
    """Tell what the grid gave from what a generator gave in its place.

    Parameters
    ----------
    year : Year
        What the engine did.

    Returns
    -------
    dict of str to array of float
        The engine's columns, with those of grid and generator in place of the source's [kW].
    """
    did = dict(zip(HOUR_COLUMNS, np.ascontiguousarray(year.table.T), strict=True))
    on_grid = did["source"] % GENERATOR == GRID
    always = bool(on_grid.all())
    for to in ("load", "battery"):
        given_kw = did.pop(f"source_to_{to}_kw")
        did[f"grid_to_{to}_kw"] = given_kw if always else np.where(on_grid, given_kw, 0.0)
        did[f"generator_to_{to}_kw"] = np.zeros_like(given_kw) if always else np.where(on_grid, 0.0, given_kw)
    return did


def flows_without_system(
    timeline: Timeline, prices: Prices, load_kw: NDArray[np.float64], grid: NDArray[np.bool_] | None = None
) -> Flows:
    """Let the grid serve all of a home's load.

    Parameters
    ----------
    timeline, prices
        As for the bill.
    load_kw : array of float
        [kW].
    grid : array of bool, optional
        When the grid is there; always, if left out.

    Returns
    -------
    Flows
        The whole table.
    """
    there = np.ones(len(timeline), np.bool_) if grid is None else grid
    known = {
        "load_kw": load_kw,
        "grid_to_load_kw": np.where(there, load_kw, 0.0),
        "unserved_kw": np.where(there, 0.0, load_kw),
        "source": np.where(there, GRID, 0.0),
    }
    return _flows(timeline, prices, known, 0.0, None)


def _flows(
    timeline: Timeline, prices: Prices, known: dict[str, NDArray[np.float64]], start_kwh: float, limits: Limits | None
) -> Flows:
    capacity_kwh = 0.0 if limits is None else limits.capacity_kwh
    columns = {name: np.zeros(len(timeline)) for name in (*HOURLY, *BESIDE_HOURLY) if name != "time"} | known
    columns["import_kw"] = columns["grid_to_load_kw"] + columns["grid_to_battery_kw"]
    columns["export_kw"] = columns["pv_to_grid_kw"] + columns["battery_to_grid_kw"]
    columns["generator_kw"] = columns["generator_to_load_kw"] + columns["generator_to_battery_kw"]
    if capacity_kwh > 0.0:
        columns["soc"] = columns["battery_kwh"] / capacity_kwh
    else:
        columns["discharge_floor"] = np.zeros(len(timeline))
    columns["import_price"], columns["export_price"] = prices.import_price, prices.export_price
    return Flows(timeline, columns, start_kwh, capacity_kwh, 0.0 if limits is None else limits.minimum_kwh)


def balance_error_kw(flows: Flows) -> float:
    """Find the largest amount by which any book of the hour fails to close.

    Checked in every step: demand is what served it; import and export are their parts; never both
    at once; power in is power out plus change of storage plus losses; no flow and no loss is
    negative; stored energy stays within its limits; no discharge below the floor.

    Parameters
    ----------
    flows : Flows
        A year.

    Returns
    -------
    float
        [kW].
    """
    f = flows.columns
    step_h = flows.timeline.step_h
    change_kw = flows.battery_change_kwh / step_h
    served = f["pv_to_load_kw"] + f["battery_to_load_kw"] + f["grid_to_load_kw"] + f["generator_to_load_kw"]
    demand = f["load_kw"] + f["standby_kw"]
    given = f["pv_available_kw"] + f["import_kw"] + f["generator_kw"]
    left_kw = f["clipped_kw"] + f["curtailed_kw"]
    taken = demand - f["unserved_kw"] + f["export_kw"] + left_kw + change_kw + f["losses_kw"]
    discharged = f["battery_to_load_kw"] + f["battery_to_grid_kw"]
    below_floor_kw = (f["discharge_floor"] * flows.capacity_kwh - f["battery_kwh"]) / step_h
    signed = [name for name in HOURLY if name.endswith("_kw")]
    amounts = [
        np.abs(demand - served - f["unserved_kw"]),
        np.abs(f["import_kw"] - f["grid_to_load_kw"] - f["grid_to_battery_kw"]),
        np.abs(f["export_kw"] - f["pv_to_grid_kw"] - f["battery_to_grid_kw"]),
        np.abs(f["generator_kw"] - f["generator_to_load_kw"] - f["generator_to_battery_kw"]),
        np.minimum(f["import_kw"], f["export_kw"]),
        np.abs(given - taken),
        (f["battery_kwh"] - flows.capacity_kwh) / step_h,
        (flows.minimum_kwh - f["battery_kwh"]) / step_h,
        np.minimum(discharged, below_floor_kw),
        *(-f[name] for name in signed),
    ]
    return max(0.0, *(float(amount.max()) for amount in amounts))
