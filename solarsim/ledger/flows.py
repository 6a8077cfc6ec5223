"""The flows of a year: what the engine was given and what it did in, the columns of the hourly table out.

Signs: every flow is at least 0 and its name says where it goes. Each column is computed when it is asked for.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.engine.records import GENERATOR, GRID
from solarsim.engine.year import HOUR_COLUMNS, Year
from solarsim.ledger._sums import sums_import_export
from solarsim.ledger.prices import Prices
from solarsim.results import Fact

if TYPE_CHECKING:
    import pandas as pd

Floats = NDArray[np.float64]

#: The hourly table, in the order of its columns.
HOURLY: dict[str, Fact] = {
    "time": Fact("start of the step in the site's standard time all year, with its offset from UTC", "ISO 8601"),
    "load_kw": Fact("load of the home, without the inverter's standby", "kW"),
    "standby_kw": Fact("the inverter's standby and the battery heater, served as load is", "kW"),
    "pv_available_kw": Fact(
        "solar power that the arrays could deliver at the DC inputs, and at the output of AC-coupled inverters", "kW DC"
    ),
    "pv_to_load_kw": Fact("solar power serving load and standby", "kW AC"),
    "pv_to_battery_kw": Fact("solar power into the battery's terminals", "kW DC"),
    "pv_to_grid_kw": Fact("solar power exported", "kW AC"),
    "clipped_kw": Fact("solar power that the inverter's AC rating cuts off", "kW DC"),
    "curtailed_kw": Fact("solar power left over when the battery is full and export is limited", "kW DC"),
    "battery_to_load_kw": Fact("battery power serving load and standby", "kW AC"),
    "battery_to_grid_kw": Fact("battery power exported", "kW AC"),
    "grid_to_load_kw": Fact("grid power serving load and standby", "kW AC"),
    "grid_to_battery_kw": Fact("grid power that charges the battery", "kW AC"),
    "generator_to_load_kw": Fact("generator power serving load and standby", "kW AC"),
    "generator_to_battery_kw": Fact("generator power that charges the battery", "kW AC"),
    "unserved_kw": Fact("load and standby that no source served", "kW AC"),
    "import_kw": Fact("through the grid meter into the home", "kW AC"),
    "export_kw": Fact("through the grid meter out of the home", "kW AC"),
    "generator_kw": Fact("output of the generator", "kW AC"),
    "losses_kw": Fact("lost in conversion, in the battery and by self-discharge", "kW"),
    "battery_kwh": Fact("stored energy at the END of the step", "kWh"),
    "soc": Fact("state of charge at the END of the step, 0-1", "1"),
    "discharge_floor": Fact("state of charge below which the battery does not discharge in this step, 0-1", "1"),
    "import_price": Fact(
        "listed price of import: rate (of tiers the first) and riders, without percentages", "currency/kWh"
    ),
    "export_price": Fact("listed price of export; under net metering the rate that it offsets", "currency/kWh"),
    "local_time": Fact(
        "start of the step by the wall clock, which windows and rates follow, with its offset from UTC; in the CSV",
        "ISO 8601",
    ),
}
#: Its columns that are numbers; the others say when a step begins.
NUMBERS = tuple(name for name, what in HOURLY.items() if what.unit != "ISO 8601")

#: What the engine records of each step beside the hourly table.
BESIDE_HOURLY: dict[str, Fact] = {
    "source": Fact(
        "source besides solar and battery: 0 none, 1 grid, 2 generator, 3 grid with the generator idling", "1"
    ),
    "temperature_blocked_kw": Fact(
        "surplus solar power that the cells' temperature blocked from the battery; exported, clipped or curtailed",
        "kW DC",
    ),
}
COLUMNS = (*NUMBERS, *BESIDE_HOURLY)
POWERS = tuple(name for name in COLUMNS if name.endswith("_kw"))

_SUM_OF = {
    "import_kw": ("grid_to_load_kw", "grid_to_battery_kw"),
    "export_kw": ("pv_to_grid_kw", "battery_to_grid_kw"),
    "generator_kw": ("generator_to_load_kw", "generator_to_battery_kw"),
}
_FROM_SOURCE = {
    f"{source}_to_{to}_kw": (f"source_to_{to}_kw", source == "grid")
    for source in ("grid", "generator")
    for to in ("load", "battery")
}


@dataclass(frozen=True, eq=False)
class Flows:
    """Every step of a year.

    Attributes
    ----------
    timeline : Timeline
        The steps.
    prices : Prices
        The rate plan on these steps.
    given : mapping of str to array of float
        Columns that are known; they precede the engine's and all that is derived from them.
    year : Year or None
        What the engine was given, and what it did; None where no system runs: a column that is not given is then 0.
    start_kwh : float
        Stored energy at the start of the first step [kWh].
    capacity_kwh, minimum_kwh : float
        Stored energy when full, and at the low cutoff [kWh].

    Examples
    --------
    >>> from solarsim import read_scenario, simulate
    >>> flows = simulate(read_scenario(), "zero export").flows
    >>> float(flows["export_kw"].max())
    0.0
    """

    timeline: Timeline
    prices: Prices
    given: Mapping[str, Floats]
    year: Year | None
    start_kwh: float
    capacity_kwh: float
    minimum_kwh: float
    _found: dict[str, Floats] = field(default_factory=dict, init=False, repr=False)

    def __getitem__(self, column: str) -> Floats:
        if column in self.given:
            return self.given[column]
        if column not in self._found:
            self._found[column] = self._computed(column)
        return self._found[column]

    @cached_property
    def totals(self) -> dict[str, float]:
        """Sum of each column of power over the steps."""
        found = dict.fromkeys(POWERS, 0.0) if self._pass is None else dict(self._pass[0])
        found |= {column: float(values.sum()) for column, values in self.given.items() if column in POWERS}
        for whole, (one, other) in _SUM_OF.items():
            if whole not in self.given:
                found[whole] = found[one] + found[other]
        return {column: found[column] for column in POWERS}

    @cached_property
    def battery_change_kwh(self) -> Floats:
        """Stored energy at the end less at the start of each step [kWh]."""
        return np.diff(self["battery_kwh"], prepend=self.start_kwh)

    @property
    def gap_kwh(self) -> float:
        """Stored energy at the year's end less at its start [kWh]."""
        if self.year is None or "battery_kwh" in self.given:
            return float(self["battery_kwh"][-1]) - self.start_kwh
        return float(self.year.table[-1, HOUR_COLUMNS.index("battery_kwh")]) - self.start_kwh

    @cached_property
    def on_grid(self) -> NDArray[np.bool_]:
        """The steps in which the home is on the grid."""
        return np.asarray(self["source"] % GENERATOR == GRID)

    @property
    def generator_runs(self) -> NDArray[np.bool_]:
        """The steps in which a generator runs, idle or not."""
        return np.asarray(self["source"] >= GENERATOR)

    def table(self) -> "pd.DataFrame":
        """Return the hourly columns as a pandas table, indexed by the start of each step, standard time."""
        import pandas as pd

        index = pd.DatetimeIndex(pd.to_datetime(self.timeline.labels), name="time")
        return pd.DataFrame({name: self[name] for name in NUMBERS}, index=index)

    @cached_property
    def _pass(self) -> tuple[dict[str, float], Floats, Floats] | None:
        """Return the sums of the engine's table, import and export; None where no system runs."""
        return None if self.year is None else sums_import_export(self.year.table)

    def _computed(self, column: str) -> Floats:
        """Return a column that is not given."""
        if self.year is not None and column in HOUR_COLUMNS:
            return self.year.table[:, HOUR_COLUMNS.index(column)]
        if column in ("import_kw", "export_kw") and self._pass is not None:
            return self._pass[1] if column == "import_kw" else self._pass[2]
        if column in _SUM_OF:
            one, other = _SUM_OF[column]
            return self[one] + self[other]
        if column in _FROM_SOURCE:
            engine_column, grid = _FROM_SOURCE[column]
            return np.where(self.on_grid == grid, self[engine_column], 0.0)
        if column in _DERIVED:
            return _DERIVED[column](self)
        if column not in HOUR_COLUMNS and column not in COLUMNS:
            raise KeyError(column)
        return np.zeros(len(self.timeline))


