"""Whether a logger's clock is right: its readings and the expected hours in, the clock that fits best out.

A clock is judged by the shape of the mean day of each month, each day's energy scaled to one, so that neither the size
of the array nor one cloudy week decides. The misfit is the share of energy logged in another hour than expected.
"""

from dataclasses import dataclass
from math import lcm
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import wall_clock
from solarsim.load.meter import Readings
from solarsim.results import Result, computed, fact
from solarsim.studies.calibrate._logged_year import HOURS, MONTH_OF_HOUR, hour_of_year

Floats = NDArray[np.float64]
_MOST_MIN = 180
_HOUR_S = 3600
_MINUTE = np.timedelta64(60, "s")
#: A better clock must move at least so much of the energy; clouds and a wrong azimuth move less.
_NOTICED = 0.01
_NIGHT_NOTICED = 1e-4


@dataclass(frozen=True, eq=False, repr=False)
class ClockFit(Result):
    """How well one reading of the clock fits."""

    ahead_min: int = fact("how far the log's clock would run ahead, beyond clock_ahead_min of the scenario", "min")
    daylight_saving: bool = fact("whether it would follow daylight saving", "true or false")
    misfit: float = fact("share of the energy in another hour than expected", "1")
    night_share: float = fact("share of the energy in hours without sun", "1")


@dataclass(frozen=True, eq=False, repr=False)
class ClockCheck(Result):
    """What the shape of the days says of the logger's clock."""

    _rows = "tried"

    tried: tuple[ClockFit, ...]  # every clock
    night: ClockFit  # of those that follow daylight saving as the best does, the one with the least energy at night
    both_kinds: bool  # whether the log has months in daylight saving and out of it: else it may be an hour's offset
    step_min: int  # in which steps the clock was moved: no finer than the log's own intervals
    utc_offset_h: float  # of the site's standard time
    stated_ahead_min: int  # clock_ahead_min of the scenario
    interval_min: int  # of the log
    labeled_by_end: bool  # how its times were read
    as_read: ClockFit = fact("the clock that file and scenario state", "record")
    best_clock: ClockFit = fact(
        "the clock that fits best; with the file's own daylight saving unless the other fits clearly better", "record"
    )

    @computed("share of the energy that the best clock moves to the right hour", "1")
    def better_by(self) -> float:
        return self.as_read.misfit - self.best_clock.misfit

    @computed("whether the log follows daylight saving otherwise than it was read", "true or false")
    def other_daylight_saving(self) -> bool:
        return self.best_clock.daylight_saving != self.as_read.daylight_saving

    @property
    def unmoved(self) -> ClockFit:
        """The clock that follows daylight saving as the best does and is not moved."""
        key = (0, self.best_clock.daylight_saving)
        return next(each for each in self.tried if (each.ahead_min, each.daylight_saving) == key)

    @computed("how much later than expected the days are, apart from daylight saving; 0: no more than noise", "min")
    def moved_min(self) -> int:
        return self.best_clock.ahead_min if self.unmoved.misfit - self.best_clock.misfit >= _NOTICED else 0

    @computed("what moves the days: labels, clock, azimuth or either of the last two; null where nothing does", "text")
    def reason(self) -> Literal["labels", "clock", "azimuth", "either"] | None:
        if not self.moved_min:
            return None
        # Energy at night distinguishes a clock that is off from arrays that face another way.
        differs = abs(self.best_clock.night_share - self.unmoved.night_share) >= _NIGHT_NOTICED
        nearer = abs(self.night.ahead_min) - abs(self.night.ahead_min - self.best_clock.ahead_min)
        azimuth = differs and nearer < 0
        if not azimuth and self.moved_min == (-self.interval_min if self.labeled_by_end else self.interval_min):
            return "labels"
        if not differs or nearer == 0:
            return "either"
        return "azimuth" if azimuth else "clock"

    @property
    def labels_setting(self) -> str:
        """The setting that reads each time as the other end of its interval."""
        return f'labels = "{"start" if self.labeled_by_end else "end"}" in [production_log]'

    @property
    def daylight_saving_setting(self) -> str:
        """The setting that corrects daylight saving."""
        if self.best_clock.daylight_saving:
            return 'clock = "wall" in [production_log]'
        return (
            'clock = "utc" in [production_log], and where the times have no offset,'
            f" clock_ahead_min = {round(self.utc_offset_h * 60)}"
        )

    @property
    def moved_setting(self) -> str:
        """The setting that moves the log."""
        return f"clock_ahead_min = {self.stated_ahead_min + self.moved_min}"

    @computed("settings of [production_log] that would correct the clock", "list")
    def settings(self) -> tuple[str, ...]:
        daylight_saving = (self.daylight_saving_setting,) if self.other_daylight_saving else ()
        moved = {"labels": (self.labels_setting,), "clock": (self.moved_setting,), "either": (self.moved_setting,)}
        return (*daylight_saving, *moved.get(self.reason or "", ()))


