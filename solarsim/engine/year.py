"""The year: a plan, sun and load in; the table of every step out, run round until it closes."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.dispatch.orders import Plan
from solarsim.engine.hour import Hour, Limits, run_steps

Floats = NDArray[np.float64]
HOUR_COLUMNS = Hour._fields
_MOST_PASSES = 200
_CLOSED = 1e-9


class Year(NamedTuple):
    """A closed year.

    Attributes
    ----------
    table : array of float
        One row for each of ``HOUR_COLUMNS``, one column for each step.
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


def run_year(limits: Limits, plan: Plan, pv_kw: Floats, load_kw: Floats) -> Year:
    """Run the steps round until the year ends with the energy that it began with.

    Parameters
    ----------
    limits : Limits
        Hardware.
    plan : Plan
        Rules, one entry for each step.
    pv_kw, load_kw : arrays of float
        Solar power offered at the DC side, and the home's load [kW], one entry for each step.

    Returns
    -------
    Year
        The last pass.
    """
    table = np.empty((len(HOUR_COLUMNS), pv_kw.size))
    start, end = limits.minimum_kwh, limits.minimum_kwh
    for passes in range(1, _MOST_PASSES + 1):
        start = end
        end = run_steps(limits, plan, pv_kw, load_kw, start, table)
        if abs(end - start) <= _CLOSED * max(1.0, limits.capacity_kwh):
            break
    return Year(table=table, start_kwh=start, passes=passes, gap_kwh=end - start)
