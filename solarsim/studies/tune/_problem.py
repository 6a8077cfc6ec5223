"""What is to be tuned: a scenario and what the user asks in; base, machine and the values that may be tried out.

What cannot be tuned is refused here, before anything is searched.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from solarsim.dispatch.programmable import off_step
from solarsim.errors import InputError, ScenarioError
from solarsim.home import Home
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import BATTERY_TO_TUNE, GRID_TO_TUNE, require
from solarsim.scenario.programmable import Programmable
from solarsim.scenario.strategy import Strategy
from solarsim.studies.tune._moves import Moves
from solarsim.studies.tune._table import (
    CAP,
    CEILING,
    CHARGE,
    DECIMALS,
    EVERY_DAY,
    RESERVE,
    SELL,
    SERVES,
    SURPLUS,
    WEEKENDS,
    WORKDAYS,
    Calendar,
    Settings,
)

PLAIN = "(plain)"  #: name of the strategy without windows from which a search starts
#: What the command needs beyond what every scenario has.
NEEDS = (BATTERY_TO_TUNE, GRID_TO_TUNE)
RUNS = 15_000
MOST_SEASONS, MOST_SLOTS, MOST_WINDOWS = 3, 4, 6
_SEARCH_STEP = 0.05  # of states of charge; finer ones earn less than the noise between two years
_CAP_RANKS = (0.3, 0.5, 0.7, 0.8, 0.9, 0.95, 0.98)  # of the year's load: import caps that are tried
_ROUNDING = 1e-6
_NO_MACHINE = Programmable(
    slots=MOST_SLOTS,
    fill_day=False,
    days_of_week=True,
    seasons=MOST_SEASONS,
    reserve_in_slots=True,
    level_step=_SEARCH_STEP,
)


@dataclass(frozen=True, eq=False)
class Asked:
    """What the user asks of a search.

    Attributes
    ----------
    reserve : float or None
        State of charge kept for outages; None for the base reserve of the first strategy.
    worth : float
        What a window or setting must earn in a year, as a share of the bill without any system.
    wear : float or None
        Wear for each kWh out of the battery [currency/kWh]; None for what its model says.
    holidays : bool
        Windows may treat holidays unlike other days.
    seasons : sequence of tuple of str
        First and last day of seasons as MM-DD; the rest of the year is one more. Empty: they are searched.
    seed, runs : int
        Random seed; most years that are run.
    """

    reserve: float | None = None
    worth: float = 0.001
    wear: float | None = None
    holidays: bool = False
    seasons: Sequence[tuple[str, str]] = ()
    seed: int = 1
    runs: int = RUNS


def check_asked(scenario: Scenario, asked: Asked) -> None:
    """Refuse a home whose settings have no effect, and numbers that are none.

    Raises
    ------
    ScenarioError
        No battery; off the grid; holidays that the inverter does not know.
    InputError
        Reserve, worth, wear or runs out of range.
    """
    require(scenario, *NEEDS)
    problems = []
    if asked.reserve is not None and not 0.0 <= asked.reserve < 1.0:
        problems.append(f"--reserve {asked.reserve:g} must be a share from 0 to below 1; 0.3 is 30%")
    if not 0.0 <= asked.worth <= 1.0:
        problems.append(f"--worth {asked.worth:g} must be a share of the bill from 0 to 1; 0.001 is 0.1%")
    if asked.wear is not None and not 0.0 <= asked.wear < inf:
        problems.append(f"--wear {asked.wear:g} must be a price of 0 or more")
    if asked.runs < 1:
        problems.append(f"--runs {asked.runs} must be 1 or more")
    if problems:
        raise InputError(*problems)
    if asked.holidays and scenario.inverter.programmable is not None:
        holidays = "--holidays: inverter clocks have no holidays, so inverter.programmable does not allow it"
        raise ScenarioError(scenario.problem(holidays))


def machine_of(scenario: Scenario) -> Programmable:
    """Return what tables may need: the inverter's menu, within what a person still reads."""
    own = scenario.inverter.programmable
    if own is None:
        return _NO_MACHINE
    slots = own.slots if own.fill_day else min(own.slots, MOST_SLOTS)
    return own.model_copy(update={"slots": slots, "seasons": min(own.seasons, MOST_SEASONS)})


def plain_strategy(scenario: Scenario, reserve: float | None) -> Strategy:
    """Return the plainest strategy at a reserve; what is not searched is as in the base of the first strategy.

    Raises
    ------
    ScenarioError
        The reserve does not go with the home.
    """
    first, machine = scenario.strategies[0], scenario.inverter.programmable
    named = f"the reserve {first.reserve:g} of {first.name!r}" if reserve is None else f"--reserve {reserve:g}"
    reserve = first.reserve if reserve is None else reserve
    problems = []
    if reserve >= 1.0:
        problems.append(f"{named} leaves nothing of the battery to use; write --reserve with a lower one")
    elif reserve < first.off_grid_floor:
        problems.append(f"{named} is below the off_grid_floor {first.off_grid_floor:g} of {first.name!r}")
    elif machine is not None:
        steps = f"cannot be set: this inverter sets levels in steps of {machine.level_step:g}"
        if off_step(reserve, machine.level_step):
            problems.append(f"{named} {steps}; write --reserve with another")
        if off_step(first.off_grid_floor, machine.level_step):
            problems.append(f"the off_grid_floor {first.off_grid_floor:g} of {first.name!r} {steps}")
    if problems:
        raise ScenarioError(*map(scenario.problem, problems))
    plain = {
        "name": PLAIN, "surplus_to": "battery", "battery_serves_load": True, "reserve": reserve,
        "solar_ceiling": 1.0, "charge_from_grid_to": 0.0, "sell_down_to": 1.0, "windows": (),
    }  # fmt: skip
    return Strategy.model_validate({**first.model_dump(exclude={"windows"}), **plain})


