"""What a home's model expects a log to hold: a year of weather in, hourly energy for any system factor out."""

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
    """The model of one year of weather.

    Attributes
    ----------
    home : Home
        On the calendar year, its system factor taken out.
    side : str
        Where the log was taken: ``ac`` or ``dc``.
    strategy : str or None
        Which program cut the production; None where nothing did.
    """

    home: Home
    side: Literal["ac", "dc"]
    strategy: str | None

    @property
    def month(self) -> NDArray[np.int64]:
        """Month of each hour, 1 to 12."""
        return self.home.timeline.standard_month

    def kwh(self, factor: Floats | float) -> Floats:
        """Give the energy of each hour.

        Parameters
        ----------
        factor : array of float or float
            System factor of each hour, or of all.

        Returns
        -------
        array of float
            On the log's side of the inverter [kWh]: DC power that the inverter takes; or AC power that leaves it, less
            its standby while it converts, which no meter behind it sees. Under a strategy: what is left after its
            program and its battery; on the AC side what the battery gives is in it.
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
    """Compute a scenario's arrays under one year of weather.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    log : MeasuredProduction
        Its side and strategy.
    year : int
        The calendar year.
    weather : WeatherFile or MonthlyMeans
        The sky.

    Returns
    -------
    ExpectedYear
        Without a strategy nothing limits what is sold, and the home's load does not matter.

    Raises
    ------
    InputError
        See ``home_from``.
    """
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
