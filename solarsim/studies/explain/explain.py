"""Why the battery did that: a scenario, a strategy and a time in; one step's flows and what decided them out."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import inf

import numpy as np

from solarsim.clock.timeline import Timeline
from solarsim.clock.windows import governing
from solarsim.engine.records import GENERATOR, Hour
from solarsim.engine.year import Year, run_year
from solarsim.errors import ScenarioError
from solarsim.hardware.limits import power_limits
from solarsim.home import Home, home_of
from solarsim.ledger.flows import HOURLY, Flows, flows_from_year
from solarsim.results import Result, computed, fact
from solarsim.scenario.lines import window_line
from solarsim.scenario.model import Scenario
from solarsim.scenario.strategy import Strategy
from solarsim.studies.explain._deciders import Decider, deciders_of
from solarsim.studies.explain._one_step import OneStep, step_of

_SOURCE = Hour._fields.index("source")
_CELLS = {"cells_charge": "charge", "cells_discharge": "discharge"}


@dataclass(frozen=True, eq=False, repr=False)
class Decision(Result):
    """A setting or limit that decided the step: without it the flows would differ."""

    keys: tuple[str, ...] = fact(
        "keys of the scenario, or battery_full, cells_charge, cells_discharge (cold or hot cells), grid (an outage);"
        " several where only together they decide",
        "list",
    )
    values: tuple[str, ...] = fact("their values in this step; empty where a key has none", "list")
    changes_kw: Mapping[str, float] = fact("flows without it less the flows as they were, by column", "kW")
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
    window: int | None = fact("number of the strategy's window that governs, from 1; null for the base settings", "1")
    window_words: str = fact("the window in words; empty for the base settings", "text")
    line: int | None = fact("line of the scenario file in which it begins; null where not known", "1")
    on_grid: bool = fact("whether the home is on the grid", "true or false")
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

    @computed("what a reader should know", "list")
    def notes(self) -> list[str]:
        return self.home.notes()


def explain(
    scenario: Scenario, strategy: str | None, time: str | datetime, home: Home | None = None, best: bool = False
) -> Explanation:
    """Explain one step of a strategy's year.

    The engine is asked again with one setting or limit relaxed at a time; those that change the flows are named.

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
    step = step_of(year, number)
    source = float(year.table[number, _SOURCE])
    on_grid = source not in (0.0, GENERATOR)
    place = int(governing(chosen.windows, timeline, f"strategy {chosen.name!r}")[number])
    window = place if place < len(chosen.windows) else None
    utility_kw = inf if scenario.grid is None else scenario.grid.export_limit_kw
    found = deciders_of(step, utility_kw if home.stays_connected else 0.0)
    starts = timeline.wall[number].astype(datetime)
    battery = flows.capacity_kwh > 0.0
    return Explanation(
        home=home,
        scenario=scenario.name,
        strategy=chosen.name,
        currency=scenario.rate_plan.currency,
        starts=starts.isoformat(timespec="minutes") + _offset(float(timeline.wall_offset_h[number])),
        ends=(starts + timedelta(hours=timeline.step_h)).isoformat(timespec="minutes"),
        window=None if window is None else window + 1,
        window_words="" if window is None else chosen.windows[window].words(),
        line=window_line(scenario, chosen.name, -1 if window is None else window),
        on_grid=on_grid,
        generator_runs=source >= GENERATOR,
        soc_before=step.before.stored_kwh / flows.capacity_kwh if battery else None,
        battery_kwh_before=step.before.stored_kwh if battery else 0.0,
        flows=_row(flows, number),
        decisions=tuple(_decisions(scenario, home, step, found, on_grid)),
        foresight=_foreseen(home, chosen.name, flows, number) if best and battery else None,
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


def _offset(hours: float) -> str:
    """Return an offset from UTC as ISO 8601 has it."""
    minutes = round(hours * 60)
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def _row(flows: Flows, number: int) -> dict[str, float]:
    """Return one row of the hourly table."""
    return {name: float(flows[name][number]) + 0.0 for name in HOURLY if name != "time"}


def _foreseen(home: Home, strategy: str, flows: Flows, number: int) -> dict[str, float] | None:
    """Return the row of a schedule with perfect foresight that leaves no more unserved."""
    from solarsim.studies.optimum.optimum import best_schedule

    year: Year | None = best_schedule(home, strategy, float(flows["unserved_kw"].sum()) * home.timeline.step_h)
    return None if year is None else _row(flows_from_year(home.timeline, home.prices, year), number)


def _decisions(scenario: Scenario, home: Home, step: OneStep, found: list[Decider], on_grid: bool) -> list[Decision]:
    """Return what decided a step in the names of the scenario and of the hourly table, the largest change first."""
    source = "grid" if on_grid else "generator"
    decisions = []
    for each in found:
        named = [_named(scenario, home, step, key) for key in each.keys]
        decisions.append(
            Decision(
                keys=tuple(key for key, _ in named),
                values=tuple(value for _, value in named),
                changes_kw={name.replace("source", source): by_kw for name, by_kw in each.changes_kw.items()},
                of_strategy=all(key in Strategy.model_fields for key, _ in named),
            )
        )
    return sorted(decisions, key=lambda each: -max(map(abs, each.changes_kw.values())))


def _named(scenario: Scenario, home: Home, step: OneStep, key: str) -> tuple[str, str]:
    """Return the key of the scenario that a limit comes from, and its value in the step."""
    inputs, battery = step.inputs, scenario.battery_in_use
    way = {"charge_power": "charge", "discharge_power": "discharge"}.get(key)
    if way is not None and battery is not None:
        limits = power_limits(scenario.inverter, battery, "charge" if way == "charge" else "discharge")
        key = min(limits, key=lambda name: limits[name])
        return key, f"{limits[key]:.3g} kW"
    if key in _CELLS:
        return key, f"{float(getattr(inputs.cells, f'{_CELLS[key]}_kw')[0]):.3g} kW"
    if key == "battery.low_cutoff":
        return key, f"{step.cutoff:g}"
    if key == "arrangement" and scenario.arrangement is not None:
        critical = scenario.arrangement.critical_only
        return ("arrangement.backed_up", "critical") if critical else ("arrangement.kind", scenario.arrangement.kind)
    if key in ("surplus_to", "battery_serves_load") and not home.stays_connected:
        return "arrangement.kind", "off_grid"
    return key, _value(scenario, step, key)


def _value(scenario: Scenario, step: OneStep, key: str) -> str:
    """Return the value of a key in a step."""
    order = step.order
    shares = {
        "reserve": "reserve",
        "solar_ceiling": "ceiling",
        "charge_from_grid_to": "charge_to",
        "sell_down_to": "sell_to",
        "off_grid_floor": "off_grid_floor",
    }
    if key in shares:
        return f"{order(shares[key]):g}"
    if key == "surplus_to":
        return "battery" if order("surplus_to_battery") else "grid"
    if key == "battery_serves_load":
        return "true" if order("serves_load") else "false"
    if key == "load_served":
        return "backed_up"
    name = key.removeprefix("grid.")
    if name in ("import_cap_kw", "export_limit_kw", "grid_charge_kw", "discharge_limit_kw", "sell_limit_kw"):
        return f"{order(name):g} kW"
    if key == "zero_export_bias_kw":
        return f"{order('bias_kw'):g} kW"
    value = scenario.value(key) if "." in key else None
    return "" if value is None or isinstance(value, tuple) else f"{value:g}" if isinstance(value, float) else str(value)
