"""When an outage leaves backed-up demand unserved, and why: a year and the steps of an outage in; stretches out."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from solarsim.engine.reasons import (
    ABOVE_START_LEVEL,
    AT_BATTERY_LIMIT,
    AT_CUTOFF,
    AT_GENERATOR_RATING,
    AT_INVERTER_RATING,
    AT_OFF_GRID_FLOOR,
    BLOCKED_BY_TEMPERATURE,
    QUIET_HOURS,
    TANK_EMPTY,
    WAITS_TO_RESTART,
)
from solarsim.engine.records import UNKNOWN, Cells, Dispatch, Inputs
from solarsim.engine.step import run_outages, run_steps
from solarsim.engine.year import Year
from solarsim.home import Home
from solarsim.results import Result, fact

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
#: What is not of the engine: a transfer by hand that nobody is there for, an inverter that stops with the grid.
NO_ONE_AT_HOME, GRID_TIED = 1 << 20, 1 << 21
_NAMES = {
    AT_CUTOFF: "low_cutoff",
    AT_OFF_GRID_FLOOR: "off_grid_floor",
    WAITS_TO_RESTART: "waits_to_restart",
    AT_INVERTER_RATING: "inverter_rating",
    AT_BATTERY_LIMIT: "battery_power",
    BLOCKED_BY_TEMPERATURE: "battery_temperature",
    QUIET_HOURS: "generator_quiet_hours",
    TANK_EMPTY: "generator_tank_empty",
    ABOVE_START_LEVEL: "above_generator_start",
    AT_GENERATOR_RATING: "generator_rating",
    NO_ONE_AT_HOME: "no_one_at_home",
    GRID_TIED: "grid_tied",
}


@dataclass(frozen=True, eq=False, repr=False)
class Shortfall(Result):
    """A stretch of an outage in which backed-up demand is unserved for one and the same reason."""

    start: str = fact("when it begins, by the wall clock", "date and time")
    hours: float = fact("its duration, whole steps", "h")
    unserved_kwh: float = fact("backed-up demand unserved in it", "kWh")
    why: tuple[str, ...] = fact(
        "what ran out or was too small: of battery or inverter, then of the generator where there is one", "list"
    )


def reasons(why: int) -> tuple[str, ...]:
    """Return the names of reasons that the engine added."""
    return tuple(name for bit, name in _NAMES.items() if why & bit)


def unserved_by_step(year: Year, start: int, steps: int) -> tuple[Floats, Ints]:
    """Return the backed-up demand that an outage of a closed year leaves unserved in each step [kWh], and why."""
    inputs, size = year.inputs, year.inputs.pv_kw.size
    state = year.start if start == 0 else run_steps(_until(inputs, start), year.start, _scratch(year, start), UNKNOWN)
    stored_kwh = np.full(size, state.stored_kwh)
    lasted_h, unserved_kwh, why = np.empty(1), np.empty((1, steps)), np.empty((1, steps), np.int64)
    run_outages(inputs, np.array([start]), stored_kwh, state, lasted_h, unserved_kwh, why, True)
    return np.diff(unserved_kwh[0], prepend=0.0), why[0]


def shortfalls(home: Home, steps: Ints, unserved_kwh: Floats, why: Ints) -> tuple[Shortfall, ...]:
    """Return the stretches of steps that leave some unserved for the same reason, in their order."""
    edges = np.flatnonzero(np.diff(why, prepend=0, append=0))
    found = []
    for first, end in pairwise(edges):
        if why[first]:
            begins = home.timeline.wall[steps[first]].item()
            found.append(
                Shortfall(
                    start=f"{begins:%Y-%m-%d %H:%M}",
                    hours=float(end - first) * home.timeline.step_h,
                    unserved_kwh=float(unserved_kwh[first:end].sum()),
                    why=reasons(int(why[first])),
                )
            )
    return tuple(found)


def _until(inputs: Inputs, end: int) -> Inputs:
    """Return the inputs of the steps before one."""
    return inputs._replace(
        dispatch=Dispatch._make(each[:end] for each in inputs.dispatch),
        cells=Cells._make(each[:end] for each in inputs.cells),
        pv_kw=inputs.pv_kw[:end],
        ac_solar_kw=inputs.ac_solar_kw[:end],
        load_kw=inputs.load_kw[:end],
    )


def _scratch(year: Year, steps: int) -> Floats:
    """Return a table to write steps into."""
    return np.empty((steps, year.table.shape[1]))
