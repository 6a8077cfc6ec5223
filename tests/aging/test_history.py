"""Cycles of a year that is a circle, counted by hand."""

import numpy as np
import pytest

from solarsim.aging.history import _cycles_of, history_from

pytestmark = pytest.mark.by_hand


def test_a_day_lived_again_is_whole_cycles() -> None:
    # Two days of 0.2 up to 0.8 and back, begun in the middle: two cycles of 0.6, none of them open.
    soc = np.array([0.5, 0.8, 0.5, 0.2, 0.5, 0.8, 0.5, 0.2, 0.5])
    cycles = _cycles_of(soc, 1.0)
    assert cycles.full == pytest.approx(1.2)
    assert cycles.depth == pytest.approx(0.6)
    assert cycles.mean_soc == pytest.approx(0.5)
    assert cycles.times.sum() == 2.0
    assert cycles.c_rate == pytest.approx(0.3)


def test_a_small_cycle_inside_a_large_one_is_its_own() -> None:
    # 1.0 down to 0.4, up to 0.6, down to 0.2, up to 1.0: one of 0.8 and one of 0.2.
    cycles = _cycles_of(np.array([0.4, 0.6, 0.2, 1.0, 0.4]), 1.0)
    by_depth = {round(depth, 9): 0.0 for depth in cycles.depth}
    for depth, times in zip(cycles.depth, cycles.times, strict=True):
        by_depth[round(depth, 9)] += times
    assert by_depth == {0.8: 1.0, 0.2: 1.0}


def test_hours_of_rest_do_not_slow_a_cycle_down() -> None:
    # 0.25 an hour for two hours each way, a rest of four hours on top and below.
    soc = np.array([0.25, 0.5, 0.75, 0.75, 0.75, 0.75, 0.75, 0.5, 0.25, 0.25, 0.25, 0.25, 0.25])
    cycles = _cycles_of(soc, 1.0)
    assert cycles.c_rate == pytest.approx(0.25)
    assert _cycles_of(soc, 0.5).c_rate == pytest.approx(0.5)


def test_a_battery_that_never_moves_has_no_cycles() -> None:
    cycles = _cycles_of(np.full(25, 0.7), 1.0)
    assert cycles.full == 0.0
    assert cycles.depth.size == 0


def test_history_holds_the_mean_of_each_step() -> None:
    year = history_from(np.array([0.2, 0.6, 0.4]), np.array([10.0, 11.0]), 1.0)
    assert year.soc == pytest.approx([0.4, 0.5])
