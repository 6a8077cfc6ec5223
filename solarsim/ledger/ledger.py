"""The ledger of one year: flows in; kilowatt-hours, shares, the bill and what the year costs out.

What a lifetime needs is computed at once, in a few sums. Months, bill lines and all that looks at single steps are made
from the same numbers when asked for.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.engine.records import Dispatch
from solarsim.ledger.bill import Readings, bill_from, exact_total, read_meters
from solarsim.ledger.flows import COLUMNS, Floats, Flows, balance_error_kw
from solarsim.ledger.generator import GeneratorYear, generator_year
from solarsim.ledger.lines import Bill
from solarsim.ledger.prices import Prices
from solarsim.results import Fact
from solarsim.scenario.backup.backup import Generator
from solarsim.scenario.rate_plan.rate_plan import RatePlan

if TYPE_CHECKING:
    import pandas as pd

#: Sums over a month or the year, in the order in which they are shown.
ENERGY: dict[str, Fact] = {
    "pv_available_kwh": Fact("solar energy that the arrays could deliver: sum of pv_available_kw", "kWh DC"),
    "pv_used_kwh": Fact(
        "solar energy used, as a production meter logs it: available less clipped and curtailed", "kWh DC"
    ),
    "load_kwh": Fact("sum of load_kw", "kWh"),
    "standby_kwh": Fact("sum of standby_kw", "kWh"),
    "import_kwh": Fact("sum of import_kw", "kWh"),
    "export_kwh": Fact("sum of export_kw", "kWh"),
    "clipped_kwh": Fact("sum of clipped_kw", "kWh DC"),
    "curtailed_kwh": Fact("sum of curtailed_kw", "kWh DC"),
    "unserved_kwh": Fact("sum of unserved_kw", "kWh"),
    "losses_kwh": Fact("sum of losses_kw", "kWh"),
    "temperature_blocked_kwh": Fact(
        "sum of temperature_blocked_kw: solar energy that cold (or hot) cells could not store", "kWh DC"
    ),
    "battery_in_kwh": Fact("increase of battery_kwh, summed over the steps in which it rose", "kWh"),
    "battery_out_kwh": Fact("decrease of battery_kwh, summed over the steps in which the battery discharged", "kWh"),
}
_CRUMB_KW = 1e-6


@dataclass(frozen=True, eq=False)
class Ledger:
    """A year in kilowatt-hours and money.

    Attributes
    ----------
    sums : dict of str to float
        The year's sum of each column of power of ``flows.COLUMNS``, by its name with ``_kwh`` [kWh].
    unserved_h : float
        Time in which some demand was unserved [h].
    gap_kwh : float
        Stored energy at the year's end less at its start [kWh].
    start_soc : float
        State of charge at the year's start, 0-1.
    capacity_kwh : float
        Stored energy when full [kWh].
    generator : GeneratorYear
        Hours, starts, fuel.
    prices : Prices
        What the bill is made with.
    readings : Readings or None
        What the meters read; None where the home has no grid connection, and so no bill.
    value_of_lost_load : float or None
        What the user states [currency/kWh].
    """

    sums: dict[str, float]
    unserved_h: float
    gap_kwh: float
    start_soc: float
    capacity_kwh: float
    generator: GeneratorYear
    prices: Prices
    readings: Readings | None
    value_of_lost_load: float | None
    _flows: Flows | None

    @property
    def flows(self) -> Flows:
        """The steps of the year.

        Returns
        -------
        Flows
            As the engine left them.

        Raises
        ------
        ValueError
            They were not kept.
        """
        if self._flows is None:
            raise ValueError("the steps of this year were not kept")
        return self._flows

    @cached_property
    def bill(self) -> Bill:
        """The year's bill; empty without a grid connection."""
        return (
            Bill(self.prices.rate_plan.currency, ()) if self.readings is None else bill_from(self.readings, self.prices)
        )

    @cached_property
    def annual_bill(self) -> float:
        """Sum of the year's bill [currency]."""
        return float(self.bill.total)

    @property
    def fuel_cost(self) -> float:
        """Fuel of a generator [currency]."""
        return self.generator.fuel_cost

    @property
    def energy_cost(self) -> float:
        """Bill and fuel: cash [currency]."""
        return self.annual_bill + self.fuel_cost

    @cached_property
    def exact_energy_cost(self) -> float:
        """Energy cost before any line is rounded to the cent, for comparisons with a bound [currency]."""
        return self.fuel_cost + (0.0 if self.readings is None else exact_total(self.readings, self.prices))

    @property
    def unserved_kwh(self) -> float:
        """Unserved demand [kWh]."""
        return self.sums["unserved_kwh"]

    @property
    def demand_kwh(self) -> float:
        """Load and standby [kWh]."""
        return self.sums["load_kwh"] + self.sums["standby_kwh"]

    @property
    def outage_cost(self) -> float | None:
        """Unserved energy at the value of lost load; None without one [currency]."""
        return None if self.value_of_lost_load is None else self.value_of_lost_load * self.unserved_kwh

    @property
    def battery_kwh(self) -> float:
        """Discharge to load and grid, AC [kWh]."""
        return self.sums["battery_to_load_kwh"] + self.sums["battery_to_grid_kwh"]

    @property
    def solar_kwh(self) -> float:
        """Solar energy that served the home or was exported, directly or through the battery, AC [kWh]."""
        direct = self.sums["pv_to_load_kwh"] + self.sums["pv_to_grid_kwh"]
        return direct + self._solar_in_battery * self.battery_kwh

    @property
    def self_consumption(self) -> float:
        """Share of solar energy used that was not exported, 0-1."""
        s = self.sums
        used = s["pv_to_load_kwh"] + s["pv_to_battery_kwh"] + s["pv_to_grid_kwh"]
        exported = s["pv_to_grid_kwh"] + self._solar_in_battery * s["battery_to_grid_kwh"]
        return 1.0 - exported / used if used > 0.0 else 0.0

    @property
    def self_sufficiency(self) -> float:
        """Share of demand that the sun served, directly or through the battery, 0-1."""
        served = self.sums["pv_to_load_kwh"] + self._solar_in_battery * self.sums["battery_to_load_kwh"]
        return served / self.demand_kwh if self.demand_kwh > 0.0 else 0.0

    @property
    def _solar_in_battery(self) -> float:
        """Return the share of the sun in what entered the battery over the year, and so in what leaves it."""
        solar, grid = self.sums["pv_to_battery_kwh"], self.sums["grid_to_battery_kwh"]
        entered = solar + grid + self.sums["generator_to_battery_kwh"]
        return solar / entered if entered > 0.0 else 0.0

    @property
    def balance_error_kwh(self) -> float:
        """By how much the energy balance of the year fails to close [kWh]."""
        s = self.sums
        sources = s["pv_available_kwh"] + s["import_kwh"] + s["generator_kwh"]
        uses = self.demand_kwh - s["unserved_kwh"] + s["export_kwh"] + s["clipped_kwh"] + s["curtailed_kwh"]
        return abs(sources - uses - self.gap_kwh - s["losses_kwh"])

    @cached_property
    def balance_error_kw(self) -> float:
        """See ``flows.balance_error_kw`` [kW]."""
        return balance_error_kw(self.flows)

    @cached_property
    def monthly_kwh(self) -> dict[str, Floats]:
        """For each key of ``ENERGY`` the twelve sums, wall-clock months [kWh]."""
        return self.kwh_by(self.flows.timeline.month - 1, 12)

    def kwh_by(self, place: NDArray[np.int64], count: int) -> dict[str, Floats]:
        """Return sums of energy over groups of steps.

        Parameters
        ----------
        place : array of int
            The group of each step, from 0.
        count : int
            Groups.

        Returns
        -------
        dict of str to array of float
            For each key of ``ENERGY`` one sum for each group [kWh].
        """
        flows = self.flows

        def grouped(values: Floats) -> Floats:
            return np.asarray(np.bincount(place, values, minlength=count), np.float64)

        sums = {key: grouped(flows[key[:-1]]) * flows.timeline.step_h for key in ENERGY if key[:-1] in COLUMNS}
        sums["pv_used_kwh"] = sums["pv_available_kwh"] - sums["clipped_kwh"] - sums["curtailed_kwh"]
        discharging = flows["battery_to_load_kw"] + flows["battery_to_grid_kw"] > 0.0
        sums["battery_in_kwh"] = grouped(np.maximum(flows.battery_change_kwh, 0.0))
        sums["battery_out_kwh"] = grouped(np.where(discharging, -flows.battery_change_kwh, 0.0))
        return {key: sums[key] for key in ENERGY}

    @property
    def monthly_solar_kwh(self) -> Floats:
        """For each month what ``solar_kwh`` is for the year; the sun's share in the battery is the year's [kWh]."""
        flows = self.flows
        stored_kw = self._solar_in_battery * (flows["battery_to_load_kw"] + flows["battery_to_grid_kw"])
        solar_kw = flows["pv_to_load_kw"] + flows["pv_to_grid_kw"] + stored_kw
        months = np.bincount(flows.timeline.month - 1, solar_kw, minlength=12)
        return np.asarray(months * flows.timeline.step_h, np.float64)

    @cached_property
    def annual_kwh(self) -> dict[str, float]:
        """For each key of ``ENERGY`` the year's sum [kWh]."""
        return {key: float(months.sum()) for key, months in self.monthly_kwh.items()}

    @property
    def equivalent_full_cycles(self) -> float:
        """What left the battery / its capacity."""
        return self.annual_kwh["battery_out_kwh"] / self.capacity_kwh if self.capacity_kwh > 0.0 else 0.0

    @cached_property
    def temperature_blocked_h(self) -> float:
        """Time in which the cells' temperature kept solar power out of the battery [h]."""
        return _hours_of(self.flows, "temperature_blocked_kw")

    @cached_property
    def peak_import_kw(self) -> float:
        """Highest mean of a step [kW]."""
        return float(self.flows["import_kw"].max())

    def under(self, prices: Prices) -> "Ledger":
        """Return the same year under another rate plan."""
        readings = None if self.readings is None else _readings_of(self.flows, prices)
        return replace(self, prices=prices, readings=readings, _flows=replace(self.flows, prices=prices))

    def monthly(self) -> "pd.DataFrame":
        """Return kWh and bill by month as a pandas table, indexed by month 1 to 12."""
        import pandas as pd

        table = pd.DataFrame(self.monthly_kwh, index=pd.RangeIndex(1, 13, name="month"))
        table["bill"] = [float(self.bill.month_total(month)) for month in range(1, 13)]
        return table


