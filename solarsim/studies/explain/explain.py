"""Why the battery did that: a scenario, a strategy and a time in; one step's flows and what decided them out."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import inf

import numpy as np

from solarsim.clock.timeline import Timeline, offset_text
from solarsim.clock.windows import governing
from solarsim.engine.records import GENERATOR, Hour
from solarsim.engine.year import Year, run_year
from solarsim.errors import ScenarioError
from solarsim.home import Home, home_of
from solarsim.ledger.flows import NUMBERS, Flows, flows_from_year
from solarsim.results import Result, computed, fact
from solarsim.scenario.lines import window_line
from solarsim.scenario.model import Scenario
from solarsim.scenario.strategy import Strategy
from solarsim.studies.explain._deciders import deciders_of
from solarsim.studies.explain._names import Names
from solarsim.studies.explain._one_step import OneStep, step_of

_SOURCE = Hour._fields.index("source")


@dataclass(frozen=True, eq=False, repr=False)
class Decision(Result):
    """A setting or limit that decided the step: with it changed, the flows would differ."""

    keys: tuple[str, ...] = fact(
        "keys of the scenario, or battery_full, cells_charge, cells_discharge (cold or hot cells), grid (an outage);"
        " several where only together they decide",
        "list",
    )
    values: tuple[str, ...] = fact("their values in this step; empty where a key has none", "list")
    compared_with: Mapping[str, str] = fact(
        "settings with which the step was run again, by their keys; empty where one is left out; no keys: the limits in"
        " keys were out of reach",
        "table",
    )
    changes_kw: Mapping[str, float] = fact("flows of that run less the flows as they were, by column", "kW")
    of_strategy: bool = fact("whether it is a setting of the strategy", "true or false")


@dataclass(frozen=True, eq=False, repr=False)
class Explanation(Result):
    """One step of a strategy's year, and what decided it.

    Examples
    --------
    >>> from solarsim import explain, read_scenario
    >>> hour = explain(read_scenario(), "zero export", "2026-07-03T12:00")
    >>> [each.keys for each in hour.decisions if "export_limit_kw" in each.keys]
    [('export_limit_kw',)]
    """

    _rows = "decisions"

    home: Home
    scenario: str = fact("name of the scenario", "text")
    strategy: str = fact("name of the strategy", "text")
    currency: str = fact("ISO 4217 code of all money", "text")
    starts: str = fact("start of the step by the wall clock, with its offset from UTC", "ISO 8601")
    ends: str = fact("end of the step by the wall clock", "ISO 8601")
    other_starts: str | None = fact(
        "start of the other step at this wall-clock time, with its offset; null where the clock shows it once",
        "ISO 8601",
    )
    window: int | None = fact("number of the strategy's window that governs, from 1; null for the base settings", "1")
    window_words: str = fact("the window in words; empty for the base settings", "text")
    line: int | None = fact("line of the scenario file in which it begins; null where not known", "1")
    on_grid: bool = fact("whether the home is on the grid", "true or false")
    in_transfer: bool = fact("whether a part of the step is transfer time from grid to island", "true or false")
    generator_runs: bool = fact("whether a generator runs", "true or false")
    soc_before: float | None = fact("state of charge at the start of the step; null without a battery", "1")
    battery_kwh_before: float = fact("stored energy at the start of the step", "kWh")
    flows: Mapping[str, float] = fact("the step's row of the hourly table, by column", "table")
    decisions: tuple[Decision, ...] = fact("what decided the step, the largest change of flows first", "table")
    foresight: Mapping[str, float] | None = fact(
        "the same row of a schedule with perfect foresight at the same reserve; null where not asked for or not known",
        "table",
        default=None,
    )
    foresight_soc_before: float | None = fact(
        "state of charge at the start of the step in that schedule; null where foresight is", "1", default=None
    )

    @computed("what a reader should know", "list")
    def notes(self) -> list[str]:
        return self.home.notes()


def explain(
    scenario: Scenario, strategy: str | None, time: str | datetime, home: Home | None = None, best: bool = False
) -> Explanation:
    """Explain one step of a strategy's year.

    The engine is asked again with one setting or limit changed at a time; those that change the flows are named.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    strategy : str or None
        The name of one of its strategies; None is the first one.
    time : str or datetime
        Within the step: a date and time of the calendar year by the wall clock of the site, ``2026-07-03T18:00``; with
        an offset from UTC where the wall clock shows an hour twice.
    home : Home, optional
        From ``home_from`` of this scenario.
    best : bool
        Also what a schedule with perfect foresight did in the step.

    Returns
    -------
    Explanation
        The step.

    Raises
    ------
    ScenarioError
        The time is not one, not in the calendar year, or skipped by the clock.
    InputError
        See ``home_from``; or the strategy is not in the scenario.
    ValueError
        See ``home_of``.
    """
    chosen = scenario.strategy(scenario.strategies[0].name if strategy is None else strategy)
    home = home_of(scenario, home)
    timeline = home.timeline
    number = step_at(timeline, time)
    year = run_year(home.inputs(chosen.name))
    flows = flows_from_year(timeline, home.prices, year)
    source = float(year.table[number, _SOURCE])
    on_grid = source not in (0.0, GENERATOR)
    place = int(governing(chosen.windows, timeline, f"strategy {chosen.name!r}")[number])
    window = place if place < len(chosen.windows) else None
    settings = chosen if window is None else chosen.in_window(chosen.windows[window])
    step = step_under(step_of(year, number), scenario, home, settings)
    starts = timeline.wall[number].astype(datetime)
    battery = flows.capacity_kwh > 0.0
    supply, wall = home.supply, timeline.wall
    others = [int(each) for each in np.flatnonzero(wall == wall[number]) if each != number]
    foreseen = _foreseen(home, chosen.name, flows, number) if best and battery else None
    return Explanation(
        home=home,
        scenario=scenario.name,
        strategy=chosen.name,
        currency=scenario.rate_plan.currency,
        starts=_start(timeline, number),
        ends=(starts + timedelta(hours=timeline.step_h)).isoformat(timespec="minutes"),
        other_starts=_start(timeline, others[0]) if others else None,
        window=None if window is None else window + 1,
        window_words="" if window is None else chosen.windows[window].words(),
        line=window_line(scenario, chosen.name, -1 if window is None else window),
        on_grid=on_grid,
        in_transfer=not on_grid and supply is not None and bool(supply.transfer_kw[number] < supply.backed_kw[number]),
        generator_runs=source >= GENERATOR,
        soc_before=step.before.stored_kwh / flows.capacity_kwh if battery else None,
        battery_kwh_before=step.before.stored_kwh if battery else 0.0,
        flows=_row(flows, number),
        decisions=tuple(_decisions(Names(scenario, settings), step)),
        foresight=None if foreseen is None else foreseen[0],
        foresight_soc_before=None if foreseen is None else foreseen[1],
    )


def step_at(timeline: Timeline, time: str | datetime) -> int:
    """Return the number of the step that a time is in.

    Parameters
    ----------
    timeline : Timeline
        The year.
    time : str or datetime
        By the wall clock, or with an offset from UTC.

    Returns
    -------
    int
        From 0. Of an hour that the wall clock shows twice, the first.

    Raises
    ------
    ScenarioError
        The time is not one, not in the calendar year, or skipped by the clock.
    """
    try:
        moment = datetime.fromisoformat(time) if isinstance(time, str) else time
    except ValueError:
        raise ScenarioError(
            f"{time!r} must be a date and time by the wall clock, for example {timeline.year}-07-03T18:00"
        ) from None
    if moment.tzinfo is None:
        shown, clock = timeline.wall, np.datetime64(moment, "s")
    else:
        utc = moment.replace(tzinfo=None) - (moment.utcoffset() or timedelta(0))
        shown, clock = timeline.utc_start, np.datetime64(utc, "s")
    length = np.timedelta64(round(timeline.step_h * 3600), "s")
    inside = np.flatnonzero((shown <= clock) & (clock < shown + length))
    if inside.size:
        return int(inside[0])
    if moment.year != timeline.year:
        raise ScenarioError(f"{time} is not in {timeline.year}, the calendar year of the scenario (site.calendar_year)")
    if (moment.month, moment.day) == (2, 29):
        raise ScenarioError(f"{time}: every run has 365 days, 29 February is left out")
    raise ScenarioError(f"{time}: the clock in {timeline.zone} skips this time (daylight saving begins)")


def _row(flows: Flows, number: int) -> dict[str, float]:
    """Return one row of the hourly table."""
    return {name: float(flows[name][number]) + 0.0 for name in NUMBERS}


def _start(timeline: Timeline, number: int) -> str:
    """Return the start of a step by the wall clock, with its offset from UTC."""
    start = timeline.wall[number].astype(datetime)
    return f"{start.isoformat(timespec='minutes')}{offset_text(float(timeline.wall_offset_h[number]))}"


def _foreseen(home: Home, strategy: str, flows: Flows, number: int) -> tuple[dict[str, float], float] | None:
    """Return the row of a schedule with perfect foresight that leaves no more unserved, and what it had stored."""
    from solarsim.studies.optimum.optimum import best_schedule

    year: Year | None = best_schedule(home, strategy, float(flows["unserved_kw"].sum()) * home.timeline.step_h)
    if year is None:
        return None
    foreseen = flows_from_year(home.timeline, home.prices, year)
    before_kwh = float(foreseen["battery_kwh"][number - 1]) if number else year.start_kwh
    return _row(foreseen, number), before_kwh / foreseen.capacity_kwh


def step_under(step: OneStep, scenario: Scenario, home: Home, settings: Strategy) -> OneStep:
    """Return a step with what its orders do not tell apart: whose limit of export holds, what an island leaves out.

    Parameters
    ----------
    step : OneStep
        Of a year of the home.
    scenario : Scenario
        The home's.
    home : Home
        From ``home_from``.
    settings : Strategy
        The settings in force in the step.

    Returns
    -------
    OneStep
        The same step.
    """
    own_kw = inf if settings.export_limit_kw is None else settings.export_limit_kw
    utility_kw = inf if scenario.grid is None else scenario.grid.export_limit_kw
    if home.stays_connected:
        return step._replace(own_export_kw=own_kw, utility_export_kw=utility_kw)
    orders = {
        "serves_load": settings.battery_serves_load,
        "sell_to": settings.sell_down_to,
        "export_limit_kw": min(own_kw, utility_kw),
    }
    return step._replace(if_hybrid=orders)


def _decisions(names: Names, step: OneStep) -> list[Decision]:
    """Return what decided a step in the names of the scenario and of the hourly table, the largest change first."""
    decisions = []
    for each in deciders_of(step):
        named = [names.of(step, key) for key in each.keys]
        decisions.append(
            Decision(
                keys=tuple(key for key, _ in named),
                values=tuple(value for _, value in named),
                compared_with=names.compared_with(step, each),
                changes_kw=each.changes_kw,
                of_strategy=all(key in Strategy.model_fields for key, _ in named),
            )
        )
    return sorted(decisions, key=lambda each: -max(map(abs, each.changes_kw.values())))
