"""A candidate: base settings and rules in plain numbers, light enough to make thousands of; a strategy out.

A rule is a window of a strategy: some seasons, some days, some hours, and the settings that differ there from the base.
The first rule that holds governs, as everywhere.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import DAY_KINDS, Timeline
from solarsim.dispatch.slots import season_groups, seasons_of
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.scenario.strategy import Strategy, StrategyWindow

SURPLUS, SERVES, RESERVE, CEILING, CHARGE, SELL, CAP = range(7)
#: The keys of a strategy that are searched, and the fields of its dispatch.
KEYS = (
    "surplus_to", "battery_serves_load", "reserve", "solar_ceiling", "charge_from_grid_to", "sell_down_to",
    "import_cap_kw",
)  # fmt: skip
FIELDS = ("surplus_to_battery", "serves_load", "reserve", "ceiling", "charge_to", "sell_to", "import_cap_kw")
EVERY_DAY, WORKDAYS, WEEKENDS = range(3)
DECIMALS = 9  #: of levels: a menu's own may be such as 1/7
_FULL_DAY_MIN = 1440
_HALF_MONTH = 15  # days

Settings = tuple[float, ...]  # one number for each of ``KEYS``; truth values as 0 and 1, no cap as infinity


class Rule(NamedTuple):
    """A window: seasons as bits, days, from and to in slots of the day (the same: all day), changes by key."""

    seasons: int
    days: int
    start: int
    end: int
    changes: tuple[tuple[int, float], ...]

    def settings(self, base: Settings) -> Settings:
        """Return the settings in force."""
        now = list(base)
        for key, value in self.changes:
            now[key] = value
        return tuple(now)

    def changed(self, key: int, value: float | None) -> "Rule":
        """Return the rule with another setting; None leaves it to the base."""
        kept = {**dict(self.changes), key: value}
        return self._replace(changes=tuple(sorted((k, v) for k, v in kept.items() if v is not None)))


class Table(NamedTuple):
    """A candidate: where its seasons begin (places in ``Calendar.cut_days``; none or at least two), base, rules."""

    cuts: tuple[int, ...]
    base: Settings
    rules: tuple[Rule, ...]

    @property
    def seasons(self) -> int:
        """How many."""
        return max(1, len(self.cuts))

    @property
    def lines(self) -> int:
        """Windows and settings beyond the first of each, which must each earn its place."""
        return sum(max(1, len(rule.changes)) for rule in self.rules)


def is_legal(settings: Settings) -> bool:
    """Return whether a strategy may have these settings together, see ``Strategy``."""
    return settings[RESERVE] <= settings[CEILING] and settings[SELL] >= max(settings[RESERVE], settings[CHARGE])


@dataclass(frozen=True, eq=False)
class Calendar:
    """Where rules may begin and end on a timeline.

    Attributes
    ----------
    cut_days : tuple of int
        Days of the year, from 0, on which a season may begin.
    slots : int
        Of a day: one for each step.
    day, kind, slot : arrays of int
        Of each step: day of the year, 0 on workdays and 1 else, slot of the day.
    day_names : tuple of tuple of str
        For workdays and for all other days, as a window has them.
    """

    cut_days: tuple[int, ...]
    slots: int
    day: NDArray[np.int64]
    kind: NDArray[np.int64]
    slot: NDArray[np.int64]
    day_names: tuple[tuple[str, ...], tuple[str, ...]]

    def dates(self, cuts: tuple[int, ...], seasons: int) -> NDArray[np.bool_]:
        """Return which of the 365 days lie in some seasons, given as bits."""
        return np.asarray((seasons >> self.season_of_day(cuts)) & 1, np.bool_)

    def season_of_day(self, cuts: tuple[int, ...]) -> NDArray[np.int64]:
        """Return the season of each of the 365 days: the days before the first cut belong to the last season."""
        if not cuts:
            return np.zeros(365, np.int64)
        starts = [self.cut_days[cut] for cut in cuts]
        return np.asarray((np.searchsorted(starts, np.arange(365), "right") - 1) % len(cuts), np.int64)


def calendar_of(
    timeline: Timeline, rate_plan: RatePlan, holidays: bool = False, others: Iterable[int] = ()
) -> Calendar:
    """Build the calendar of rules: seasons begin on the 1st or 16th, with those of the rate plan or on other days."""
    ordinal = 100 * timeline.month + timeline.day_of_month
    _, day = np.unique(ordinal, return_inverse=True)
    months = [int(np.argmax(np.unique(ordinal) // 100 == month)) for month in range(1, 13)]
    cuts = {*months, *(first + _HALF_MONTH for first in months), *rate_cuts(timeline, rate_plan), *others}
    free = timeline.day_kind != DAY_KINDS.index("weekday") if holidays else timeline.weekday >= 5
    names: tuple[tuple[str, ...], tuple[str, ...]] = (("mon-fri",), ("sat-sun",))
    if holidays:
        names = (("weekday",), ("weekend", "holiday"))
        if not (timeline.day_kind == DAY_KINDS.index("holiday")).any():
            names = (("weekday",), ("weekend",))
    step_min = round(60 * timeline.step_h)
    return Calendar(
        cut_days=tuple(sorted(cuts)),
        slots=_FULL_DAY_MIN // step_min,
        day=np.asarray(day.ravel(), np.int64),
        kind=free.astype(np.int64),
        slot=timeline.minute_of_day // step_min,
        day_names=names,
    )


def rate_cuts(timeline: Timeline, rate_plan: RatePlan) -> list[int]:
    """Return the days of the year on which a season of the rate plan begins; none where all of it is one season."""
    windows = [window for rate in rate_plan.rates for window in rate.windows]
    windows += [window for window in rate_plan.export.windows or ()]  # noqa: C416 - of a narrower type
    group = np.zeros(365, np.int64)
    for number, (_, dates) in enumerate(season_groups(tuple(windows), timeline)) if windows else ():
        group[dates] = number
    return [int(day) for day in np.flatnonzero(group != np.roll(group, 1))]


def strategy_of(table: Table, calendar: Calendar, like: Strategy, name: str) -> Strategy:
    """Return a candidate as a strategy; what is not searched is as in the base of another one."""
    own = {key: _value(number, table.base[number]) for number, key in enumerate(KEYS)}
    windows = [window for rule in table.rules for window in _windows(rule, table, calendar)]
    return Strategy.model_validate(
        {**like.model_dump(exclude={"windows"}), **own, "name": name, "windows": tuple(windows)}
    )


def _windows(rule: Rule, table: Table, calendar: Calendar) -> Iterator[StrategyWindow]:
    """Yield a rule as windows: one for each span of dates that it needs."""
    when: dict[str, object] = {}
    if rule.days != EVERY_DAY:
        when["days"] = calendar.day_names[rule.days - 1]
    if rule.start != rule.end:
        when |= {"from": _clock(rule.start, calendar.slots), "to": _clock(rule.end, calendar.slots)}
    changes = {KEYS[key]: _value(key, value) for key, value in rule.changes}
    for season in seasons_of(calendar.dates(table.cuts, rule.seasons)):
        spans = {"months": season.months, "dates": season.dates}
        written = {key: value for key, value in {**spans, **when, **changes}.items() if value is not None}
        yield StrategyWindow.model_validate(written)


def _value(key: int, value: float) -> object:
    """Return a setting as a strategy has it."""
    if key == SURPLUS:
        return "battery" if value else "grid"
    if key == SERVES:
        return bool(value)
    return None if value == inf else round(value, DECIMALS)


def _clock(slot: int, slots: int) -> str:
    minute = slot * _FULL_DAY_MIN // slots
    return f"{minute // 60:02d}:{minute % 60:02d}"


def spans_of(holds: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return from and to of each run of slots of the day that are true; one may cross midnight; all day is (0, 0)."""
    if holds.all():
        return [(0, 0)]
    size = holds.size
    starts = np.flatnonzero(holds & ~np.roll(holds, 1)).tolist()
    return [(start, (start + int(np.argmin(np.roll(holds, -start)))) % size) for start in starts]


def cells_between(start: int, end: int, slots: int) -> NDArray[np.bool_]:
    """Return which slots of the day lie from one on to before another; the same: all."""
    where = np.arange(slots)
    if start == end:
        return np.ones(slots, np.bool_)
    return (where >= start) & (where < end) if start < end else (where >= start) | (where < end)


def adjacent(cuts: tuple[int, ...]) -> bool:
    """Return whether the beginnings of seasons are in order and apart."""
    return all(one < other for one, other in pairwise(cuts))