def ledger_from(
    flows: Flows,
    generator: Generator | None = None,
    value_of_lost_load: float | None = None,
    has_grid: bool = True,
    keep_steps: bool = True,
) -> Ledger:
    """Close a year.

    Parameters
    ----------
    flows : Flows
        Every step.
    generator : Generator, optional
        What burned fuel, where there is one.
    value_of_lost_load : float, optional
        What the user states [currency/kWh].
    has_grid : bool
        False where the home has no grid connection: no charge of the utility is paid.
    keep_steps : bool
        False where the engine's table will be written again: what looks at single steps is then not known.

    Returns
    -------
    Ledger
        Sums of exactly these flows, and the rate plan applied to exactly these flows.
    """
    step_h, capacity_kwh = flows.timeline.step_h, flows.capacity_kwh
    sums = {f"{column}h": total * step_h for column, total in flows.totals.items()}
    return Ledger(
        sums=sums,
        unserved_h=_hours_of(flows, "unserved_kw") if sums["unserved_kwh"] > 0.0 else 0.0,
        gap_kwh=flows.gap_kwh,
        start_soc=flows.start_kwh / capacity_kwh if capacity_kwh > 0.0 else 0.0,
        capacity_kwh=capacity_kwh,
        generator=generator_year(flows, generator),
        prices=flows.prices,
        readings=_readings_of(flows) if has_grid else None,
        value_of_lost_load=value_of_lost_load,
        _flows=flows if keep_steps else None,
    )


