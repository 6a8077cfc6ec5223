"""A strategy as a table to program: windows that may overlap in, slots that do not overlap out, season by season.

The slots of a season fill each of its days. Days are numbered as in ``clock.days``; where the calendar has
no holidays, only 0 to 6 occur.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.days import ALL_DAYS, days_named, days_on
from solarsim.clock.timeline import Timeline
from solarsim.clock.windows import Dates, Season, Window, minutes_of, steps_in_season
from solarsim.scenario.strategy import Strategy

_DAY_MIN = 1440
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Slot:
    """Some hours of some days, and the settings in force in them.

    Attributes
    ----------
    start_min, end_min : int
        Since midnight; 0 to 1440 is the whole day. A slot that crosses midnight is for every day [min].
    days : frozenset of int
        On which days, see ``clock.days``.
    settings : Strategy
        In force, without windows.
    is_base : bool
        They are those of the base.
    """

    start_min: int
    end_min: int
    days: frozenset[int]
    settings: Strategy
    is_base: bool

    def minutes(self, minute: NDArray[np.int64]) -> Bools:
        """Return which minutes of the day lie in the slot."""
        after, before = minute >= self.start_min, minute < self.end_min
        return after & before if self.start_min < self.end_min else after | before


@dataclass(frozen=True)
class SeasonTable:
    """A part of the year with one table of slots.

    Attributes
    ----------
    dates : array of bool
        Which of the 365 days of the year, from 1 January on.
    seasons : tuple of Season
        The same as months, or as one or more spans of dates.
    slots : tuple of Slot
        In order of time, those of the same days together; they fill each day and do not overlap.
    """

    dates: Bools
    seasons: tuple[Season, ...]
    slots: tuple[Slot, ...]

    @property
    def words(self) -> str:
        """The part of the year, as a person writes it."""
        return ", ".join(each.season() for each in self.seasons) or "All year"


@dataclass(frozen=True)
class KeyedTables:
    """A strategy as tables of slots.

    Attributes
    ----------
    base : Strategy
        The settings outside all windows.
    days : frozenset of int
        Days that occur in the calendar, see ``clock.days``.
    seasons : tuple of SeasonTable
        Together the whole year.
    """

    base: Strategy
    days: frozenset[int]
    seasons: tuple[SeasonTable, ...]


def tables_from(strategy: Strategy, timeline: Timeline) -> KeyedTables:
    """Flatten the windows of a strategy into tables of slots.

    Parameters
    ----------
    strategy : Strategy
        Base settings and windows.
    timeline : Timeline
        The year; it says whether there are holidays.

    Returns
    -------
    KeyedTables
        One table for each season that differs from the others.

    Examples
    --------
    >>> from solarsim import read_scenario
    >>> home = read_scenario()
    >>> found = tables_from(home.strategy("winter night charge"), home.site.timeline())
    >>> [len(season.slots) for season in found.seasons]
    [2, 2]
    """
    days = ALL_DAYS if days_on(timeline).max() > 6 else frozenset(range(7))
    *in_windows, base = strategy.settings()
    base = base.model_copy(update={"windows": ()}) if base.windows else base
    settings = [*in_windows, base]
    first_same = [next(i for i, each in enumerate(settings) if _same(each, now)) for now in settings]
    base_number = first_same[-1]
    found: dict[tuple[tuple[int, ...], ...], Bools] = {}
    cuts = _cuts(strategy.windows)
    for holding, dates in season_groups(strategy.windows, timeline):
        windows = [(number, window) for number, window in enumerate(strategy.windows) if holding[number]]
        governed = tuple(
            tuple(first_same[_governing(windows, day, minute, len(strategy.windows))] for day in sorted(days))
            for minute in cuts[:-1]
        )
        found[governed] = found.get(governed, np.zeros(365, np.bool_)) | dates
    seasons = []
    for governed, dates in found.items():
        parts = _merged(governed, cuts, days, base_number)
        slots = [Slot(start, end, on, settings[number], number == base_number) for start, end, on, number in parts]
        season = SeasonTable(dates, tuple(seasons_of(dates)), tuple(slots))
        seasons.append(_without_empty(season, timeline))
    return KeyedTables(base, days, tuple(sorted(seasons, key=lambda each: int(np.argmax(each.dates)))))


def season_groups(windows: tuple[Window, ...], timeline: Timeline) -> Iterator[tuple[Bools, Bools]]:
    """Yield the parts of the year in which the same windows have their season.

    Parameters
    ----------
    windows : tuple of Window
        Any.
    timeline : Timeline
        The year.

    Yields
    ------
    tuple of array of bool
        Which windows, and which of the 365 days of the year.
    """
    _, first_step = np.unique(_ordinal(timeline), return_index=True)
    inside = np.array([steps_in_season(window, timeline)[first_step] for window in windows], np.bool_)
    kinds, group = np.unique(inside.reshape(len(windows), 365), axis=1, return_inverse=True)
    for number in range(kinds.shape[1]):
        yield kinds[:, number], group.ravel() == number


def steps_on(dates: Bools, timeline: Timeline) -> Bools:
    """Return the steps on some of the 365 days of the year.

    Parameters
    ----------
    dates : array of bool
        From 1 January on.
    timeline : Timeline
        The year.

    Returns
    -------
    array of bool
        By the wall clock.
    """
    _, place = np.unique(_ordinal(timeline), return_inverse=True)
    return np.asarray(dates[place.ravel()])


def seasons_of(dates: Bools) -> Iterator[Season]:
    """Yield some days of the year as months, if they are whole, else as spans of dates.

    Parameters
    ----------
    dates : array of bool
        365 days, from 1 January on.

    Yields
    ------
    Season
        One season of months, or one for each span.
    """
    calendar = np.arange("2025-01-01", "2026-01-01", dtype="datetime64[D]")
    month = calendar.astype("datetime64[M]").astype(np.int64) % 12 + 1
    share = np.bincount(month, dates, 13)[1:] / np.bincount(month, minlength=13)[1:]
    if dates.all():
        yield Season()
    elif set(share) <= {0.0, 1.0}:
        yield Season(months=tuple(int(each) + 1 for each in np.flatnonzero(share)))
    else:
        for first in np.flatnonzero(dates & ~np.roll(dates, 1)):
            length = int(np.argmin(np.roll(dates, -int(first))))
            ends = [str(calendar[(first + count) % 365])[5:] for count in (0, length - 1)]
            yield Season(dates=Dates.model_validate({"from": ends[0], "to": ends[1]}))


def _ordinal(timeline: Timeline) -> NDArray[np.int64]:
    return 100 * timeline.month + timeline.day_of_month


def _same(one: Strategy, other: Strategy) -> bool:
    """Return whether all settings are the same, whichever windows follow."""
    return all(getattr(one, key) == getattr(other, key) for key in Strategy.model_fields if key != "windows")


def _cuts(windows: tuple[Window, ...]) -> list[int]:
    """Return the minutes at which any window begins or ends, with both ends of the day."""
    return sorted({0, _DAY_MIN, *(minute for window in windows for minute in minutes_of(window))})


def _governing(windows: Sequence[tuple[int, Window]], day: int, minute: int, none: int) -> int:
    """Return the number of the first window that holds on a day at a minute, of those whose season it is."""
    for number, window in windows:
        start, end = minutes_of(window)
        after, before = minute >= start, minute < end
        if day in days_named(window.days) and ((after and before) if start < end else (after or before)):
            return number
    return none


def _merged(
    governed: tuple[tuple[int, ...], ...], cuts: list[int], days: frozenset[int], base: int
) -> Iterator[tuple[int, int, frozenset[int], int]]:
    """Yield start, end, days and settings of the slots of one table, those of the same days together."""
    order = sorted(days)
    slots = []
    for number in {number for row in governed for number in row}:
        on = [frozenset(day for day, each in zip(order, row, strict=True) if each == number) for row in governed]
        spans = _spans(on, days, fewest=number == base)
        slots += [(cuts[start], cuts[end], held, number) for start, end, held in spans]
    yield from sorted(slots, key=lambda each: (min(each[2]), -len(each[2]), sorted(each[2]), each[0]))


def _spans(on: list[frozenset[int]], days: frozenset[int], fewest: bool) -> list[tuple[int, int, frozenset[int]]]:
    """Return start, end and days of the slots of one setting, from the days that have it at each place of the day."""
    first, last = 0, len(on)
    around = []
    if on[0] == on[-1] == days and set(on) != {days}:
        # Only a slot for every day may cross midnight: of which day the early hours are, machines do not agree.
        first = next(place for place in range(last) if on[place] != days)
        last = next(place for place in range(last, 0, -1) if on[place - 1] != days)
        around = [(last, first, days)]
    together = [(start, end, on[start]) for start, end in _runs(on, first, last) if on[start]]
    if not fewest:
        return around + together
    # Where only some days have other slots, the rest of each day is often fewer slots than the rest of all days.
    held: dict[tuple[int, int], set[int]] = {}
    for day in days:
        holds = [day in each for each in on]
        for span in _runs(holds, first, last):
            if holds[span[0]]:
                held.setdefault(span, set()).add(day)
    apart = [(start, end, frozenset(those)) for (start, end), those in held.items()]
    return around + min(together, apart, key=len)


def _runs(values: Sequence[object], first: int, last: int) -> Iterator[tuple[int, int]]:
    """Yield the ends of each run of equal values."""
    changes = [place for place in range(first + 1, last) if values[place] != values[place - 1]]
    yield from pairwise([first, *changes, last])


def _without_empty(season: SeasonTable, timeline: Timeline) -> SeasonTable:
    """Return a table without slots for holidays alone, where its part of the year has none of them."""
    there = set(np.unique(days_on(timeline)[steps_on(season.dates, timeline)]).tolist())
    kept = tuple(slot for slot in season.slots if slot.days & there or min(slot.days) < 7)
    return SeasonTable(season.dates, season.seasons, kept)
