"""Whether a logger's clock is right: its readings and the expected hours in, the clock that fits best out.

A clock is judged by the shape of the mean day of each month, each day's energy taken as one: so neither the size of the
array nor one dull week decides. The misfit is the share of energy that stands in another hour than expected.
"""

from dataclasses import dataclass
from math import lcm
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import wall_clock
from solarsim.load.meter import Readings
from solarsim.studies.calibrate.logged_year import HOURS, MONTH_OF_HOUR, hour_of_year

Floats = NDArray[np.float64]
_MOST_MIN = 180
_HOUR_S = 3600
_MINUTE = np.timedelta64(60, "s")
#: A better clock must put right at least so much of the energy; clouds and a wrong azimuth move less.
_NOTICED = 0.01
_DARK_NOTICED = 1e-4


@dataclass(frozen=True)
class ClockFit:
    """How well one reading of the clock fits.

    Attributes
    ----------
    ahead_min : int
        How far the log's clock would run ahead, beyond what the scenario says [min].
    follows_saving : bool
        Whether it would follow daylight saving.
    misfit : float
        Share of energy that stands in another hour than expected, 0-1.
    dark_share : float
        Share of energy in hours in which the sun gives nothing, 0-1.
    """

    ahead_min: int
    follows_saving: bool
    misfit: float
    dark_share: float


@dataclass(frozen=True)
class ClockCheck:
    """What the shape of the days says of the clock.

    Attributes
    ----------
    tried : tuple of ClockFit
        Every clock.
    as_read : ClockFit
        The one that the file and the scenario say.
    best : ClockFit
        The one that fits best; it follows daylight saving as the file says unless the other fits clearly better.
    night : ClockFit
        Of those that follow daylight saving as the best does, the one with the least energy in the dark.
    both_kinds : bool
        Whether the log has months in daylight saving and out of it: else it cannot be told from a clock an hour off.
    step_min : int
        In which steps the clock was moved: no finer than the log's own intervals [min].
    """

    tried: tuple[ClockFit, ...]
    as_read: ClockFit
    best: ClockFit
    night: ClockFit
    both_kinds: bool
    step_min: int

    @property
    def better_by(self) -> float:
        """Share of energy that the best clock puts into the right hour, 0-1."""
        return self.as_read.misfit - self.best.misfit

    @property
    def other_saving(self) -> bool:
        """Whether daylight saving is the other way than the file was read."""
        return self.best.follows_saving != self.as_read.follows_saving

    @property
    def unmoved(self) -> ClockFit:
        """The clock that follows daylight saving as the best does and is not moved."""
        return next(
            each for each in self.tried if (each.ahead_min, each.follows_saving) == (0, self.best.follows_saving)
        )

    @property
    def moved_min(self) -> int:
        """How much later than expected the days come, daylight saving settled; 0 where that is noise [min]."""
        return self.best.ahead_min if self.unmoved.misfit - self.best.misfit >= _NOTICED else 0

    @property
    def reason(self) -> Literal["clock", "azimuth", "either"]:
        """What moves the days: the dark tells a clock that is off from arrays that face elsewhere."""
        told = abs(self.best.dark_share - self.unmoved.dark_share) >= _DARK_NOTICED
        nearer = abs(self.night.ahead_min) - abs(self.night.ahead_min - self.best.ahead_min)
        if not told or nearer == 0:
            return "either"
        return "clock" if nearer > 0 else "azimuth"


def check_clock(readings: Readings, zone: str, utc_offset_h: float, expected: dict[int, Floats]) -> ClockCheck | None:
    """Try clocks up to three hours off, with and without daylight saving.

    Parameters
    ----------
    readings : Readings
        Energy of each interval, by the file's clock as the scenario settles it.
    zone : str
        IANA time zone of the site.
    utc_offset_h : float
        Its standard time minus UTC [h].
    expected : dict of int to array of float
        By calendar year: expected energy of each hour of standard time [kWh].

    Returns
    -------
    ClockCheck or None
        None where no hour of the log stands in those years, or none of them has sun.
    """
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
    as_read = [each for each in found if (each.ahead_min, each.follows_saving) == (0, declared)]
    if not as_read:
        return None
    same, other = ([each for each in found if each.follows_saving == kind] for kind in (declared, not declared))
    best, among = min(same, key=_worth), same
    if other and min(other, key=_worth).misfit < best.misfit - _NOTICED:
        best, among = min(other, key=_worth), other
    night = min(among, key=lambda each: (round(each.dark_share, 5), abs(each.ahead_min)))
    return ClockCheck(tuple(found), as_read[0], best, night, bool(saves.any() and not saves.all()), step_min)


def _worth(fit: ClockFit) -> tuple[float, int]:
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
    year, hour = hour_of_year(start)
    ours, theirs = np.zeros(24 * 24), np.zeros(24 * 24)
    dark = 0.0
    for each, expected in sky.years.items():
        here = (year == each) & (hour >= 0) & ~np.isnan(readings.import_kwh)
        if not here.any():
            continue
        whole = np.bincount(hour[here], readings.duration_s[here], minlength=HOURS) == _HOUR_S
        logged = np.bincount(hour[here], readings.import_kwh[here], minlength=HOURS)
        ours += np.bincount(sky.group[each][whole], logged[whole], minlength=ours.size)
        theirs += np.bincount(sky.group[each][whole], expected[whole], minlength=ours.size)
        dark += float(logged[whole & (expected <= 0.0)].sum())
    made, due = ours.reshape(24, 24), theirs.reshape(24, 24)
    days = (made.sum(axis=1) > 0) & (due.sum(axis=1) > 0)
    if not days.any():
        return None
    weight = due[days].sum(axis=1)
    shapes = [each[days] / each[days].sum(axis=1, keepdims=True) for each in (made, due)]
    misfit = np.abs(shapes[0] - shapes[1]).sum(axis=1) / 2
    return ClockFit(ahead_min, follows, float(np.average(misfit, weights=weight)), dark / float(made.sum()))
