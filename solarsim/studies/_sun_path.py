"""The sun's path on the days of its highest, middle and lowest noon: a place and its clock in, angles out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline, wall_clock
from solarsim.weather.sun import Somewhere, sun_up

Floats = NDArray[np.float64]
_DAYS = ("06-21", "03-20", "12-21")  # solstices and an equinox; a day more or less moves the path by 0.4 deg at most
_STEP_S = 600


@dataclass(frozen=True, eq=False)
class SunDay:
    """The sun's path on one day: where it is every ten minutes while it is up [deg], and the wall clock [h]."""

    date: str
    azimuth_deg: Floats
    elevation_deg: Floats
    clock_h: Floats


def sun_days(place: Somewhere, timeline: Timeline) -> tuple[SunDay, ...]:
    """Return the sun's path on 21 June, 20 March and 21 December; no points where it does not rise."""
    return tuple(_sun_day(place, timeline, f"{timeline.year}-{day}") for day in _DAYS)


def _sun_day(place: Somewhere, timeline: Timeline, date: str) -> SunDay:
    offset_s = np.timedelta64(round(timeline.utc_offset_h * 3600), "s")
    # Steps begin half a step early: the sun's position is that of their middle, which then is a whole hour.
    seconds = np.arange(0, 86400, _STEP_S) - _STEP_S // 2
    start = np.datetime64(date, "s") - offset_s + seconds.astype("timedelta64[s]")
    sun = sun_up(place, start, _STEP_S / 3600)
    wall = wall_clock(sun.instant.tz_localize(None).to_numpy().astype("datetime64[s]"), timeline.zone)
    clock_h = (wall - wall.astype("datetime64[D]")) / np.timedelta64(3600, "s")
    return SunDay(date, sun.azimuth_deg, 90.0 - sun.apparent_zenith_deg, clock_h)
