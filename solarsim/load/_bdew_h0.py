"""The German standard household profile H0: its data file in, one relative weight for each step out.

VDEW (1999), "Repraesentative VDEW-Lastprofile", M-28/99, which today's BDEW carries on: quarter hours of a day by
season (winter 1 November to 20 March, summer 15 May to 14 September, else transition) and by workday, Saturday and
Sunday, smoothed over the year by a polynomial. The figures are not ours and not in this package: the user names the
file that has them.
"""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import DAY_KINDS, Timeline
from solarsim.errors import LoadError, file_bytes

_SEASONS = ("winter", "transition", "summer")
_DAYS = ("1", "6", "7")  # ISO weekdays for workday, Saturday, Sunday; the file has all seven
_QUARTERS = 96
_POLYNOMIAL = (-3.92e-10, 3.2e-7, -7.02e-5, 2.1e-3, 1.24)  # of the day of the year, 1 January = 1


def read_h0(path: Path) -> NDArray[np.float64]:
    """Read power by season, workday/Saturday/Sunday and quarter hour [kW], for 1,000 kWh a year.

    The CSV has columns ``period`` (winter, transition, summer), ``weekday`` (1 Monday to 7 Sunday) and ``h0``, with 96
    quarter hours in a row for each pair of them.
    """
    import csv

    try:
        rows = list(csv.DictReader(file_bytes(path, LoadError).decode("utf-8-sig").splitlines()))
    except UnicodeDecodeError as error:
        raise LoadError(f"{path}: is not UTF-8 text (byte {error.start})") from None
    for column in ("period", "weekday", "h0"):
        if not rows or column not in rows[0]:
            raise LoadError(f"{path}: has no column {column!r}; the columns are period, weekday and h0")
    profile = np.empty((len(_SEASONS), len(_DAYS), _QUARTERS))
    for season, name in enumerate(_SEASONS):
        for day, weekday in enumerate(_DAYS):
            cells = [row["h0"] for row in rows if (row["period"], row["weekday"]) == (name, weekday)]
            if len(cells) != _QUARTERS:
                raise LoadError(
                    f"{path}: has {len(cells)} rows of period {name!r} and weekday {weekday}, must have {_QUARTERS}"
                )
            profile[season, day] = [_power(cell, path) for cell in cells]
    if not profile.any():
        raise LoadError(f"{path}: every value of h0 is 0")
    return profile


def static_h0(profile: NDArray[np.float64], timeline: Timeline) -> NDArray[np.float64]:
    """Return the profile on the year as it is printed: relative power of each step by the wall clock.

    Holidays are Sundays; 24 and 31 December are Saturdays unless they are Sundays or holidays (from memory of the
    standard).
    """
    day_of_month = (timeline.wall.astype("datetime64[D]") - timeline.wall.astype("datetime64[M]")).astype(np.int64) + 1
    date = timeline.month * 100 + day_of_month
    season = np.where((date >= 1101) | (date <= 320), 0, np.where((date >= 515) & (date <= 914), 2, 1))
    day = np.clip(timeline.weekday - 4, 0, 2)
    day = np.where((day == 0) & np.isin(date, (1224, 1231)), 1, day)
    day = np.where(timeline.day_kind == DAY_KINDS.index("holiday"), 2, day)
    in_step = round(timeline.step_h * 4)
    by_step = profile.reshape(*profile.shape[:2], -1, in_step).mean(axis=3)
    return np.asarray(by_step[season, day, timeline.minute_of_day // (15 * in_step)], np.float64)


def h0_year_factor(timeline: Timeline) -> NDArray[np.float64]:
    """Return the polynomial that smooths the profile: above 1 in winter, below in summer, the same all day."""
    day = np.unique(timeline.wall.astype("datetime64[D]"), return_inverse=True)[1] + 1.0
    return np.asarray(np.polyval(_POLYNOMIAL, day), np.float64)


def _power(cell: str, path: Path) -> float:
    try:
        power = float(cell)
    except (TypeError, ValueError):
        power = -1.0
    if not 0.0 <= power < 1e6:
        raise LoadError(f"{path}: h0 is {cell!r}, must be a power of 0 or more")
    return power