def _soc(flows: Flows) -> Floats:
    return flows["battery_kwh"] / flows.capacity_kwh if flows.capacity_kwh > 0.0 else np.zeros(len(flows.timeline))


def _discharge_floor(flows: Flows) -> Floats:
    if flows.year is None or flows.capacity_kwh == 0.0:
        return np.zeros(len(flows.timeline))
    dispatch = flows.year.inputs.dispatch
    above_cap = flows["load_kw"] + flows["standby_kw"] > dispatch.import_cap_kw
    on_grid = np.where(above_cap, dispatch.reserve, np.maximum(dispatch.reserve, dispatch.charge_to))
    off_grid = np.maximum(dispatch.off_grid_floor, flows.minimum_kwh / flows.capacity_kwh)
    return np.where(flows.on_grid, on_grid, off_grid)


_DERIVED: dict[str, Callable[[Flows], Floats]] = {
    "soc": _soc,
    "discharge_floor": _discharge_floor,
    "import_price": lambda flows: flows.prices.import_price,
    "export_price": lambda flows: flows.prices.export_price,
}


def flows_from_year(timeline: Timeline, prices: Prices, year: Year) -> Flows:
    """Build the flows of a year that the engine ran.

    Parameters
    ----------
    timeline, prices
        As for the bill.
    year : Year
        What the engine was given, and what it did.

    Returns
    -------
    Flows
        They hold the engine's table itself: where it is written again, they are no longer this year's.
    """
    inputs, limits = year.inputs, year.inputs.limits
    given = {
        "load_kw": inputs.load_kw,
        "standby_kw": limits.standby_kw + inputs.cells.heater_kw,
        "pv_available_kw": inputs.pv_kw + inputs.ac_solar_kw,
    }
    return Flows(timeline, prices, given, year, year.start_kwh, limits.capacity_kwh, limits.minimum_kwh)


