"""Aging of lead-acid batteries: a year's history in, its stress out.

Common practice, no source: cycles to failure by depth, read off curves as makers print them (typical
values, from memory), added up by Miner's rule; and life on float, halved for every 10 C above 25 C. Failure is 80% of
rated capacity. Resistance is taken to have risen by half at failure. Standing discharged for weeks, acid that
separates into layers and neglected water wear such batteries out sooner: none of it is modeled.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.aging.history import History
from solarsim.aging.law import Law, Stress, _held

Floats = NDArray[np.float64]
_LOSS_AT_FAILURE = 0.2
_RISE_AT_FAILURE = 0.5
_HOURS_PER_YEAR = 8760.0
_RANGE_C = (15.0, 50.0)
_DEPTHS = np.array([0.1, 0.2, 0.3, 0.5, 0.8, 1.0])
_FLOODED = np.array([5500.0, 3000.0, 2100.0, 1200.0, 700.0, 500.0])
_SEALED = np.array([3800.0, 2000.0, 1350.0, 700.0, 400.0, 300.0])
_FLOODED_FLOAT_YEARS, _SEALED_FLOAT_YEARS = 10.0, 8.0


def _cycles_to_failure(depth: Floats | float, table: Floats) -> Floats:
    """Return cycles to failure by depth, straight on double logarithmic paper, and carried on below the first depth."""
    depth = np.maximum(np.asarray(depth, np.float64), 1e-9)
    slope = np.log(table[1] / table[0]) / np.log(_DEPTHS[1] / _DEPTHS[0])
    carried = table[0] * (depth / _DEPTHS[0]) ** slope
    read = np.exp(np.interp(np.log(depth), np.log(_DEPTHS), np.log(table)))
    return np.where(depth < _DEPTHS[0], carried, read)


def _float_years(temperature_c: Floats | float, at_25: float) -> Floats:
    """Return the float life at a temperature, halved for every 10 C above 25 C [years]."""
    return np.asarray(at_25 / 2.0 ** ((np.asarray(temperature_c) - 25.0) / 10.0))


def _law(table: Floats, at_25: float, title: str) -> Law:
    def stress(year: History) -> Stress:
        temperature_c, _ = _held(year.temperature_c, *_RANGE_C)
        by_time = float((1.0 / _float_years(temperature_c, at_25)).sum() * year.step_h / _HOURS_PER_YEAR)
        by_cycles = float((year.cycles.times / _cycles_to_failure(year.cycles.depth, table)).sum())
        return Stress(*(share * by for share in (_LOSS_AT_FAILURE, _RISE_AT_FAILURE) for by in (by_time, by_cycles)))

    return Law(title, Stress(1.0, 1.0, 1.0, 1.0), stress, _outside)


def _outside(year: History) -> list[str]:
    _, hours = _held(year.temperature_c, *_RANGE_C)
    edge = f"{_RANGE_C[0]:g} to {_RANGE_C[1]:g} °C"
    return [f"{hours:.0%} of the year the cells are outside {edge}: aged at the nearer limit"] if hours >= 0.005 else []


FLOODED = _law(_FLOODED, _FLOODED_FLOAT_YEARS, "cycles by depth and float life, common practice, no source")
SEALED = _law(_SEALED, _SEALED_FLOAT_YEARS, "cycles by depth and float life, common practice, no source")