def plain_settings(base: Strategy) -> Settings:
    """Return the base's settings as a table has them."""
    cap = inf if base.import_cap_kw is None else base.import_cap_kw
    return (1.0, 1.0, base.reserve, 1.0, 0.0, 1.0, cap)


def season_starts(asked: Asked, machine: Programmable) -> tuple[int, ...]:
    """Return the days of the year, from 0, on which the seasons that are asked for begin; none where they are searched.

    Raises
    ------
    InputError
        A date is none; seasons overlap, or are more than the machine takes.
    """
    taken, starts = np.zeros(365, np.bool_), set()
    for first, last in asked.seasons:
        _check_dates(first, last)
        inside = days_between(first, last)
        if (taken & inside).any():
            raise InputError(f"--season {first}/{last} overlaps another season")
        taken |= inside
        starts |= {_day_of(first), (_day_of(last) + 1) % 365}
    if len(starts) > machine.seasons:
        most = f"at most {machine.seasons}" if machine.seasons > 1 else "only one"
        raise InputError(f"--season: with the rest of the year these are {len(starts)} seasons; {most} can be set")
    return tuple(sorted(starts))


def _check_dates(first: str, last: str) -> None:
    """Refuse an end of a season that is not a day of the year."""
    for text in (first, last):
        if re.fullmatch(r"\d\d-\d\d", text, re.ASCII) is None:
            raise InputError(f"--season {first}/{last}: must be two dates MM-DD, for example 11-01/02-28")
        try:
            _day_of(text)
        except ValueError:
            other = " in a year of 365 days; write 02-28 or 03-01" if text == "02-29" else ""
            raise InputError(f"--season {first}/{last}: {text} does not exist{other}") from None


def days_between(first: str, last: str) -> NDArray[np.bool_]:
    """Return which of the 365 days lie from one day of the year, MM-DD, to another; they may cross New Year."""
    start, length = _day_of(first), (_day_of(last) - _day_of(first)) % 365 + 1
    inside = np.zeros(365, np.bool_)
    inside[np.arange(start, start + length) % 365] = True
    return inside


def _day_of(text: str) -> int:
    """Return the day of the year, from 0, of a date MM-DD."""
    return int((np.datetime64(f"2025-{text}") - np.datetime64("2025-01-01")).astype(np.int64))


def moves_of(home: Home, base: Strategy, machine: Programmable, calendar: Calendar, asked: Asked) -> Moves:
    """Return what a search may change: only what can have an effect on this home."""
    return Moves(
        values=_values(home, base, machine),
        slots=calendar.slots,
        hour=calendar.slots // 24,
        cut_days=len(calendar.cut_days),
        days=(EVERY_DAY, WORKDAYS, WEEKENDS) if machine.days_of_week else (EVERY_DAY,),
        seasons=machine.seasons,
        rules=MOST_WINDOWS,
        own_seasons=not asked.seasons,
    )


def _values(home: Home, base: Strategy, machine: Programmable) -> dict[int, tuple[float, ...]]:
    step = machine.level_step * max(1, round(_SEARCH_STEP / machine.level_step))
    grid = [round(step * number, DECIMALS) for number in range(1, int(1.0 / step - _ROUNDING) + 1)]
    settable = (level for level in (*grid, 1.0) if not off_step(level, machine.level_step))
    above = [level for level in settable if level > base.reserve + _ROUNDING]
    values: dict[int, tuple[float, ...]] = {SERVES: (0.0, 1.0)}
    if home.rate_plan.export.pay != "feed_in":
        values[CHARGE] = (0.0, *above)
    if machine.reserve_in_slots:
        values[RESERVE] = (base.reserve, *above)
    if may_export(home, base):
        values |= {SURPLUS: (0.0, 1.0), SELL: (base.reserve, *above), CEILING: tuple(above)}
    if home.rate_plan.demand:
        ranks = np.quantile(home.load_kw, _CAP_RANKS)
        values[CAP] = tuple(sorted({max(0.1, round(float(each), 1)) for each in ranks}))
    return values


def may_export(home: Home, base: Strategy) -> bool:
    """Return whether exports are permitted, and can be paid."""
    grid = home.scenario.grid
    limits_kw = (None if grid is None else grid.export_limit_kw, base.export_limit_kw)
    return home.rate_plan.export.pay != "none" and 0.0 not in limits_kw
