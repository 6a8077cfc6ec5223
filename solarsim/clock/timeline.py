"""The timeline of the year: a site's calendar in, one label for every step out.

A run has 8,760 / ``step_h`` steps of ``step_h`` hours each, labelled by the START of the interval in the
site's standard time, which is a fixed offset from UTC; 29 February is dropped. People, prices and
inverter programs live by the wall clock, so each step also carries the month, weekday, minute and
day kind that a clock on the wall shows when the step begins.
"""

from calendar import isleap
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.holidays import Holidays, holidays_in

DAY_KINDS = ("weekday", "weekend", "holiday")
#: How far the sun may be from a zone's standard time: the widest country with one clock spans about that much [h].
MOST_APART_H = 3
DAY_NAMES = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, eq=False)
class Timeline:
    """The steps of one calendar year at one site.

    Every array has one entry for each step.

    Attributes
    ----------
    year : int
        Calendar year; it fixes weekdays, holidays and clock changes.
    zone : str
        IANA time zone.
    utc_offset_h : float
        Standard time minus UTC [h].
    step_h : float
        Length of a step [h].
    utc_start : array of datetime64[s]
        Start of each step, UTC.
    wall : array of datetime64[s]
        What a clock on the wall shows at the start of each step. Where daylight saving covers New
        Year, the last hour of standard time is the first of the same calendar year: the year is a
        circle.
    wall_offset_h : array of float
        Wall clock minus UTC at the start of each step [h].
    month, weekday, minute_of_day : arrays of int
        Wall-clock month (1-12), weekday (0 = Monday) and minute since midnight.
    day_kind : array of int
        Index into ``DAY_KINDS``; a holiday is a holiday whatever weekday it falls on.
    """

    year: int
    zone: str
    utc_offset_h: float
    step_h: float
    utc_start: NDArray[np.datetime64]
    wall: NDArray[np.datetime64]
    wall_offset_h: NDArray[np.float64]
    month: NDArray[np.int64]
    weekday: NDArray[np.int64]
    minute_of_day: NDArray[np.int64]
    day_kind: NDArray[np.int64]

    def __len__(self) -> int:
        return self.utc_start.size

    @property
    def step_name(self) -> str:
        """Name of a step: ``hour``, ``half hour`` or ``quarter hour``."""
        return {60: "hour", 30: "half hour", 15: "quarter hour"}[round(60 * self.step_h)]

    @property
    def mean_name(self) -> str:
        """Name of the mean of a step, as on a bill: ``hourly mean`` or ``15-minute mean``."""
        return "hourly mean" if self.step_h == 1.0 else f"{60 * self.step_h:g}-minute mean"

    def sun_apart_h(self, longitude_deg: float) -> float:
        """Return how far the mean sun of a longitude is from the zone's standard time.

        Parameters
        ----------
        longitude_deg : float
            East positive [deg].

        Returns
        -------
        float
            In either direction; the date line is no distance [h].
        """
        return abs((self.utc_offset_h - longitude_deg / 15 + 12) % 24 - 12)

    @property
    def notes(self) -> tuple[str, ...]:
        """For the user: where daylight saving shifts the clock by a part of a step."""
        late_min = round(60 * float(((self.wall_offset_h - self.utc_offset_h) % self.step_h).max()))
        if not late_min:
            return ()
        return (
            f"{self.zone}: during daylight saving, windows begin and end {late_min} minutes late, because each"
            f" {self.step_name} of the run begins {late_min} minutes past that of the clock; site.step_minutes ="
            f" {late_min} avoids it",
        )

    @cached_property
    def day_of_month(self) -> NDArray[np.int64]:
        """Wall-clock day of the month of each step, from 1."""
        day = self.wall.astype("datetime64[D]")
        return np.asarray((day - day.astype("datetime64[M]")).astype(np.int64) + 1)

    @cached_property
    def standard(self) -> NDArray[np.datetime64]:
        """Start of each step in standard time."""
        return self.utc_start + np.timedelta64(round(self.utc_offset_h * 3600), "s")

    @cached_property
    def standard_month(self) -> NDArray[np.int64]:
        """Month (1-12) of each step in standard time, as weather files count months."""
        return _month(self.standard)

    @cached_property
    def day_of_year(self) -> NDArray[np.int64]:
        """Day of each step by the wall clock, 0 to 364: a run has no 29 February."""
        return np.asarray(np.unique(self.wall.astype("datetime64[D]"), return_inverse=True)[1])

    def by_hour_and_day(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the means of values by hour of the wall clock and day of the year, 24 x 365.

        Parameters
        ----------
        values : array of float
            One for each step.

        Returns
        -------
        array of float
            The hour that clocks skip in spring is NaN.
        """
        place = self.minute_of_day // 60 * 365 + self.day_of_year
        sums, steps = (np.bincount(place, weights, minlength=24 * 365) for weights in (values, None))
        with np.errstate(invalid="ignore"):
            return np.asarray((sums / steps).reshape(24, 365), np.float64)

    @cached_property
    def labels(self) -> list[str]:
        """Start of each step as ISO 8601 in standard time with its offset."""
        suffix = offset_text(self.utc_offset_h)
        return [text + suffix for text in np.datetime_as_string(self.standard, unit="s").tolist()]

    @cached_property
    def local_labels(self) -> list[str]:
        """Start of each step as ISO 8601 by the wall clock, with the offset of that moment."""
        suffix = {hours: offset_text(hours) for hours in np.unique(self.wall_offset_h).tolist()}
        shown = self.utc_start + np.round(self.wall_offset_h * 3600).astype("timedelta64[s]")
        texts = np.datetime_as_string(shown, unit="s").tolist()
        return [text + suffix[hours] for text, hours in zip(texts, self.wall_offset_h.tolist(), strict=True)]


def offset_text(hours: float) -> str:
    """Return an offset from UTC as ISO 8601 has it.

    Parameters
    ----------
    hours : float
        East positive [h].

    Returns
    -------
    str
        With its sign.

    Examples
    --------
    >>> offset_text(-3.5)
    '-03:30'
    """
    minutes = round(hours * 60)
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def timeline_for(time_zone: str, year: int, step_h: float = 1.0, holidays: Holidays | None = None) -> Timeline:
    """Build the timeline of a calendar year.

    Parameters
    ----------
    time_zone : str
        IANA time zone.
    year : int
        Calendar year.
    step_h : float
        Length of a step [h]: 1, 0.5 or 0.25.
    holidays : Holidays, optional
        Which days count as holidays; none if left out.

    Returns
    -------
    Timeline
        8,760 / ``step_h`` steps.

    Notes
    -----
    Standard time is the smallest offset from UTC that the zone uses in the year. A zone that
    changes its standard time within the year is not modeled.
    """
    import pandas as pd

    zone = time_zone
    noon = pd.date_range(f"{year}-01-01 12:00", f"{year}-12-31 12:00", freq="D", tz=zone)
    offset = (noon.tz_localize(None) - noon.tz_convert("UTC").tz_localize(None)).min()
    offset_h = offset.total_seconds() / 3600

    step_s = round(step_h * 3600)
    steps = (366 if isleap(year) else 365) * 86400 // step_s
    local = np.datetime64(f"{year}-01-01", "s") + np.arange(steps) * np.timedelta64(step_s, "s")
    if isleap(year):
        local = local[local.astype("datetime64[D]") != np.datetime64(f"{year}-02-29")]
    utc = local - np.timedelta64(round(offset_h * 3600), "s")

    wall = wall_clock(utc, zone)
    wall_offset_h = (wall - utc).astype(np.float64) / 3600
    year_start, year_end = np.datetime64(f"{year}-01-01", "s"), np.datetime64(f"{year + 1}-01-01", "s")
    wall = np.where(wall >= year_end, wall - (year_end - year_start), wall)
    day = wall.astype("datetime64[D]")
    weekday = (day.astype(np.int64) + 3) % 7  # day 0 of the epoch was a Thursday
    return Timeline(
        year=year,
        zone=zone,
        utc_offset_h=offset_h,
        step_h=step_h,
        utc_start=utc,
        wall=wall,
        wall_offset_h=wall_offset_h,
        month=_month(wall),
        weekday=weekday,
        minute_of_day=(wall - day).astype("timedelta64[m]").astype(np.int64),
        day_kind=_day_kinds(wall, [] if holidays is None else holidays_in(holidays, year)),
    )


def wall_clock(utc: NDArray[np.datetime64], zone: str) -> NDArray[np.datetime64]:
    """Return what a clock on the wall shows at instants in UTC, daylight saving included.

    Parameters
    ----------
    utc : array of datetime64[s]
        Instants.
    zone : str
        IANA time zone.

    Returns
    -------
    array of datetime64[s]
        Date and time of the same instants.
    """
    import pandas as pd

    wall = pd.DatetimeIndex(utc, tz="UTC").tz_convert(zone).tz_localize(None).to_numpy()
    return wall.astype("datetime64[s]")


def weeks_of(timeline: Timeline) -> Iterator[tuple[np.datetime64, NDArray[np.int64]]]:
    """Yield the whole weeks of a year by the wall clock, from Monday to Sunday.

    Parameters
    ----------
    timeline : Timeline
        The year.

    Yields
    ------
    tuple of datetime64[D] and array of int
        The Monday, and the week's steps in the order of the wall clock.
    """
    order = np.argsort(timeline.wall, kind="stable")
    day = timeline.wall[order].astype("datetime64[D]")
    for monday in np.unique(day[timeline.weekday[order] == 0]):
        first, last = np.searchsorted(day, monday), np.searchsorted(day, monday + np.timedelta64(7, "D"))
        if day[last - 1] - monday == np.timedelta64(6, "D"):
            yield monday, order[first:last]


def with_holidays(timeline: Timeline, rule: Holidays) -> Timeline:
    """Build the same year with other holidays, as a rate plan may have its own.

    Parameters
    ----------
    timeline : Timeline
        The year.
    rule : Holidays
        Which days count.

    Returns
    -------
    Timeline
        It differs in ``day_kind`` only.

    Raises
    ------
    ValueError
        See ``holidays_in``.
    """
    return replace(timeline, day_kind=_day_kinds(timeline.wall, holidays_in(rule, timeline.year)))


def _day_kinds(wall: NDArray[np.datetime64], holidays: list[date]) -> NDArray[np.int64]:
    day = wall.astype("datetime64[D]")
    weekday = (day.astype(np.int64) + 3) % 7
    kind = np.where(weekday >= 5, DAY_KINDS.index("weekend"), DAY_KINDS.index("weekday"))
    kind[np.isin(day, np.array(holidays, "datetime64[D]"))] = DAY_KINDS.index("holiday")
    return kind.astype(np.int64)


def _month(local: NDArray[np.datetime64]) -> NDArray[np.int64]:
    return local.astype("datetime64[M]").astype(np.int64) % 12 + 1
