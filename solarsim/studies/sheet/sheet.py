"""What to program into the inverter: a strategy in; its slots season by season, what they need and what they do out."""

from dataclasses import dataclass

from solarsim.clock.days import day_words, days_named
from solarsim.clock.windows import Window, minutes_of
from solarsim.clock.words import clock
from solarsim.dispatch.programmable import misfits_of, settings_in
from solarsim.dispatch.slots import KeyedTables, SeasonTable, Slot, tables_from
from solarsim.dispatch.typed_back import strategy_from
from solarsim.home import Home, home_of
from solarsim.results import Result, computed, fact
from solarsim.run import Run, simulate
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import Need
from solarsim.scenario.strategy import Strategy, StrategyWindow
from solarsim.studies.sheet._days import SheetDay, SheetWeek, days_of, priced_seasons, week_of
from solarsim.studies.sheet._sentences import (
    base_sentence,
    clauses,
    clock_sentences,
    needs,
    slot_sentence,
)

#: What the command needs beyond what every scenario has.
NEEDS: tuple[Need, ...] = ()


@dataclass(frozen=True, eq=False, repr=False)
class SheetSlot(Result):
    """One time slot."""

    start: str = fact("wall-clock time at which it begins", "HH:MM")
    end: str = fact("wall-clock time at which it ends; only a slot for every day crosses midnight", "HH:MM")
    days: str = fact("on which days", "text")
    is_base: bool = fact("whether its settings are those of the base", "true or false")
    sentence: str = fact("what to program", "text")


@dataclass(frozen=True, eq=False, repr=False)
class SheetSeason(Result):
    """One table of slots that do not overlap."""

    season: str = fact("the part of the year in which it holds", "text")
    slots: tuple[SheetSlot, ...] = fact(
        "slots that fill each day, in order of time, those of the same days together", "table"
    )


@dataclass(frozen=True, eq=False, repr=False)
class Sheet(Result):
    """A strategy as it is programmed."""

    _rows = "days"

    home: Home
    run: Run
    tables: KeyedTables
    parts: tuple[SeasonTable, ...]  # of the year, each with one table and one set of rates
    weeks: tuple[SheetWeek, ...]
    scenario: str = fact("name of the scenario", "text")
    strategy: str = fact("name of the strategy", "text")
    base: str = fact("settings outside the slots", "text")
    seasons: tuple[SheetSeason, ...] = fact("a table of slots for each season", "table")
    needs: tuple[str, ...] = fact("what the inverter must be able to do", "list")
    misfits: tuple[str, ...] | None = fact(
        "why it cannot be programmed into this inverter; null without inverter.programmable", "list"
    )
    clock: tuple[str, ...] = fact("what changes with daylight saving; empty without time slots", "list")
    days: tuple[SheetDay, ...] = fact("a sunny and a cloudy day of each season, from the simulated year", "table")

    @computed("what a reader should know", "list")
    def notes(self) -> list[str]:
        return self.home.notes(self.run)

    @property
    def fills_day(self) -> bool:
        """Whether slots must fill the day, so that those of the base are programmed, too."""
        machine = self.home.scenario.inverter.programmable
        return machine is not None and machine.fill_day

    @property
    def has_battery(self) -> bool:
        """Whether there is a battery; without one only the export limits of a strategy are programmed."""
        return self.home.limits.capacity_kwh > 0.0

    @property
    def has_orders(self) -> bool:
        """Whether anything has to be programmed: without a battery and an export limit nothing does."""
        return self.has_battery or any(each.export_limit_kw is not None for each in settings_in(self.tables))

    def typed_back(self) -> Strategy:
        """Return the slots as windows: the same flows in every hour, and with a battery the same dispatch."""
        return strategy_from(self.tables, self.home.timeline)


