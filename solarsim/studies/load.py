"""The home's load by itself: a scenario in, its year by month, day and hour out; no system is run."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import DAY_KINDS, Timeline
from solarsim.load.household import Household, household_load
from solarsim.load.shapes import SEASONS, season_of
from solarsim.scenario.model import Scenario
from solarsim.weather.source import weather_for

_BASE_PERCENT = 5.0


@dataclass(frozen=True, eq=False)
class LoadYear:
    """A load looked at from all sides; months, days and hours are those of the wall clock.

    Attributes
    ----------
    scenario : Scenario
        What the user wrote.
    timeline : Timeline
        Its year.
    household : Household
        The load, its parts, and what was read from a meter.
    latitude_deg : float
        Of the place; it tells when it is summer [deg].
    """

    scenario: Scenario
    timeline: Timeline
    household: Household
    latitude_deg: float

    @property
    def load_kw(self) -> NDArray[np.float64]:
        """Mean power of each step [kW]."""
        return self.household.load_kw

    @property
    def annual_kwh(self) -> float:
        """Energy of the year [kWh]."""
        return float(self.load_kw.sum() * self.timeline.step_h)

    @property
    def critical_kwh(self) -> float:
        """Energy of the parts that stay on in an outage [kWh]."""
        return float(self.household.critical_kw.sum() * self.timeline.step_h)

    @property
    def monthly_kwh(self) -> NDArray[np.float64]:
        """Energy by month [kWh]."""
        kwh = np.bincount(self.timeline.month - 1, self.load_kw, minlength=12) * self.timeline.step_h
        return np.asarray(kwh, np.float64)

    @property
    def monthly_peak_kw(self) -> NDArray[np.float64]:
        """Highest step of each month [kW]."""
        return np.array([self.load_kw[self.timeline.month == month].max() for month in range(1, 13)])

    @property
    def monthly_base_kw(self) -> NDArray[np.float64]:
        """What 5 % of each month's steps stay below [kW]."""
        of_month = (self.load_kw[self.timeline.month == month] for month in range(1, 13))
        return np.array([np.percentile(load_kw, _BASE_PERCENT) for load_kw in of_month])

    @property
    def base_load_kw(self) -> float:
        """What 5 % of the year's steps stay below [kW]."""
        return float(np.percentile(self.load_kw, _BASE_PERCENT))

    @property
    def peak_kw(self) -> float:
        """Highest step of the year [kW]."""
        return float(self.load_kw.max())

    @property
    def peak_time(self) -> str:
        """When it begins, by the wall clock."""
        return str(self.timeline.wall[self.load_kw.argmax()].astype("datetime64[m]")).replace("T", " ")

    @property
    def annual_kwh_by_part(self) -> dict[str, float]:
        """Energy of each part of the house by its name [kWh]."""
        return {name: float(kw.sum() * self.timeline.step_h) for name, kw in self.household.kw_by_part.items()}

    def by_hour_and_day(self) -> NDArray[np.float64]:
        """Lay the year out as a map.

        Returns
        -------
        array of float
            Mean power by hour of the day and day of the year, 24 x 365 [kW]; NaN in the hour that
            clocks skip in spring.
        """
        day = np.unique(self.timeline.wall.astype("datetime64[D]"), return_inverse=True)[1]
        place = self.timeline.minute_of_day // 60 * 365 + day
        sums, steps = (np.bincount(place, weights, minlength=24 * 365) for weights in (self.load_kw, None))
        with np.errstate(invalid="ignore"):
            return np.asarray((sums / steps).reshape(24, 365), np.float64)

    def mean_days(self) -> dict[str, NDArray[np.float64]]:
        """Average the days of each season.

        Returns
        -------
        dict of str to array of float
            By season: mean power of weekdays, and of weekends and holidays, by hour, 2 x 24 [kW].
        """
        season = season_of(self.timeline.month, self.latitude_deg)
        free_day = (self.timeline.day_kind != DAY_KINDS.index("weekday")).astype(np.int64)
        place = (season * 2 + free_day) * 24 + self.timeline.minute_of_day // 60
        size = len(SEASONS) * 48
        sums, steps = (np.bincount(place, weights, minlength=size) for weights in (self.load_kw, None))
        means = (sums / steps).reshape(len(SEASONS), 2, 24)
        return dict(zip(SEASONS, means, strict=True))


def load_year(scenario: Scenario) -> LoadYear:
    """Compute a home's load without any system.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.

    Returns
    -------
    LoadYear
        Its load on its year.

    Raises
    ------
    InputError
        A file that the scenario names is wrong, or a part of the house cannot be meant.
    """
    timeline = scenario.site.timeline()
    weather = weather_for(scenario, timeline)
    return LoadYear(scenario, timeline, household_load(scenario, timeline, weather), weather.latitude_deg)
