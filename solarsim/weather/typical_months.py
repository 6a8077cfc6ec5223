"""A typical year of real months: real years in, for each month the one that is most like all of them out.

The order of steps is that of ISO 15927-4, as Beccali et al. (Building Simulation, 2011) describe it (secondary copy);
the plotting positions of the distributions are from memory.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import WeatherError
from solarsim.scenario.site import MONTH_DAYS
from solarsim.weather.read import checked_year
from solarsim.weather.services.real_years import RealYear
from solarsim.weather.typical_year import PLAUSIBLE, Weather

_Floats = NDArray[np.float64]
#: Of three years all would be candidates, and wind alone would decide (common practice).
LEAST_YEARS = 5
#: ISO 15927-4 wants at least so many (from memory).
STANDARD_YEARS = 10
_CANDIDATES = 3
_MONTH_OF_DAY = np.repeat(np.arange(12), MONTH_DAYS)
_MONTH_OF_HOUR = np.repeat(_MONTH_OF_DAY, 24)


class TypicalMonth(NamedTuple):
    """Which year a month was taken from, and how far that month is from all years'.

    Attributes
    ----------
    year : int
        The calendar year.
    ghi_distance, temp_distance, humidity_distance : float
        Finkelstein-Schafer statistics, 0 to 1.
    wind_apart_m_s : float
        Its mean wind less that of all years [m/s].
    """

    year: int
    ghi_distance: float
    temp_distance: float
    humidity_distance: float
    wind_apart_m_s: float


def finkelstein_schafer(own: _Floats, every: _Floats) -> float:
    """Return how far the days of one month are from those of the same month of all years.

    Parameters
    ----------
    own : array of float
        A daily value of each day of the month.
    every : array of float
        The same of all years, the month itself included.

    Returns
    -------
    float
        The mean over its days of the distance between the two cumulative distributions, 0 to 1: the number of days at
        or below the value, divided by one more than the number of days.

    Examples
    --------
    >>> import numpy as np
    >>> month = np.array([1.0, 2.0, 3.0])
    >>> finkelstein_schafer(month, month)
    0.0
    """
    shares = (np.searchsorted(np.sort(days), own, "right") / (days.size + 1) for days in (own, every))
    return float(np.abs(np.subtract(*shares)).mean())


def typical_months(years: Sequence[RealYear]) -> tuple[TypicalMonth, ...]:
    """Choose the year from which each month of a typical year is taken.

    Daily sums of GHI and daily means of temperature and relative humidity are each ranked by ``finkelstein_schafer``;
    of the three years with the lowest sum of ranks, that one is taken whose mean wind is nearest to all years'. Equal
    years have equal ranks, and the earliest is taken.

    Parameters
    ----------
    years : sequence of RealYear
        At least five, in the order of time.

    Returns
    -------
    tuple of TypicalMonth
        One for each month.

    Raises
    ------
    WeatherError
        There are fewer than five years, or a month has no humidity.
    """
    if len(years) < LEAST_YEARS:
        raise WeatherError(f"a typical year needs at least {LEAST_YEARS} years; got {len(years)}")
    daily = {
        "ghi": _days([each.weather.ghi_w_m2 for each in years]),
        "temp": _days([each.weather.temp_air_c for each in years]),
        "humidity": _days([each.relative_humidity for each in years]),
        "wind": _days([each.weather.wind_speed_m_s for each in years]),
    }
    return tuple(
        _chosen(
            [each.year for each in years],
            {name: days[:, month == _MONTH_OF_DAY] for name, days in daily.items()},
            month + 1,
        )
        for month in range(12)
    )


def _days(hours: Sequence[_Floats]) -> _Floats:
    """Return daily means, a row for each year; NaN on days without any value."""
    values = np.array(hours).reshape(len(hours), 365, 24)
    there = np.isfinite(values)
    count = there.sum(axis=2)
    total = np.where(there, values, 0.0).sum(axis=2)
    return np.asarray(np.divide(total, count, out=np.full(count.shape, np.nan), where=count > 0), np.float64)


def _chosen(years: list[int], days: dict[str, _Floats], month: int) -> TypicalMonth:
    """Return the choice for one month, of daily values with a row for each year."""
    distances = []
    for name in ("ghi", "temp", "humidity"):
        whole = [row[np.isfinite(row)] for row in days[name]]
        empty = [year for year, row in zip(years, whole, strict=True) if not row.size]
        if empty:
            raise WeatherError(f"month {month} of {empty[0]} has no relative humidity, which a typical year needs")
        every = np.concatenate(whole)
        # Twelve digits: equal years differ in no rank by the order of a sum.
        distances.append(np.array([round(finkelstein_schafer(row, every), 12) for row in whole]))
    ranks = sum(np.searchsorted(np.sort(each), each) for each in distances)
    nearest = np.argsort(ranks, kind="stable")[:_CANDIDATES]
    wind_apart = days["wind"].mean(axis=1) - days["wind"].mean()
    best = int(min(nearest.tolist(), key=lambda place: (round(abs(float(wind_apart[place])), 9), years[place])))
    ghi, temp, humidity = (float(each[best]) for each in distances)
    return TypicalMonth(years[best], ghi, temp, humidity, float(wind_apart[best]))


def typical_year(years: Sequence[RealYear], months: Sequence[TypicalMonth], name: str) -> Weather:
    """Put a typical year together of the months that were chosen.

    Every hour is a real one: temperature and wind are not smoothed where two months meet, as the standard does within
    eight hours of midnight (from memory).

    Parameters
    ----------
    years : sequence of RealYear
        All of one place and clock.
    months : sequence of TypicalMonth
        Twelve.
    name : str
        Of the year, for notes.

    Returns
    -------
    Weather
        With the year of each month.

    Raises
    ------
    WeatherError
        See ``read_weather``.
    """
    by_year = {each.year: each.weather for each in years}
    columns: dict[str, Any] = {
        column: np.concatenate(
            [getattr(by_year[month.year], column)[number == _MONTH_OF_HOUR] for number, month in enumerate(months)]
        )
        for column in PLAUSIBLE
    }
    first = years[0].weather
    joined = replace(first, notes=(), year_of_month=tuple(month.year for month in months), **columns)
    return checked_year(joined, name)
