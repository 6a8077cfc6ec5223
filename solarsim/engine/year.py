"""The year: its inputs in, the flows of every step out, run until the year ends with the energy it began with."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple

import numpy as np
from numba.core import event

from solarsim.engine.records import UNKNOWN, Floats, Hour, Inputs, Pass, State
from solarsim.engine.step import run_steps

HOUR_COLUMNS = Hour._fields
MOST_PASSES = 200
_CLOSED, _CLOSED_L = 1e-9, 1e-6


class Year(NamedTuple):
    """A closed year.

    Attributes
    ----------
    inputs : Inputs
        What it was run with.
    table : array of float
        One row for each step, one column for each of ``HOUR_COLUMNS``.
    start : State
        At the start of the first step.
    end : State
        At the end of the last step.
    passes : int
        How often the year was run.
    """

    inputs: Inputs
    table: Floats
    start: State
    end: State
    passes: int

    @property
    def start_kwh(self) -> float:
        """Stored energy at the start of the first step [kWh]."""
        return self.start.stored_kwh

    @property
    def gap_kwh(self) -> float:
        """Stored energy at the end minus at the start [kWh]; 0 where the year closed."""
        return self.end.stored_kwh - self.start.stored_kwh


def run_year(
    inputs: Inputs,
    start_kwh: float | None = None,
    table: Floats | None = None,
    known: Pass = UNKNOWN,
) -> Year:
    """Run the steps again and again until the year ends with the energy that it began with.

    Parameters
    ----------
    inputs : Inputs
        Hardware, rules, sun and load.
    start_kwh : float, optional
        Stored energy at the start of the first pass [kWh]: a good guess saves the second pass. Left out, the battery
        is empty.
    table : array of float, optional
        Where to write: one column for each of ``HOUR_COLUMNS``.
    known : Pass, optional
        What that table holds already.

    Returns
    -------
    Year
        The last pass.

    Raises
    ------
    ValueError
        The table has another shape.
    """
    limits, shape = inputs.limits, (inputs.pv_kw.size, len(HOUR_COLUMNS))
    table = np.empty(shape) if table is None else table
    if table.shape != shape:  # the compiled loop would write beyond it
        raise ValueError(f"the table has the shape {table.shape}, must have {shape}")
    closed_kwh = _CLOSED * max(1.0, limits.capacity_kwh)
    stored_kwh = limits.minimum_kwh if start_kwh is None else start_kwh
    start = State(stored_kwh, bool(inputs.dispatch.grid[-1]), fuel_l=inputs.switching.tank_liters)
    end, passes = run_steps(inputs, start, table, known), 1
    while not _meets(start, end, closed_kwh) and passes < MOST_PASSES:
        start, passes = end, passes + 1
        end = run_steps(inputs, start, table, UNKNOWN._replace(end=end))
    return Year(inputs, table, start, end, passes)


def _meets(start: State, end: State, closed_kwh: float) -> bool:
    """Return whether a year ends in the state in which it began."""
    alike = (end.on_grid, end.ran_h, end.waits) == (start.on_grid, start.ran_h, start.waits)
    fuel = end.fuel_l == start.fuel_l or abs(end.fuel_l - start.fuel_l) <= _CLOSED_L
    return alike and fuel and abs(end.stored_kwh - start.stored_kwh) <= closed_kwh


class _Once(event.Listener):
    """Calls back at the first compilation, and at no other."""

    def __init__(self, call: Callable[[], None]) -> None:
        self._call: Callable[[], None] | None = call

    def on_start(self, _: Any) -> None:
        if self._call is not None:
            self._call()
            self._call = None

    def on_end(self, _: Any) -> None:
        pass


@contextmanager
def when_compiling(call: Callable[[], None]) -> Iterator[None]:
    """Call back once if the engine has to be compiled within the block.

    Parameters
    ----------
    call : callable
        Called without arguments before compilation begins; not where the cache holds the engine.

    Yields
    ------
    None
        The block runs.
    """
    with event.install_listener("numba:compile", _Once(call)):
        yield
