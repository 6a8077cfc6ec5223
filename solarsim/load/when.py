"""When a part of the house runs: windows and the timeline in, steps and days out."""

from calendar import isleap

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline

DAYS = 365


def day_of_step(timeline: Timeline) -> NDArray[np.int64]:
    """Give each wall-clock day of the year a number.

    Parameters
    ----------
    timeline : Timeline
        The year.

    Returns
    -------
    array of int
        For each step the day it begins in, 0 to 364. Days with a clock change have 23 or 25 hours.
        Where daylight saving covers New Year, day 0 has the last step of the year, as the wall clock has.

    Notes
    -----
    29 February is dropped by standard time; under daylight saving one hour of it remains on the
    wall, which is counted to 1 March.
    """
    day = (timeline.wall.astype("datetime64[D]") - np.datetime64(f"{timeline.year}-01-01")).astype(np.int64)
    return day - (day >= 60) if isleap(timeline.year) else day


def of_each_day(values: NDArray[np.int64], timeline: Timeline) -> NDArray[np.int64]:
    """Take the month or day kind of each day, as it is at noon.

    Parameters
    ----------
    values : array of int
        One for each step.
    timeline : Timeline
        The year.

    Returns
    -------
    array of int
        One for each of the 365 days.
    """
    # No clock is changed at noon: each day has exactly one step that begins then or, where clocks stand half an hour
    # off the steps, just after.
    noon = (timeline.minute_of_day >= 12 * 60) & (timeline.minute_of_day < 12 * 60 + 60 * timeline.step_h)
    each = np.zeros(DAYS, np.int64)
    each[day_of_step(timeline)[noon]] = values[noon]
    return each
