"""What the model expects a log to hold: a year of weather in; hourly energy for any system factor out."""

from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from solarsim.home import Home, home_from
from solarsim.run import simulate, without_battery
from solarsim.scenario.model import Scenario
from solarsim.scenario.production_log import MeasuredProduction
from solarsim.scenario.site import MonthlyMeans, WeatherFile

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ExpectedYear:
    """The model of one year of weather."""

    home: Home  # on the calendar year, without a system factor
    side: Literal["ac", "dc"]  # where the log was taken
    strategy: str | None  # that limited the production, if one did

    @property
    def month(self) -> NDArray[np.int64]:
        """Month of each hour, 1 to 12."""
        return self.home.timeline.standard_month

    def kwh(self, factor: Floats | float) -> Floats:
        """Return each hour's energy for its system factor, on the log's side of the inverter [kWh].

        DC: what the inverter accepts. AC: what leaves the inverter, less its standby while it converts, which no meter
        behind it sees. With a strategy: what the strategy and the battery leave; on the AC side, discharge is included.
        """
        home = replace(self.home, production=self.home.production.times(factor))
        if self.strategy is None and self.side == "dc":
            return home.production.dc_kw
        flows = (
            without_battery(home.scenario, home)
            if self.strategy is None
            else simulate(home.scenario, self.strategy, home)
        ).flows
        if self.side == "dc":
            return flows["pv_available_kw"] - flows["clipped_kw"] - flows["curtailed_kw"]
        out = sum(flows[f"{source}_to_{sink}_kw"] for source in ("pv", "battery") for sink in ("load", "grid"))
        return np.asarray(np.maximum(out - flows["standby_kw"], 0.0))


def expected_year(
    scenario: Scenario, log: MeasuredProduction, year: int, weather: WeatherFile | MonthlyMeans
) -> ExpectedYear:
    """Return the model of a scenario's arrays for one year of weather; without a strategy nothing limits export."""
    changes: dict[str, Any] = {
        "site.calendar_year": year,
        "weather": weather,
        "production.system_factor": None,
        "production.system_factor_by_season": None,
    }
    for key, table in (("site", scenario.site), ("rate_plan", scenario.rate_plan)):
        if table.holidays is not None and table.holidays.country is None:  # dates of another year
            changes[f"{key}.holidays"] = None
    if log.strategy is None:
        changes |= {"grid": None, "load": {"monthly_kwh": [1.0] * 12, "shape": "evenings", "critical_share": 1.0}}
    there = scenario.changed(changes)
    return ExpectedYear(home_from(there), log.side, log.strategy)