def sheet(scenario: Scenario, strategy: str | None = None, home: Home | None = None) -> Sheet:
    """Flatten a strategy into what is programmed, and run it for what it does.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    strategy : str, optional
        The first one if left out.
    home : Home, optional
        From ``home_from``.

    Returns
    -------
    Sheet
        Slots, needs, days.

    Raises
    ------
    InputError
        See ``home_from``; or the strategy is not in the scenario.
    ValueError
        See ``home_of``.

    Examples
    --------
    >>> from solarsim import read_scenario, sheet
    >>> sheet(read_scenario(), "winter night charge").seasons[0].slots[1].sentence
    'From 23:00 to 05:00 every day: charge from the grid to 70%; do not discharge.'
    """
    chosen = scenario.strategies[0] if strategy is None else scenario.strategy(strategy)
    home = home_of(scenario, home)
    has_battery = home.limits.capacity_kwh > 0.0
    programmed = _permitted(chosen if has_battery else _export_alone(chosen), scenario)
    tables, run = tables_from(programmed, home.timeline), simulate(scenario, chosen.name, home)
    seasons, volts, machine = priced_seasons(home, tables), scenario.battery_v, scenario.inverter.programmable
    weeks = (week_of(season, run.flows) for season in seasons)
    slots = [slot for season in tables.seasons for slot in season.slots if not slot.is_base]
    timed = any((slot.start_min, slot.end_min) != (0, 1440) for slot in slots)
    return Sheet(
        home=home,
        run=run,
        tables=tables,
        parts=tuple(seasons),
        weeks=tuple(week for week in weeks if week is not None),
        scenario=scenario.name,
        strategy=chosen.name,
        base=base_sentence(tables.base, volts, has_battery),
        seasons=tuple(
            SheetSeason(
                table.words,
                tuple(
                    SheetSlot(
                        clock(slot.start_min),
                        clock(slot.end_min),
                        day_words(slot.days, tables.days),
                        slot.is_base,
                        slot_sentence(slot, tables, volts),
                    )
                    for slot in table.slots
                ),
            )
            for table in tables.seasons
        ),
        needs=tuple(needs(tables, machine, has_battery)),
        misfits=None if machine is None else tuple(misfits_of(tables, machine)),
        clock=tuple(clock_sentences(home.timeline)) if timed else (),
        days=tuple(day for season in seasons for day in days_of(season, run.flows)),
    )


def window_sentence(strategy: Strategy, window: StrategyWindow, home: Home) -> str:
    """Return a window of a strategy as one sentence, its season first.

    Parameters
    ----------
    strategy : Strategy
        Whose base the window changes.
    window : StrategyWindow
        One of its windows.
    home : Home
        Where it is programmed.

    Returns
    -------
    str
        As on the sheet.

    Examples
    --------
    >>> from solarsim import read_scenario
    >>> from solarsim.home import home_from
    >>> home = home_from(read_scenario())
    >>> chosen = home.scenario.strategy("winter night charge")
    >>> window_sentence(chosen, chosen.windows[0], home)
    'Nov-Feb: from 23:00 to 05:00 every day: charge from the grid to 70%; do not discharge.'
    """
    tables = tables_from(strategy, home.timeline)
    days = days_named(window.days) & tables.days
    slot = Slot(*minutes_of(window), days, strategy.in_window(window), is_base=False)
    told = slot_sentence(slot, tables, home.scenario.battery_v)
    season = window.season()
    return f"{season}: {told[0].lower()}{told[1:]}" if season else told


def setting_words(strategy: Strategy, window: StrategyWindow, key: str, home: Home) -> str:
    """Return what one setting of a window does: what its sentence would not say without it.

    Parameters
    ----------
    strategy : Strategy
        Whose base the window changes.
    window : StrategyWindow
        One of its windows.
    key : str
        One of the window's settings.
    home : Home
        Where it is programmed.

    Returns
    -------
    str
        As on the sheet; the key where the sentence is the same without it.

    Examples
    --------
    >>> from solarsim import read_scenario
    >>> from solarsim.home import home_from
    >>> home = home_from(read_scenario())
    >>> chosen = home.scenario.strategy("winter night charge")
    >>> [setting_words(chosen, chosen.windows[0], key, home) for key in chosen.windows[0].changes()]
    ['do not discharge', 'charge from the grid to 70%']
    """
    volts = home.scenario.battery_v
    kept = list(clauses(strategy.in_window(window.model_copy(update={key: None})), strategy, volts))
    return "; ".join(told for told in clauses(strategy.in_window(window), strategy, volts) if told not in kept) or key


def _export_alone(strategy: Strategy) -> Strategy:
    """Return what of a strategy has an effect without a battery."""
    own = set(StrategyWindow.model_fields) - set(Window.model_fields) - {"export_limit_kw"}
    as_base = {**dict.fromkeys(own), "surplus_to": "grid"}  # a window must set something
    kept = {key: getattr(strategy, key) for key in ("name", "export_limit_kw", "zero_export_bias_kw")}
    windows = tuple(window.model_copy(update=as_base) for window in strategy.windows)
    return Strategy(surplus_to="grid", battery_serves_load=False, reserve=0.0, windows=windows, **kept)


def _permitted(strategy: Strategy, scenario: Scenario) -> Strategy:
    """Return a strategy with the utility's export limit, which is programmed too, where the inverters can exceed it."""
    rated_kw = scenario.inverter.ac_kw + sum(each.ac_kw for each in scenario.ac_inverters)
    if scenario.grid is None or scenario.grid.export_limit_kw >= rated_kw:
        return strategy
    most_kw = scenario.grid.export_limit_kw
    windows = tuple(
        window
        if window.export_limit_kw is None
        else window.model_copy(update={"export_limit_kw": min(most_kw, window.export_limit_kw)})
        for window in strategy.windows
    )
    own_kw = most_kw if strategy.export_limit_kw is None else min(most_kw, strategy.export_limit_kw)
    return strategy.model_copy(update={"export_limit_kw": own_kw, "windows": windows})