def check_clock(
    readings: Readings, zone: str, utc_offset_h: float, stated_ahead_min: int, expected: dict[int, Floats]
) -> ClockCheck | None:
    """Compare clocks up to three hours off, with and without daylight saving; None where no logged hour has sun."""
    offset = np.timedelta64(round(utc_offset_h * _HOUR_S), "s")
    declared = readings.clock == "wall"
    printed = readings.start if declared else readings.start + offset
    saving = wall_clock(printed - offset, zone) - printed  # an hour off in the night of a change
    saves = saving[readings.import_kwh > 0] > np.timedelta64(0, "s")
    step_min = lcm(15, int(readings.duration_s[0]) // 60)
    sky = _Sky(zone, offset, expected)
    tried = [
        _fit(printed - saving * follows - ahead * _MINUTE, ahead, follows, readings, sky)
        for follows in ((False, True) if saves.any() else (declared,))
        for ahead in range(-(_MOST_MIN // step_min) * step_min, _MOST_MIN + 1, step_min)
    ]
    found = [each for each in tried if each is not None]
    as_read = [each for each in found if (each.ahead_min, each.daylight_saving) == (0, declared)]
    if not as_read:
        return None
    same, other = ([each for each in found if each.daylight_saving == kind] for kind in (declared, not declared))
    best, among = min(same, key=_worth), same
    if other and min(other, key=_worth).misfit < best.misfit - _NOTICED:
        best, among = min(other, key=_worth), other
    night = min(among, key=lambda each: (round(each.night_share, 5), abs(each.ahead_min)))
    both_kinds = bool(saves.any() and not saves.all())
    return ClockCheck(
        tried=tuple(found),
        night=night,
        both_kinds=both_kinds,
        step_min=step_min,
        utc_offset_h=utc_offset_h,
        stated_ahead_min=stated_ahead_min,
        interval_min=int(readings.duration_s[0]) // 60,
        labeled_by_end=readings.labeled_by_end,
        as_read=as_read[0],
        best_clock=best,
    )


def _worth(fit: ClockFit) -> tuple[float, int]:
    """Return the order of clocks: the least misfit first, then the least shift."""
    return (fit.misfit, abs(fit.ahead_min))


class _Sky:
    """The expected hours, and to which mean day each belongs: a month's, in summer time or out of it."""

    def __init__(self, zone: str, offset: np.timedelta64, expected: dict[int, Floats]) -> None:
        self.years = expected
        self.group = {}
        for year in expected:
            first, last = np.datetime64(f"{year}-01-01", "s"), np.datetime64(f"{year + 1}-01-01", "s")
            hours: NDArray[np.datetime64] = np.arange(first, last, np.timedelta64(_HOUR_S, "s"))
            standard = hours[hour_of_year(hours)[1] >= 0]
            saves = (wall_clock(standard - offset, zone) - standard) > np.timedelta64(0, "s")
            self.group[year] = (MONTH_OF_HOUR * 2 + saves) * 24 + np.arange(HOURS) % 24


def _fit(
    start: NDArray[np.datetime64], ahead_min: int, follows: bool, readings: Readings, sky: _Sky
) -> ClockFit | None:
    """Compare the shape of the logged days, by one clock, with that of the expected days."""
    year, hour = hour_of_year(start)
    ours, theirs = np.zeros(24 * 24), np.zeros(24 * 24)
    night_kwh = 0.0
    for each, expected in sky.years.items():
        here = (year == each) & (hour >= 0) & ~np.isnan(readings.import_kwh)
        if not here.any():
            continue
        whole = np.bincount(hour[here], readings.duration_s[here], minlength=HOURS) == _HOUR_S
        logged = np.bincount(hour[here], readings.import_kwh[here], minlength=HOURS)
        ours += np.bincount(sky.group[each][whole], logged[whole], minlength=ours.size)
        theirs += np.bincount(sky.group[each][whole], expected[whole], minlength=ours.size)
        night_kwh += float(logged[whole & (expected <= 0.0)].sum())
    made, due = ours.reshape(24, 24), theirs.reshape(24, 24)
    days = (made.sum(axis=1) > 0) & (due.sum(axis=1) > 0)
    if not days.any():
        return None
    weight = due[days].sum(axis=1)
    shapes = [each[days] / each[days].sum(axis=1, keepdims=True) for each in (made, due)]
    misfit = np.abs(shapes[0] - shapes[1]).sum(axis=1) / 2
    return ClockFit(ahead_min, follows, float(np.average(misfit, weights=weight)), night_kwh / float(made.sum()))
