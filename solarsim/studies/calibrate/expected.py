"""What a home's model expects a log to hold: a year of weather in, hourly energy for any system factor out."""

from dataclasses import dataclass, replace
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from solarsim.home import Home, home_from
from solarsim.run import simulate, without_battery
from solarsim.scenario.model import Scenario
from solarsim.scenario.production_log import MeasuredProduction
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.scenario.site import MonthlyMeans, Site, WeatherFile
from solarsim.scenario.system import Load

Floats = NDArray[np.float64]
_WithDays = TypeVar("_WithDays", Site, RatePlan)


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
    free = (
        {}
        if log.strategy is not None
        else {
            "grid": None,
            "load": Load.model_validate({"monthly_kwh": (1.0,) * 12, "shape": "evenings"}),
        }
    )
    there = scenario.model_copy(
        update={
            "site": _without_dates(scenario.site).model_copy(update={"calendar_year": year}),
            "rate_plan": _without_dates(scenario.rate_plan),
            "weather": weather,
            "production": scenario.production.model_copy(
                update={"system_factor": None, "system_factor_by_season": None}
            ),
            **free,
        }
    )
    return ExpectedYear(home_from(there), log.side, log.strategy)


def _without_dates(part: _WithDays) -> _WithDays:
    """Drop holidays that are dates of another year; a country's calendar goes with the year."""
    if part.holidays is None or part.holidays.country is not None:
        return part
    return part.model_copy(update={"holidays": None})
