"""Which days and weeks show what a strategy does: a strategy's run in, typical days and weeks of each season out.

A season here has one table of slots and one set of rates.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.days import days_on
from solarsim.clock.timeline import Timeline, weeks_of
from solarsim.clock.words import clock
from solarsim.dispatch.slots import KeyedTables, SeasonTable, season_groups, seasons_of, steps_on
from solarsim.home import Home
from solarsim.ledger.flows import Flows
from solarsim.results import Result, fact
from solarsim.studies.sheet._sentences import discharges

SUNNY, CLOUDY = 0.9, 0.1  # shares of a season's days with less sun
_MOST_SEASONS = 6
_FEWEST_DAYS = 7
_FEWEST_SHARE = 0.1  # of a season's days


@dataclass(frozen=True, eq=False, repr=False)
class SheetDay(Result):
    """What the battery does on one day of the simulated year."""

    season: str = fact("the part of the year that it stands for", "text")
    sky: str = fact(
        "sunny (more sun than 90% of the season's days to which most of its slots apply) or cloudy (less than 90%)",
        "text",
    )
    date: str = fact("the day that was picked", "date")
    pv_available_kwh: float = fact("what the arrays could deliver", "kWh DC")
    load_kwh: float = fact("the home's load and standby", "kWh AC")
    import_kwh: float = fact("energy from the grid", "kWh AC")
    export_kwh: float = fact("energy to the grid", "kWh AC")
    grid_to_battery_kwh: float = fact("import that charges the battery", "kWh AC")
    battery_out_kwh: float = fact("discharge to load and grid", "kWh AC")
    soc_lowest: float | None = fact("lowest state of charge at the end of a step; null without a battery", "1")
    soc_lowest_at: str = fact("when it is reached first, by the wall clock", "HH:MM")
    soc_highest: float | None = fact("highest state of charge at the end of a step; null without a battery", "1")
    soc_highest_at: str = fact("when it is reached first, by the wall clock", "HH:MM")


@dataclass(frozen=True, eq=False, repr=False)
class SheetWeek(Result):
    """A week of a season, from a Monday on, with the median of solar energy."""

    steps: NDArray[np.int64]
    idle: NDArray[np.bool_]  # in which of them the battery must not discharge
    season: str = fact("the part of the year that it stands for", "text")
    first_day: str = fact("its Monday", "date")


def priced_seasons(home: Home, tables: KeyedTables) -> list[SeasonTable]:
    """Return the parts of the year with one table of slots and one set of rates, the longest at most."""
    windows = tuple(window for rate in home.rate_plan.rates for window in rate.windows)
    found = []
    for _, dates in season_groups(windows, home.timeline):
        for table in tables.seasons:
            both = dates & table.dates
            if both.sum() >= _FEWEST_DAYS:
                found.append(SeasonTable(both, tuple(seasons_of(both)), table.slots))
    longest = sorted(found, key=lambda each: -int(each.dates.sum()))[:_MOST_SEASONS]
    return sorted(longest, key=lambda each: int(np.argmax(each.dates)))


def days_of(season: SeasonTable, flows: Flows) -> Iterator[SheetDay]:
    """Yield a sunny and a cloudy day of a season; by rank, so neither the best nor the worst."""
    timeline = flows.timeline
    steps = np.flatnonzero(steps_on(season.dates, timeline))
    kind = days_on(timeline)[steps]
    steps = steps[np.isin(kind, _telling_days(season, kind))]
    date, place = np.unique(timeline.wall[steps].astype("datetime64[D]"), return_inverse=True)
    sun = np.bincount(place, flows["pv_available_kw"][steps])
    load = np.bincount(place, flows["load_kw"][steps])
    order = np.lexsort((-load, sun))
    for sky, share in (("sunny", SUNNY), ("cloudy", CLOUDY)):
        day = order[round(share * (date.size - 1))]
        yield _day(season, sky, str(date[day]), flows, steps[place == day])


def _telling_days(season: SeasonTable, kind: NDArray[np.int64]) -> list[int]:
    """Return the days, as in ``clock.days``, to which most slots of a season apply; a few holidays alone are none."""
    slots = {day: sum(day in slot.days for slot in season.slots if not slot.is_base) for day in np.unique(kind)}
    for most in sorted(set(slots.values()), reverse=True):
        found = [int(day) for day, number in slots.items() if number >= most]
        if np.isin(kind, found).mean() >= _FEWEST_SHARE:
            break
    return found


def _day(season: SeasonTable, sky: str, date: str, flows: Flows, steps: NDArray[np.int64]) -> SheetDay:
    timeline, soc = flows.timeline, flows["soc"][steps]

    def kwh(*columns: str) -> float:
        return float(sum(flows[column][steps].sum() for column in columns)) * timeline.step_h

    def at(index: int) -> str:
        return clock(int(timeline.minute_of_day[steps[index]]) + round(60 * timeline.step_h))

    lowest, highest = int(np.argmin(soc)), int(np.argmax(soc))
    battery = flows.capacity_kwh > 0.0
    return SheetDay(
        season=season.words,
        sky=sky,
        date=date,
        pv_available_kwh=kwh("pv_available_kw"),
        load_kwh=kwh("load_kw", "standby_kw"),
        import_kwh=kwh("import_kw"),
        export_kwh=kwh("export_kw"),
        grid_to_battery_kwh=kwh("grid_to_battery_kw"),
        battery_out_kwh=kwh("battery_to_load_kw", "battery_to_grid_kw"),
        soc_lowest=float(soc[lowest]) if battery else None,
        soc_lowest_at=at(lowest),
        soc_highest=float(soc[highest]) if battery else None,
        soc_highest_at=at(highest),
    )


def week_of(season: SeasonTable, flows: Flows) -> SheetWeek | None:
    """Return the week of a season with the median of solar energy; None where no whole week lies in it."""
    timeline = flows.timeline
    inside, sun = steps_on(season.dates, timeline), flows["pv_available_kw"]
    weeks = [
        (float(sun[steps].sum()), str(monday), steps) for monday, steps in weeks_of(timeline) if inside[steps].all()
    ]
    if not weeks:
        return None
    weeks.sort(key=lambda each: each[:2])
    _, monday, steps = weeks[len(weeks) // 2]
    return SheetWeek(steps, _idle(season, timeline, steps), season.words, monday)


def _idle(season: SeasonTable, timeline: Timeline, steps: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Return in which steps of a season the slots keep the battery from discharging."""
    minute, day = timeline.minute_of_day[steps], days_on(timeline)[steps]
    idle = np.zeros(steps.size, np.bool_)
    for slot in season.slots:
        if not discharges(slot.settings):
            idle |= slot.minutes(minute) & np.isin(day, list(slot.days))
    return idle
