"""Sums of the engine's table. All numbers by hand."""

import numpy as np
import pytest

from solarsim.engine.records import GENERATOR, GRID
from solarsim.engine.year import HOUR_COLUMNS
from solarsim.ledger._sums import sums_by_slot, sums_import_export

pytestmark = pytest.mark.by_hand


def test_the_source_of_a_step_decides_what_is_imported() -> None:
    """Nothing, grid, generator, grid with the generator idling: the second and the fourth step import."""
    table = np.zeros((4, len(HOUR_COLUMNS)))
    columns: dict[str, list[float]] = {
        "source": [0, GRID, GENERATOR, GRID + GENERATOR], "source_to_load_kw": [0, 1, 2, 4],
        "source_to_battery_kw": [0, 0.5, 0.25, 0.125], "pv_to_grid_kw": [0, 0.5, 0, 0.25],
        "battery_to_grid_kw": [0, 2, 0, 0],
    }  # fmt: skip
    for name, values in columns.items():
        table[:, HOUR_COLUMNS.index(name)] = values
    sums, import_kw, export_kw = sums_import_export(table)
    assert import_kw.tolist() == [0.0, 1.5, 0.0, 4.125]
    assert export_kw.tolist() == [0.0, 2.5, 0.0, 0.25]
    assert (sums["grid_to_load_kw"], sums["generator_to_load_kw"]) == (5.0, 2.0)
    assert (sums["grid_to_battery_kw"], sums["generator_to_battery_kw"]) == (0.625, 0.25)
    assert (sums["source_to_load_kw"], sums["pv_to_grid_kw"], sums["battery_to_grid_kw"]) == (7.0, 0.75, 2.0)


def test_sums_by_slot_are_those_of_each_slot() -> None:
    one, other = np.array([1.0, 2.0, 4.0]), np.array([8.0, 16.0, 32.0])
    found = sums_by_slot(one, np.array([1, 0, 1]), 2, other, np.array([2, 2, 0]), 3)
    assert [each.tolist() for each in found] == [[2.0, 5.0], [32.0, 0.0, 24.0]]
