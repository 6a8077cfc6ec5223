"""Compiled sums: the engine's table in, the sum of each column, import and export out; series in, sums by slot out."""

from typing import Any

import numpy as np
from numba import njit

from solarsim.engine.records import GENERATOR, GRID, Floats
from solarsim.engine.year import HOUR_COLUMNS

Ints = np.ndarray[Any, np.dtype[np.int64]]

#: Columns that import and export are made of; passed in, so that no cached code can outlive a change of them.
_SOURCE = HOUR_COLUMNS.index("source")
_PLACES = tuple(
    HOUR_COLUMNS.index(name)
    for name in ("source_to_load_kw", "source_to_battery_kw", "pv_to_grid_kw", "battery_to_grid_kw")
)


@njit(cache=True, error_model="numpy")
def _one_pass(table, source, places, grid, generator, import_kw, export_kw):  # type: ignore[no-untyped-def]
    """Return the sum of each column, and of load and battery served by the grid; write import and export."""
    to_load, to_battery, pv_to_grid, battery_to_grid = places
    sums = np.zeros(table.shape[1] + 2)
    grid_to_load = grid_to_battery = 0.0
    for row in range(table.shape[0]):
        for column in range(table.shape[1]):
            sums[column] += table[row, column]
        export_kw[row] = table[row, pv_to_grid] + table[row, battery_to_grid]
        import_kw[row] = 0.0
        if table[row, source] == grid or table[row, source] == grid + generator:
            import_kw[row] = table[row, to_load] + table[row, to_battery]
            grid_to_load += table[row, to_load]
            grid_to_battery += table[row, to_battery]
    sums[-2], sums[-1] = grid_to_load, grid_to_battery
    return sums


def sums_import_export(table: Floats) -> tuple[dict[str, float], Floats, Floats]:
    """Return the sums of the table's columns and of those made of its source; import and export of each step [kW]."""
    import_kw, export_kw = np.empty(len(table)), np.empty(len(table))
    sums = _one_pass(table, _SOURCE, _PLACES, GRID, GENERATOR, import_kw, export_kw)
    found = dict(zip((*HOUR_COLUMNS, "grid_to_load_kw", "grid_to_battery_kw"), sums.tolist(), strict=True))
    for to in ("load", "battery"):
        found[f"generator_to_{to}_kw"] = found[f"source_to_{to}_kw"] - found[f"grid_to_{to}_kw"]
    return found, import_kw, export_kw


@njit(cache=True, error_model="numpy")
def _by_slot(one, one_slot, one_sums, other, other_slot, other_sums):  # type: ignore[no-untyped-def]
    """Sum two series by slot at once: a single sum would wait for its own last addition."""
    for row in range(one.size):
        one_sums[one_slot[row]] += one[row]
        other_sums[other_slot[row]] += other[row]


def sums_by_slot(
    one: Floats, one_slot: Ints, one_count: int, other: Floats, other_slot: Ints, other_count: int
) -> tuple[Floats, Floats]:
    """Return the sums of the values of each slot of two series."""
    one_sums, other_sums = np.zeros(one_count), np.zeros(other_count)
    _by_slot(one, one_slot, one_sums, other, other_slot, other_sums)
    return one_sums, other_sums