def flows_without_system(
    timeline: Timeline, prices: Prices, load_kw: Floats, grid: NDArray[np.bool_] | None = None
) -> Flows:
    """Build the flows of a home that the grid alone serves.

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
        Of the baseline of all savings.
    """
    given = {"load_kw": load_kw, "grid_to_load_kw": load_kw, "import_kw": load_kw}
    if grid is None:
        given["source"] = np.full(load_kw.size, GRID)
    else:
        served_kw = np.where(grid, load_kw, 0.0)
        given |= {"grid_to_load_kw": served_kw, "import_kw": served_kw, "source": np.where(grid, GRID, 0.0)}
        given["unserved_kw"] = load_kw - served_kw
    return Flows(timeline, prices, given, None, 0.0, 0.0, 0.0)


def balance_error_kw(flows: Flows) -> float:
    """Return the largest amount by which the energy balance of any step fails to close.

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
    f = flows
    step_h = flows.timeline.step_h
    change_kw = flows.battery_change_kwh / step_h
    served = f["pv_to_load_kw"] + f["battery_to_load_kw"] + f["grid_to_load_kw"] + f["generator_to_load_kw"]
    demand = f["load_kw"] + f["standby_kw"]
    given = f["pv_available_kw"] + f["import_kw"] + f["generator_kw"]
    left_kw = f["clipped_kw"] + f["curtailed_kw"]
    taken = demand - f["unserved_kw"] + f["export_kw"] + left_kw + change_kw + f["losses_kw"]
    discharged = f["battery_to_load_kw"] + f["battery_to_grid_kw"]
    below_floor_kw = (f["discharge_floor"] * flows.capacity_kwh - f["battery_kwh"]) / step_h
    signed = [name for name in NUMBERS if name.endswith("_kw")]
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
    ]
    below_zero_kw = (-float(f[name].min()) for name in signed)
    return max(0.0, *(float(amount.max()) for amount in amounts), *below_zero_kw)
