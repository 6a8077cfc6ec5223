"""The days of a year: the timeline in, the day of each step and what holds on each day out."""

from calendar import isleap

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline

DAYS = 365


def day_of_step(timeline: Timeline) -> NDArray[np.int64]:
    """Return for each step the wall-clock day it begins in, 0 to 364; days with a clock change have 23 or 25 hours.

    29 February is dropped by standard time; under daylight saving one hour of it remains on the wall clock and counts
    to 1 March. Where daylight saving covers New Year, day 0 has the last step of the year, as the wall clock has.
    """
    day = (timeline.wall.astype("datetime64[D]") - np.datetime64(f"{timeline.year}-01-01")).astype(np.int64)
    return day - (day >= 60) if isleap(timeline.year) else day


def of_each_day(values: NDArray[np.int64], timeline: Timeline) -> NDArray[np.int64]:
    """Return the month or day kind of each of the 365 days, as it is at noon."""
    # No clock is changed at noon: each day has exactly one step that begins then or, where clocks are half an hour
    # off the steps, just after.
    noon = (timeline.minute_of_day >= 12 * 60) & (timeline.minute_of_day < 12 * 60 + 60 * timeline.step_h)
    each = np.zeros(DAYS, np.int64)
    each[day_of_step(timeline)[noon]] = values[noon]
    return each
