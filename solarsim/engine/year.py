"""The year: a dispatch, sun and load in; the table of every step out, run round until it closes."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple

import numpy as np
from numba.core import event
from numpy.typing import NDArray

from solarsim.engine.records import GENERATOR, GRID, GRID_ALONE, Cells, Dispatch, Hour, Limits, Switching, cells_at_ease
from solarsim.engine.step import run_steps

Floats = NDArray[np.float64]
HOUR_COLUMNS = Hour._fields
MOST_PASSES = 200
_CLOSED = 1e-9


class Year(NamedTuple):
    """A closed year.

    Attributes
    ----------
    table : array of float
        One row for each step, one column for each of ``HOUR_COLUMNS``.
    start_kwh : float
        Stored energy at the start of the first step [kWh].
    passes : int
        How often the year was run.
    gap_kwh : float
        Stored energy at the end minus at the start [kWh]; 0 where the year closed.
    """

    table: Floats
    start_kwh: float
    passes: int
    gap_kwh: float


def run_year(
    limits: Limits,
    dispatch: Dispatch,
    pv_kw: Floats,
    load_kw: Floats,
    cells: Cells | None = None,
    switching: Switching = GRID_ALONE,
    start_kwh: float | None = None,
    table: Floats | None = None,
    ac_solar_kw: Floats | None = None,
) -> Year:
    """Run the steps round until the year ends with the energy that it began with.

    Parameters
    ----------
    limits : Limits
        Hardware.
    dispatch : Dispatch
        Rules, one entry for each step.
    pv_kw, load_kw : arrays of float
        Solar power offered at the DC side, and the home's load [kW], one entry for each step.
    cells : Cells, optional
        What the cells' temperature allows and needs; left out, they are never cold and never heated.
    switching : Switching
        When generator and grid come in; no generator and the grid wherever it is, if left out.
    start_kwh : float, optional
        What the first pass starts with [kWh]: a good guess saves the second. Where nothing is given the
        battery is empty.
    table : array of float, optional
        Where to write: one column for each of ``HOUR_COLUMNS``.
    ac_solar_kw : array of float, optional
        Solar power that inverters of its own offer on the AC side [kW], one entry for each step.

    Returns
    -------
    Year
        The last pass.

    Raises
    ------
    ValueError
        The table has another shape.
    """
    shape = pv_kw.size, len(HOUR_COLUMNS)
    table = np.empty(shape) if table is None else table
    if table.shape != shape:  # the compiled loop would write beyond it
        raise ValueError(f"the table has the shape {table.shape}, must have {shape}")
    closed_kwh = _CLOSED * max(1.0, limits.capacity_kwh)
    start = end = limits.minimum_kwh if start_kwh is None else start_kwh
    cells = cells_at_ease(limits, pv_kw.size) if cells is None else cells
    passes, began, ended = 0, (False, 0.0), (False, 0.0)
    while passes == 0 or ((abs(end - start) > closed_kwh or began != ended) and passes < MOST_PASSES):
        start, began, passes = end, ended, passes + 1
        end = run_steps(
            limits, dispatch, switching, cells, pv_kw, load_kw, start, table, passes > 1, ac_solar_kw, *began
        )
        if switching != GRID_ALONE:
            ended = _sources_at_end(table, switching, limits.step_h)
    return Year(table=table, start_kwh=start, passes=passes, gap_kwh=end - start)


def _sources_at_end(table: Floats, switching: Switching, step_h: float) -> tuple[bool, float]:
    """Tell whether the home ends on the grid, and for how long a generator has been running by then [h]."""
    source = table[:, HOUR_COLUMNS.index("source")]
    still = np.flatnonzero(source < GENERATOR)
    ran = source.size - 1 - (int(still[-1]) if still.size else -1)
    # Beyond its least time it does not matter for how long.
    return bool(source[-1] % GENERATOR == GRID), min(ran * step_h, max(switching.generator_least_h, step_h))


class _Once(event.Listener):
    """Calls back at the first compilation, and at no other."""

    def __init__(self, tell: Callable[[], None]) -> None:
        self._tell: Callable[[], None] | None = tell

    def on_start(self, _: Any) -> None:
        if self._tell is not None:
            self._tell()
            self._tell = None

    def on_end(self, _: Any) -> None:
        pass


@contextmanager
def when_compiling(tell: Callable[[], None]) -> Iterator[None]:
    """Call back once if the engine has to be compiled within the block.

    Parameters
    ----------
    tell : callable
        Called without arguments before compilation begins; not where the cache holds the engine.

    Yields
    ------
    None
        The block runs.
    """
    with event.install_listener("numba:compile", _Once(tell)):
        yield
