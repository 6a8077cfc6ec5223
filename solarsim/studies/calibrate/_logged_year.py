"""A log by calendar year: periods of energy in; covered hours, and sums by month and day, out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.load.meter import Logged
from solarsim.scenario.site import MONTH_DAYS

Floats = NDArray[np.float64]
HOURS = 8760
_LEAP_FROM = 59 * 24
MONTH_OF_HOUR = np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24)


@dataclass(frozen=True, eq=False)
class LoggedYear:
    """What was logged in one calendar year, without 29 February."""

    year: int
    covered: NDArray[np.bool_]  # whether an hour of the year is in the log
    monthly_kwh: Floats  # of the covered hours
    daily_kwh: Floats | None  # of whole days, NaN where a part is missing; None where the log has months only

    @property
    def months(self) -> NDArray[np.int64]:
        """Months (0-11) of which the log has anything."""
        return np.unique(MONTH_OF_HOUR[self.covered])


def hour_of_year(start: NDArray[np.datetime64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return calendar year and hour of the year (0 to 8759) of times in standard time; -1 on 29 February."""
    years = start.astype("datetime64[Y]")
    year = years.astype(np.int64) + 1970
    hour = (start.astype("datetime64[s]") - years.astype("datetime64[s]")).astype(np.int64) // 3600
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    on_it = leap & (hour >= _LEAP_FROM) & (hour < _LEAP_FROM + 24)
    return year, np.where(on_it, -1, hour - 24 * (leap & (hour >= _LEAP_FROM + 24)))


def years_from_log(logged: Logged) -> tuple[LoggedYear, ...]:
    """Return a log by calendar year; the whole February of a leap year counts 28/29."""
    year, hour = hour_of_year(logged.start)
    return tuple(
        _year(int(each), logged.every, hour[(year == each) & (hour >= 0)], logged.kwh[(year == each) & (hour >= 0)])
        for each in np.unique(year[hour >= 0])
    )


def _year(year: int, every: str, hour: NDArray[np.int64], kwh: Floats) -> LoggedYear:
    covered = np.zeros(HOURS, np.bool_)
    month = MONTH_OF_HOUR[hour]
    daily: Floats | None = None
    if every == "month":
        covered[np.isin(MONTH_OF_HOUR, month)] = True
        leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
        kwh = np.where(month == 1, kwh * 28 / 29, kwh) if leap else kwh
    elif every == "day":
        covered.reshape(365, 24)[hour // 24] = True
        daily = np.full(365, np.nan)
        daily[hour // 24] = kwh
    else:
        covered[hour] = True
        hourly = np.full(HOURS, np.nan)
        hourly[hour] = kwh
        daily = np.asarray(hourly.reshape(365, 24).sum(axis=1))
    return LoggedYear(year, covered, np.bincount(month, kwh, minlength=12).astype(np.float64), daily)


def by_month(hourly: Floats, where: NDArray[np.bool_]) -> Floats:
    """Return the sums by month of some hours of a year."""
    return np.asarray(np.bincount(MONTH_OF_HOUR[where], hourly[where], minlength=12), np.float64)
