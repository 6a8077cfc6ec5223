"""What an input makes of its strings."""

from typing import Any

import numpy as np
import pytest

from solarsim.production._datasheet_fit import Datasheet, diodes_from
from solarsim.production._dc_input import curve_input, rated_input
from solarsim.production._iv_addition import Curve, best_point
from solarsim.production.power import InputPower
from solarsim.scenario.roof.roof import DcInput
from tests.roofs import INPUT, SHEET

DIODES = diodes_from(Datasheet(**{key: np.array([value]) for key, value in SHEET.items()}))
# A day: the sun comes up, warms the cells, and goes.
LIGHT = np.array([0.5, 5.0, 300.0, 1000.0, 600.0, 5.0, 0.5])
CELL_C = np.array([0.0, 5.0, 25.0, 25.0, 50.0, 20.0, 15.0])
FIRST = np.arange(7) == 0


def day(count: int = 10, strings: int = 1, **limits: Any) -> InputPower:
    curve = DIODES.curve(LIGHT, CELL_C).strings(count, strings)
    return curve_input(1, DcInput(**{**INPUT, **limits}), [curve], own_kw(curve), FIRST)


def own_kw(curve: Curve) -> np.ndarray:
    volts, current = best_point([curve])
    return np.asarray(volts * current / 1000)


def lost(found: InputPower, cause: str) -> np.ndarray:
    names = list(found.stages)
    return np.asarray(found.stages[names[names.index(cause) - 1]] - found.stages[cause])


@pytest.mark.by_hand
def test_wide_limits_lose_nothing_but_the_first_light() -> None:
    """Ten modules at STC: 10 x 31.2 V x 13.15 A = 4.1028 kW, at 312 V."""
    found = day()
    assert found.stages["power"][3] == pytest.approx(4.1028)
    assert found.working_v is not None
    assert found.working_v[3] == pytest.approx(312.0, abs=0.01)
    assert lost(found, "power").max() == lost(found, "current").max() == lost(found, "unlike_strings").max() == 0.0


@pytest.mark.by_hand
def test_power_limit_takes_what_is_above_it() -> None:
    assert lost(day(max_kw=3.0), "power")[3] == pytest.approx(1.1028)


@pytest.mark.by_hand
def test_current_limit_moves_to_a_higher_voltage() -> None:
    """Two strings bring 26.3 A; at 20 A each gives 10 A, at more than 31.2 V and less than 37.1 V a module."""
    found = day(strings=2, max_a=20.0)
    assert found.working_v is not None
    assert 312.0 < found.working_v[3] < 371.0
    assert found.stages["current"][3] == pytest.approx(20.0 * found.working_v[3] / 1000)
    assert lost(found, "current")[3] > 0.1 * 8.2
    assert lost(found, "current")[2] == 0.0


def test_window_above_the_best_voltage_costs_power() -> None:
    found = day(mppt_min_v=330.0, start_v=330.0)
    assert found.working_v is not None
    assert found.working_v[3] == 330.0
    assert 0.0 < lost(found, "window")[3] < 0.2 * found.stages["arrays"][3]


def test_window_below_the_best_voltage_costs_power() -> None:
    found = day(mppt_max_v=290.0)
    assert found.working_v is not None
    assert found.working_v[3] == 290.0
    assert found.stages["window"][3] == pytest.approx(290.0 * 13.6 / 1000, rel=0.02)


def test_input_waits_for_its_start_voltage_and_then_stays_on() -> None:
    """In the hot afternoon the open circuit falls below the start voltage: an input that runs goes on."""
    found = day(start_v=360.0, mppt_min_v=60.0)
    assert found.open_circuit_v is not None
    assert found.open_circuit_v[2] < 360.0 < found.open_circuit_v[3]
    assert found.open_circuit_v[4] < 360.0
    assert (found.stages["window"][:3] == 0.0).all()
    assert (found.stages["window"][3:6] > 0.0).all()


def test_next_day_waits_again() -> None:
    curve = DIODES.curve(np.array([1000.0, 1000.0]), np.array([25.0, 60.0])).strings(10, 1)
    limits = DcInput(**{**INPUT, "start_v": 360.0})
    same, new = (
        curve_input(1, limits, [curve], own_kw(curve), np.array([True, first])).stages["power"][1]
        for first in (False, True)
    )
    assert same > 3.0
    assert new == 0.0


def test_input_stands_still_above_its_highest_voltage_and_counts_it() -> None:
    found = day(max_v=370.0, mppt_max_v=370.0)
    assert found.steps_too_high == 1
    assert found.stages["power"][3] == 0.0


@pytest.mark.by_hand
def test_input_of_ratings_knows_power_only() -> None:
    found = rated_input(2, DcInput(max_kw=5.0), np.array([4.0, 7.0]))
    assert found.stages["power"].tolist() == [4.0, 5.0]
    assert found.stages["current"].tolist() == [4.0, 7.0]
    assert found.open_circuit_v is None
