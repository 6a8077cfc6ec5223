"""Whether a strategy can be programmed: an inverter's menu and a strategy in, one reason for each misfit out."""

import numpy as np

from solarsim.clock.days import day_words
from solarsim.clock.timeline import Timeline
from solarsim.clock.words import date_words
from solarsim.dispatch.slots import KeyedTables, SeasonTable, tables_from
from solarsim.scenario.programmable import Programmable
from solarsim.scenario.strategy import Strategy

LEVELS = ("reserve", "solar_ceiling", "charge_from_grid_to", "sell_down_to", "off_grid_floor")
_ROUNDING = 1e-6


def misfits(strategy: Strategy, machine: Programmable, timeline: Timeline) -> list[str]:
    """Return why a strategy cannot be programmed into an inverter.

    Parameters
    ----------
    strategy : Strategy
        Any.
    machine : Programmable
        What the inverter's menu accepts.
    timeline : Timeline
        The year; it says whether there are holidays.

    Returns
    -------
    list of str
        One sentence for each reason, without its end; empty where it can.

    Examples
    --------
    >>> from solarsim import read_scenario
    >>> keys = {"slots": 1, "fill_day": False, "days_of_week": True, "seasons": 2, "reserve_in_slots": False}
    >>> home = read_scenario().changed({"inverter.programmable": {**keys, "level_step": 0.05}})
    >>> machine, year = home.inverter.programmable, home.site.timeline()
    >>> misfits(home.strategy("winter night charge"), machine, year)
    []
    >>> misfits(home.strategy("hold for the peak"), machine, year)[0]
    'this inverter has 1 time slot; the strategy needs 2 (Oct-Apr)'
    """
    return misfits_of(tables_from(strategy, timeline), machine)


def misfits_of(tables: KeyedTables, machine: Programmable) -> list[str]:
    """Return why tables of slots cannot be programmed into an inverter.

    Parameters
    ----------
    tables : KeyedTables
        Of a strategy.
    machine : Programmable
        What the inverter's menu accepts.

    Returns
    -------
    list of str
        As ``misfits``.
    """
    reasons = []
    fullest = max(tables.seasons, key=lambda season: slots_to_key(season, machine.fill_day))
    needed = slots_to_key(fullest, machine.fill_day)
    if needed > machine.slots:
        where = ", ".join(season.season() for season in fullest.seasons)
        reasons.append(
            f"this inverter has {machine.slots} time slot{'s' * (machine.slots > 1)}; the strategy needs {needed}"
            + (f" ({where})" if where else "")
        )
    if len(tables.seasons) > machine.seasons:
        has = f"{machine.seasons} seasonal tables" if machine.seasons > 1 else "one table for the whole year"
        reasons.append(
            f"this inverter has {has}; the strategy needs {len(tables.seasons)}, so its settings would have to be"
            f" changed by hand on {change_dates(tables)}"
        )
    reasons += _day_reasons(tables, machine)
    settings = settings_in(tables)
    reserves = sorted({each.reserve for each in settings})
    if not machine.reserve_in_slots and len(reserves) > 1:
        listed = " and ".join(f"{level:.4g}" for level in reserves)
        reasons.append(f"this inverter has one reserve for all slots; the strategy has {listed}")
    levels = {(key, float(getattr(each, key))) for each in settings for key in LEVELS}
    others = {f"{key} {level:g}" for key, level in levels if off_step(level, machine.level_step)}
    if others:
        listed = ", ".join(sorted(others))
        reasons.append(f"this inverter sets levels in steps of {machine.level_step:g}; the strategy has {listed}")
    return reasons


def change_dates(tables: KeyedTables) -> str:
    """Return the days on which one seasonal table gives way to the next.

    Parameters
    ----------
    tables : KeyedTables
        Of a strategy with several.

    Returns
    -------
    str
        English, in order of the year.
    """
    calendar = np.arange("2025-01-01", "2026-01-01", dtype="datetime64[D]")
    starts = sorted(day for season in tables.seasons for day in calendar[season.dates & ~np.roll(season.dates, 1)])
    *before, last = [date_words(str(day)[5:]) for day in starts]
    return f"{', '.join(before)} and {last}" if before else last


def off_step(level: float, step: float) -> bool:
    """Return whether a menu cannot set a level.

    Parameters
    ----------
    level : float
        State of charge, 0-1.
    step : float
        Of the menu, which ends at full whatever its step.

    Returns
    -------
    bool
        It lies between two steps.
    """
    return level < 1.0 and abs(level / step - round(level / step)) > _ROUNDING


def slots_to_key(season: SeasonTable, fill_day: bool) -> int:
    """Return how many slots of a season are programmed.

    Parameters
    ----------
    season : SeasonTable
        With its slots.
    fill_day : bool
        Whether slots must fill the day; if not, those of the base are left out.

    Returns
    -------
    int
        Their number.
    """
    return sum(fill_day or not slot.is_base for slot in season.slots)


def settings_in(tables: KeyedTables) -> list[Strategy]:
    """Return the settings of all slots.

    Parameters
    ----------
    tables : KeyedTables
        Of a strategy.

    Returns
    -------
    list of Strategy
        The base, then those of each slot.
    """
    return [tables.base, *(slot.settings for season in tables.seasons for slot in season.slots)]


def knows_holidays(tables: KeyedTables) -> bool:
    """Return whether a slot treats a holiday unlike the same weekday.

    Parameters
    ----------
    tables : KeyedTables
        Of a strategy.

    Returns
    -------
    bool
        No inverter's clock knows holidays (common practice, no source).
    """
    if max(tables.days) < 7:
        return False
    return any(
        {day for day in slot.days if day < 7} != {day - 7 for day in slot.days if day >= 7}
        for season in tables.seasons
        for slot in season.slots
    )


def _day_reasons(tables: KeyedTables, machine: Programmable) -> list[str]:
    partly = [slot for season in tables.seasons for slot in season.slots if not slot.days >= tables.days]
    if partly and not machine.days_of_week:
        own = next((slot for slot in partly if not slot.is_base), partly[0])
        return [
            f"this inverter cannot set slots by day of the week; the strategy has slots on"
            f" {day_words(own.days, tables.days)}"
        ]
    if knows_holidays(tables):
        return ["inverter clocks have no holidays; use days such as mon-fri instead of weekday"]
    return []
