"""Tables of slots typed back as windows: slots in, a strategy of the same dispatch out.

Slots that no list of days can name by itself, such as Monday except holidays, come after the windows that hold on the
other days: the first window that holds governs.
"""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.days import days_named, days_on
from solarsim.clock.timeline import DAY_KINDS, DAY_NAMES, Timeline
from solarsim.clock.windows import Season, Window, steps_in_season
from solarsim.dispatch.slots import KeyedTables, SeasonTable, Slot, steps_on
from solarsim.scenario.strategy import Strategy, StrategyWindow

_NAMES = (*DAY_KINDS, *DAY_NAMES)
Bools = NDArray[np.bool_]


def strategy_from(tables: KeyedTables, timeline: Timeline) -> Strategy:
    """Type slots back as windows.

    Parameters
    ----------
    tables : KeyedTables
        Of a strategy.
    timeline : Timeline
        The year; windows that would hold in no step of it are left out.

    Returns
    -------
    Strategy
        Of the same base and, on this timeline, the same dispatch.

    Examples
    --------
    >>> from solarsim import read_scenario
    >>> from solarsim.dispatch.slots import tables_from
    >>> home = read_scenario()
    >>> year = home.site.timeline()
    >>> back = strategy_from(tables_from(home.strategy("winter night charge"), year), year)
    >>> [window.words() for window in back.windows]
    ['Nov-Feb 23:00-05:00', 'Mar-Oct 23:00-05:00']
    """
    windows = [
        window
        for table in tables.seasons
        for season in table.seasons
        for window in _TypedSeason(tables, table, season, timeline).windows()
    ]
    return tables.base.model_copy(update={"windows": tuple(windows)})


class _TypedSeason:
    """One season while it is typed: the steps that no window governs yet."""

    def __init__(self, tables: KeyedTables, table: SeasonTable, season: Season, timeline: Timeline) -> None:
        self._base, self._season, self._slots = tables.base, season, table.slots
        steps = np.flatnonzero(steps_in_season(season, timeline) & steps_on(table.dates, timeline))
        self._day, self._minute = days_on(timeline)[steps], timeline.minute_of_day[steps]
        self._left = np.ones(steps.size, np.bool_)
        self._target = np.full(steps.size, -1)
        for number, slot in enumerate(table.slots):
            self._target[self._steps_of(slot)] = number

    def windows(self) -> Iterator[StrategyWindow]:
        """Yield windows until every step has its settings: whole slots first, parts of them where nothing else can."""
        while any(self._left[self._steps_of(slot)].any() for slot in self._slots if not slot.is_base):
            yield self._next_window()

    def _next_window(self) -> StrategyWindow:
        for slot in sorted(self._slots, key=lambda each: each.is_base):
            wanted = self._steps_of(slot) & self._left
            names = self._names(slot, slot) if wanted.any() else ()
            if names and not (wanted & ~self._steps_on(names)).any():
                return self._typed(slot, slot, names)
        for slot in self._slots:
            for part in self._parts(slot):
                names = self._names(slot, part)
                if names:
                    return self._typed(slot, part, names[:1])
        raise AssertionError("a table of slots comes from windows, so windows can tell it")

    def _parts(self, slot: Slot) -> Iterator[Slot]:
        """Yield a slot cut at the ends of all others."""
        ends = {0, 1440, *(minute for each in self._slots for minute in (each.start_min, each.end_min))}
        cuts = sorted(ends)
        for start, end in pairwise(cuts):
            part = Slot(start, end, slot.days, slot.settings, slot.is_base)
            if slot.minutes(np.array([start]))[0]:
                yield part

    def _names(self, slot: Slot, part: Slot) -> tuple[str, ...]:
        """Return names of days that hold, among the steps that are left in a part, only in steps of the slot."""
        open_steps = part.minutes(self._minute) & self._left
        own = np.isin(self._day, list(slot.days))
        missing, names = open_steps & own, []
        for name in _NAMES:
            named = open_steps & self._steps_on((name,))
            if (named & missing).any() and not (named & ~own).any():
                names.append(name)
                missing &= ~named
        return tuple(names)

    def _typed(self, slot: Slot, part: Slot, names: tuple[str, ...]) -> StrategyWindow:
        """Return a window with the settings of a slot, and count its steps as governed."""
        self._left &= ~(part.minutes(self._minute) & self._steps_on(names))
        when: dict[str, object] = {"months": self._season.months, "dates": self._season.dates}
        if not set(range(7)) <= slot.days or (self._day[self._left & part.minutes(self._minute)]).size:
            when["days"] = names
        if (part.start_min, part.end_min) != (0, 1440):
            when |= {"from": _clock(part.start_min), "to": _clock(part.end_min)}
        keys = set(StrategyWindow.model_fields) - set(Window.model_fields)
        settings = {key: getattr(slot.settings, key) for key in sorted(keys)}
        changed = {key: value for key, value in settings.items() if value != getattr(self._base, key)}
        kept = changed or {"reserve": slot.settings.reserve}
        return StrategyWindow.model_validate({key: value for key, value in (when | kept).items() if value is not None})

    def _steps_of(self, slot: Slot) -> Bools:
        return slot.minutes(self._minute) & np.isin(self._day, list(slot.days))

    def _steps_on(self, names: tuple[str, ...]) -> Bools:
        return np.isin(self._day, list(days_named(names)))


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"
