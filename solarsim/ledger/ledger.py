"""The ledger of one year: flows, rate plan and prices in, kilowatt-hours by month, shares and the bill out."""

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.engine.records import Dispatch
from solarsim.ledger.bill import Bill, bill_for, metered
from solarsim.ledger.flows import Flows, balance_error_kw
from solarsim.ledger.generator import GeneratorYear, generator_year
from solarsim.ledger.prices import Prices
from solarsim.scenario.backup.backup import Generator
from solarsim.scenario.glossary import ENERGY
from solarsim.scenario.rate_plan.rate_plan import RatePlan

if TYPE_CHECKING:
    import pandas as pd

_SUMS = {
    "pv_available_kwh": "pv_available_kw",
    "load_kwh": "load_kw",
    "standby_kwh": "standby_kw",
    "import_kwh": "import_kw",
    "export_kwh": "export_kw",
    "clipped_kwh": "clipped_kw",
    "curtailed_kwh": "curtailed_kw",
    "unserved_kwh": "unserved_kw",
    "losses_kwh": "losses_kw",
    "temperature_blocked_kwh": "temperature_blocked_kw",
}
_CRUMB_KW = 1e-6


@dataclass(frozen=True, eq=False)
class Ledger:
    """A year in kilowatt-hours and money.

    Attributes
    ----------
    monthly_kwh : dict of str to array of float
        For each key of ``glossary.ENERGY`` the twelve sums, wall-clock months [kWh].
    self_consumption, self_sufficiency : float
        0-1, as in ``glossary.ANNUAL``.
    equivalent_full_cycles : float
        Of the battery in the year.
    temperature_blocked_h : float
        Time in which the cells' temperature kept solar power out of the battery [h].
    peak_import_kw : float
        Highest mean of a step [kW].
    balance_error_kw : float
        See ``flows.balance_error_kw`` [kW].
    generator : GeneratorYear
        Hours, starts, fuel.
    bill : Bill
        The year's lines.
    """

    monthly_kwh: dict[str, NDArray[np.float64]]
    self_consumption: float
    self_sufficiency: float
    equivalent_full_cycles: float
    temperature_blocked_h: float
    peak_import_kw: float
    balance_error_kw: float
    generator: GeneratorYear
    bill: Bill

    @cached_property
    def annual_kwh(self) -> dict[str, float]:
        """Add up the months: for each key of ``glossary.ENERGY`` the year's sum [kWh]."""
        return {key: float(months.sum()) for key, months in self.monthly_kwh.items()}

    def monthly(self) -> "pd.DataFrame":
        """Give kWh and bill by month as a pandas table, indexed by month 1 to 12."""
        import pandas as pd

        table = pd.DataFrame(self.monthly_kwh, index=pd.RangeIndex(1, 13, name="month"))
        table["bill"] = [float(self.bill.month_total(month)) for month in range(1, 13)]
        return table


def ledger_from(flows: Flows, rate_plan: RatePlan, prices: Prices, generator: Generator | None = None) -> Ledger:
    """Close the books of a year.

    Parameters
    ----------
    flows : Flows
        Every step.
    rate_plan : RatePlan
        The rate plan.
    prices : Prices
        The rate plan on the timeline.
    generator : Generator, optional
        What burned fuel, where there is one.

    Returns
    -------
    Ledger
        Sums of exactly these flows, and the rate plan applied to exactly these flows.
    """
    month, step_h = flows.timeline.month - 1, flows.timeline.step_h

    def by_month(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.bincount(month, values, minlength=12), np.float64)

    monthly = {key: by_month(flows[column]) * step_h for key, column in _SUMS.items()}
    monthly["pv_used_kwh"] = monthly["pv_available_kwh"] - monthly["clipped_kwh"] - monthly["curtailed_kwh"]
    discharging = flows["battery_to_load_kw"] + flows["battery_to_grid_kw"] > 0.0
    monthly["battery_in_kwh"] = by_month(np.maximum(flows.battery_change_kwh, 0.0))
    monthly["battery_out_kwh"] = by_month(np.where(discharging, -flows.battery_change_kwh, 0.0))
    drawn = float(monthly["battery_out_kwh"].sum())
    self_consumption, self_sufficiency = _shares(flows)
    return Ledger(
        monthly_kwh={key: monthly[key] for key in ENERGY},
        self_consumption=self_consumption,
        self_sufficiency=self_sufficiency,
        equivalent_full_cycles=drawn / flows.capacity_kwh if flows.capacity_kwh > 0.0 else 0.0,
        temperature_blocked_h=float((flows["temperature_blocked_kw"] > _CRUMB_KW).sum()) * step_h,
        peak_import_kw=float(flows["import_kw"].max()),
        balance_error_kw=balance_error_kw(flows),
        generator=generator_year(flows, generator),
        bill=bill_of(flows, rate_plan, prices),
    )


def bill_of(flows: Flows, rate_plan: RatePlan, prices: Prices) -> Bill:
    """Read the meters of a year as a rate plan does, and bill it.

    Parameters
    ----------
    flows : Flows
        Every step.
    rate_plan, prices
        The rate plan, and on the timeline.

    Returns
    -------
    Bill
        The year's lines.
    """
    behind_kw = flows["pv_to_load_kw"] + flows["battery_to_load_kw"]
    bought_kw, sold_kw = metered(rate_plan, flows["import_kw"], flows["export_kw"], behind_kw)
    return bill_for(bought_kw, sold_kw, rate_plan, prices, flows.timeline)


def charging_conflict(rate_plan: RatePlan, dispatch: Dispatch) -> str:
    """Say why a rate plan does not go with a dispatch; empty where it does.

    Parameters
    ----------
    rate_plan : RatePlan
        Feed-in pay goes with no battery that is charged from the grid: the production meter would
        count bought energy as the sun's.
    dispatch : Dispatch
        What a strategy asks for.

    Returns
    -------
    str
        A clause without subject.
    """
    if rate_plan.export.pay == "feed_in" and dispatch.charge_to.max() > 0.0:
        return (
            f"charges the battery from the grid, and under rate plan {rate_plan.name!r} (feed_in) the production meter"
            " would count that as solar energy"
        )
    return ""


def _shares(flows: Flows) -> tuple[float, float]:
    """Tell which share of the sun stayed at home, and which share of demand the sun served.

    What leaves the battery is sun and grid in the proportion in which they entered it over the year.
    """
    from_sun = float(flows["pv_to_battery_kw"].sum())
    entered = from_sun + float(flows["grid_to_battery_kw"].sum())
    sun_in_battery = from_sun / entered if entered > 0.0 else 0.0

    used = float((flows["pv_to_load_kw"] + flows["pv_to_battery_kw"] + flows["pv_to_grid_kw"]).sum())
    sold = float((flows["pv_to_grid_kw"] + sun_in_battery * flows["battery_to_grid_kw"]).sum())
    demand = float((flows["load_kw"] + flows["standby_kw"]).sum())
    served = float((flows["pv_to_load_kw"] + sun_in_battery * flows["battery_to_load_kw"]).sum())
    return (1.0 - sold / used if used > 0.0 else 0.0), (served / demand if demand > 0.0 else 0.0)