def _readings_of(flows: Flows, prices: Prices | None = None) -> Readings:
    """Read the meters of a year as its rate plan does, or another's prices.

    Feed-in pay needs two meters: one counts all that the inverter puts out on its AC side, which is
    exported; the other all that home and charger draw, which is imported. Both are on the grid's
    side of the inverter, so what a battery returns is paid as production (see ``charging_conflict``).
    """
    prices = flows.prices if prices is None else prices
    import_kw, export_kw = flows["import_kw"], flows["export_kw"]
    if prices.rate_plan.export.pay == "feed_in":
        behind_kw = flows["pv_to_load_kw"] + flows["battery_to_load_kw"]
        import_kw, export_kw = import_kw + behind_kw, export_kw + behind_kw
    return read_meters(import_kw, export_kw, prices)


def charging_conflict(rate_plan: RatePlan, dispatch: Dispatch) -> str:
    """Return a clause, without subject, on why a rate plan does not go with a dispatch; empty where it does.

    Feed-in pay goes with no battery that is charged from the grid: the production meter would count
    imported energy as the sun's.
    """
    if rate_plan.export.pay == "feed_in" and dispatch.charge_to.max() > 0.0:
        return (
            f"charges the battery from the grid, and under rate plan {rate_plan.name!r} (feed_in) the production meter"
            " would count that as solar energy"
        )
    return ""


def _hours_of(flows: Flows, column: str) -> float:
    """Return the time in which a column is above a crumb [h]."""
    return float((flows[column] > _CRUMB_KW).sum()) * flows.timeline.step_h
