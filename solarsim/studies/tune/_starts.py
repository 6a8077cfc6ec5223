"""Where the search begins: a home's prices and sun in, tables that a person would try first out."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from solarsim.scenario.strategy import Strategy, StrategyWindow
from solarsim.studies.tune._moves import Moves
from solarsim.studies.tune._problem import days_between, plain_settings
from solarsim.studies.tune._reference import Reference
from solarsim.studies.tune._search import Changes, Found, Search
from solarsim.studies.tune._table import (
    CAP,
    CHARGE,
    EVERY_DAY,
    KEYS,
    RESERVE,
    SELL,
    SERVES,
    SURPLUS,
    WEEKENDS,
    WORKDAYS,
    Calendar,
    Rule,
    Settings,
    Table,
    rate_cuts,
    spans_of,
)

_SUN_SEASONS = ((2, 10), (3, 9), (1, 10), (3, 10))  # months, from 0, in which a sunny season begins and ends
_ALIKE = 0.02  # of a day's highest price: prices that differ by less are one period


@dataclass(frozen=True)
class Period:
    """Hours of a season and kind of day with about the same price."""

    days: int
    start: int
    end: int
    price: float


def starts_of(search: Search, reference: Reference, cuts: tuple[int, ...] | None) -> list[Found]:
    """Return tables to begin with: the plainest, those that prices suggest, and what the scenario has.

    Its seasons begin at the given places of the calendar, or where sun and prices change.
    """
    home, calendar, values = reference.home, search.scorer.calendar, search.moves.values
    plain, price = plain_settings(reference.plain), home.prices.import_price
    rates, by_day = rate_cuts(home.timeline, home.rate_plan), WORKDAYS in search.moves.days
    choices = cut_choices(calendar, rates, search.moves.seasons) if cuts is None else [cuts]
    found = [search.found(Table((), plain, ()))]

    def from_rates(cuts: tuple[int, ...], base: Settings) -> Found:
        seasons = range(max(1, len(cuts)))
        sets = [
            list(rule_sets(each, periods(price, calendar, cuts, each, by_day), values, calendar)) for each in seasons
        ]
        return search.from_rates(cuts, base, sets)

    found += [from_rates(each, plain) for each in choices]
    best = min(found, key=search.in_part)
    found += [from_rates(best.table.cuts, base) for base in bases(values, plain)]
    for strategy in reference.written:
        table = table_from(strategy, calendar, plain, search.moves, cuts)
        if table is not None and search.scorer.fits(table):
            found.append(search.found(table))
    return found


def additions_of(search: Search, reference: Reference) -> Changes:
    """Return what yields the tables with rules more that prices suggest: a list for each season."""
    calendar, price, moves = search.scorer.calendar, reference.home.prices.import_price, search.moves

    @cache
    def sets(cuts: tuple[int, ...], season: int) -> list[tuple[Rule, ...]]:
        days = periods(price, calendar, cuts, season, WORKDAYS in moves.days)
        usual = rule_sets(season, days, moves.values, calendar)
        return [*usual, *finer_rule_sets(season, days, moves.values, calendar)]

    def additions(table: Table) -> Iterator[list[Table]]:
        for season in range(table.seasons if len(table.rules) < moves.rules else 0):
            yield [table._replace(rules=(*new, *table.rules)) for new in sets(table.cuts, season)]

    return additions


def bases(values: dict[int, tuple[float, ...]], plain: Settings) -> Iterator[Settings]:
    """Yield base settings other than the plain ones: the battery does not serve the home, surplus goes to the grid."""
    if SERVES in values:
        yield _set(plain, SERVES, 0.0)
    if SURPLUS in values:
        yield _set(plain, SURPLUS, 0.0)


def _set(settings: Settings, key: int, value: float) -> Settings:
    now = list(settings)
    now[key] = value
    return tuple(now)


def cut_choices(calendar: Calendar, cuts_of_rates: Sequence[int], most: int) -> list[tuple[int, ...]]:
    """Return ways to divide the year: not at all, as the rates do, by the sun."""
    places = {day: place for place, day in enumerate(calendar.cut_days)}
    rates = tuple(sorted(places[day] for day in cuts_of_rates if day in places))
    months = [int(np.flatnonzero(_month_of_days() == month)[0]) for month in range(12)]
    found: list[tuple[int, ...]] = [()]
    if 2 <= len(rates) <= most:
        found.append(rates)
    for pair in _SUN_SEASONS:
        sunny = tuple(sorted(places[months[month]] for month in pair))
        if most >= 2:
            found.append(sunny)
        if most >= 3 and len(rates) == 2:
            found += [tuple(sorted({*rates, cut})) for cut in sunny if cut not in rates]
    if most >= 3:
        found += [tuple(sorted(places[months[month]] for month in three)) for three in ((1, 4, 10), (2, 5, 9))]
    return list(dict.fromkeys(found))


def _month_of_days() -> NDArray[np.int64]:
    days = np.arange("2025-01-01", "2026-01-01", dtype="datetime64[D]")
    return np.asarray(days.astype("datetime64[M]").astype(np.int64) % 12)


def periods(
    price: NDArray[np.float64], calendar: Calendar, cuts: tuple[int, ...], season: int, by_day: bool
) -> list[list[Period]]:
    """Return for a season the periods of its workdays and of its other days; one list where both are alike.

    One list, too, where rules may not be for some days only.
    """
    inside = calendar.season_of_day(cuts)[calendar.day] == season
    days = []
    for kinds in ((0,), (1,)) if by_day else ((0, 1),):
        chosen = inside & np.isin(calendar.kind, kinds)
        total = np.bincount(calendar.slot[chosen], price[chosen], calendar.slots)
        days.append(total / np.maximum(1, np.bincount(calendar.slot[chosen], minlength=calendar.slots)))
    if np.allclose(days[0], days[-1]):
        return [_day_periods(days[0], EVERY_DAY)]
    return [_day_periods(days[0], WORKDAYS), _day_periods(days[1], WEEKENDS)]


def _day_periods(mean: NDArray[np.float64], days: int) -> list[Period]:
    """Return the periods of a mean day: runs of hours with about the same price."""
    top = float(np.abs(mean).max())
    level = np.round(mean / (_ALIKE * top)) if top > 0.0 else np.zeros(mean.size)
    found = []
    for each in np.unique(level):
        holds = level == each
        found += [Period(days, start, end, float(mean[holds].mean())) for start, end in spans_of(holds)]
    return sorted(found, key=lambda period: period.price)


def rule_sets(
    season: int, days: list[list[Period]], values: dict[int, tuple[float, ...]], calendar: Calendar
) -> Iterator[tuple[Rule, ...]]:
    """Yield rules for one season that its prices suggest: hold or charge when cheap, serve or sell at the peak."""
    hour = calendar.slots // 24
    for periods_of_day in days:
        cheapest, dearest = periods_of_day[0], periods_of_day[-1]
        if cheapest is not dearest:
            cheap = Rule(1 << season, cheapest.days, cheapest.start, cheapest.end, ())
            peak = Rule(1 << season, dearest.days, dearest.start, dearest.end, ())
            yield from _cheap(cheap, values)
            yield from _peak(peak, cheapest, values, hour, calendar.slots)
    night = Rule(1 << season, EVERY_DAY, 0, 6 * hour, ())
    yield from _cheap(night, values)
    evening = Rule(1 << season, EVERY_DAY, 17 * hour, 22 * hour, ())
    yield from _peak(evening, None, values, hour, calendar.slots)
    if SURPLUS in values:
        yield (Rule(1 << season, EVERY_DAY, 6 * hour, 11 * hour, ((SURPLUS, 0.0),)),)
    if CAP in values:
        for cap in values[CAP]:
            yield (Rule(1 << season, EVERY_DAY, 0, 0, ((CAP, cap),)),)


def finer_rule_sets(
    season: int, days: list[list[Period]], values: dict[int, tuple[float, ...]], calendar: Calendar
) -> Iterator[tuple[Rule, ...]]:
    """Yield rules for one season that suit a table which is nearly right: to finer levels, for the last hours."""
    hour, slots = calendar.slots // 24, calendar.slots
    for periods_of_day in days:
        peak = periods_of_day[-1]
        if peak is periods_of_day[0]:
            continue
        for hours in (1, 2, 3):
            before = Rule(1 << season, peak.days, (peak.start - hours * hour) % slots, peak.start, ())
            yield from ((before.changed(CHARGE, level),) for level in values.get(CHARGE, ())[1::2])
        for hours in (1, 2):
            last = Rule(1 << season, peak.days, (peak.end - hours * hour) % slots, peak.end, ())
            yield from ((last.changed(SELL, level),) for level in values.get(SELL, ())[::2] if level < 1.0)


def _cheap(rule: Rule, values: dict[int, tuple[float, ...]]) -> Iterator[tuple[Rule, ...]]:
    """Yield what to do while energy is cheap: hold, charge to a level."""
    if SERVES in values:
        yield (rule.changed(SERVES, 0.0),)
    levels = [value for value in values.get(CHARGE, ()) if value > 0.0]
    for level in levels[1::3]:
        yield (rule.changed(CHARGE, level),)
    if levels:
        yield (rule.changed(CHARGE, levels[-1]),)


def _peak(
    rule: Rule, cheapest: Period | None, values: dict[int, tuple[float, ...]], hour: int, slots: int
) -> Iterator[tuple[Rule, ...]]:
    """Yield what to do for the peak: serve in it, hold until it, charge before it, sell in it."""
    if SERVES in values:
        yield (rule.changed(SERVES, 1.0),)
        for hours in (3, 6, 10):
            before = rule._replace(start=(rule.start - hours * hour) % slots, end=rule.start)
            yield (before.changed(SERVES, 0.0),)
    if CHARGE in values:
        for hours in (2, 4):
            before = rule._replace(start=(rule.start - hours * hour) % slots, end=rule.start)
            yield (before.changed(CHARGE, values[CHARGE][-1]),)
    selling = values.get(SELL, ())
    for level in dict.fromkeys((*selling[:1], *selling[2::4])):
        if level < 1.0:
            yield (rule.changed(SELL, level),)
            yield (rule.changed(SELL, level).changed(SURPLUS, 0.0),) if SURPLUS in values else ()
    if RESERVE in values and cheapest is not None:
        for level in values[RESERVE][3::4]:
            yield (rule._replace(start=cheapest.start, end=rule.start).changed(RESERVE, level),)


def table_from(
    strategy: Strategy, calendar: Calendar, plain: Settings, moves: Moves, cuts: tuple[int, ...] | None = None
) -> Table | None:
    """Return a written strategy as a table; None where its seasons, days or settings are not those of a table.

    Its seasons must begin at the given places of the calendar, or at any.
    """
    inside = [_dates_of(window) for window in strategy.windows]
    edges = {int(day) for dates in inside for day in np.flatnonzero(dates != np.roll(dates, 1))}
    allowed = calendar.cut_days if cuts is None else [calendar.cut_days[cut] for cut in cuts]
    if not edges <= set(allowed) or len(edges) > moves.seasons:
        return None
    cuts = tuple(calendar.cut_days.index(day) for day in sorted(edges)) if cuts is None else cuts
    season_of_day = calendar.season_of_day(cuts)
    rules = []
    for window, dates in zip(strategy.windows, inside, strict=True):
        days = _days_of(window)
        if days is None or days not in moves.days or not set(window.changes()) <= set(KEYS):
            return None
        changes = [(KEYS.index(name), value) for name, value in window.changes().items()]
        rules.append(
            Rule(
                seasons=sum(1 << each for each in range(max(1, len(cuts))) if dates[season_of_day == each].all()),
                days=days,
                start=_slot(window.start, calendar.slots),
                end=_slot(window.end, calendar.slots),
                changes=tuple(sorted((key, _number(key, value)) for key, value in changes)),
            )
        )
    base = tuple(_number(key, getattr(strategy, name)) for key, name in enumerate(KEYS))
    return Table(cuts, _set(base, RESERVE, plain[RESERVE]), tuple(rules))


def _dates_of(window: StrategyWindow) -> NDArray[np.bool_]:
    """Return the days of the year of a window's season."""
    if window.dates is not None:
        return days_between(window.dates.first, window.dates.last)
    months = np.arange(1, 13) if window.months is None else np.array(window.months)
    return np.isin(_month_of_days() + 1, months)


def _number(key: int, value: object) -> float:
    if key == SURPLUS:
        return float(value == "battery")
    return float("inf") if value is None else float(value)  # type: ignore[arg-type]


def _days_of(window: StrategyWindow) -> int | None:
    if window.days is None:
        return EVERY_DAY
    named = set(window.days)
    if named in ({"weekday"}, {"mon-fri"}, {"mon", "tue", "wed", "thu", "fri"}):
        return WORKDAYS
    return WEEKENDS if named in ({"weekend"}, {"sat-sun"}, {"sat", "sun"}, {"weekend", "holiday"}) else None


def _slot(clock: str | None, slots: int) -> int:
    """Return the slot of the day at which a window begins or ends; all day is from 0 to 0."""
    minute = 0 if clock is None else int(clock[:2]) * 60 + int(clock[3:])
    return (minute * slots // 1440) % slots
