"""Batteries against published values: cycle counting, aging of iron phosphate, Peukert's law, cell facts.

Tolerances are half of the last digit that is printed.
"""

import numpy as np
import pytest

from solarsim.aging import lfp, nmc
from solarsim.aging.history import _counted, _turning_points
from solarsim.aging.law import Stress, condition
from solarsim.engine.step import _delivered, _drained
from solarsim.hardware.limits import limits_from
from solarsim.scenario.battery.chemistry import BUILDS, PRESETS
from tests.builders import limits, scenario

pytestmark = pytest.mark.published
YEAR_S = 365 * 24 * 3600.0


def test_rainflow_counts_the_standard_s_example() -> None:
    """ASTM E1049-85, section 5.4.4 and figure 6: ranges and counts of the history of its example."""
    history = np.array([-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0])
    by_range: dict[float, float] = {}
    for size, _, times, _, _ in _counted(history):
        by_range[size] = by_range.get(size, 0.0) + times
    assert by_range == {3.0: 0.5, 4.0: 1.5, 6.0: 0.5, 8.0: 1.0, 9.0: 0.5}
    # The same history drawn with points on its slopes and plateaus on its peaks turns where it turned.
    drawn = np.array([-2.0, -0.5, 1.0, 1.0, -3.0, 0.0, 5.0, 5.0, 5.0, -1.0, 3.0, -4.0, 4.0, 1.0, -2.0])
    assert drawn[_turning_points(drawn)].tolist() == history.tolist()


@pytest.mark.parametrize(
    ("soc", "temperature_c", "percent"), [(0.5, 25.0, 4.2516), (1.0, 25.0, 6.7731), (0.5, 40.0, 5.9194)]
)
def test_calendar_aging_of_iron_phosphate_over_a_year(soc: float, temperature_c: float, percent: float) -> None:
    """Naumann et al., J. Energy Storage 17 (2018) 153: the law with its coefficients, worked out."""
    loss = 100.0 * lfp._calendar_rate(soc, temperature_c) * np.sqrt(YEAR_S)
    assert loss == pytest.approx(percent, abs=5e-5)


@pytest.mark.parametrize(
    ("c_rate", "depth", "cycles", "percent"),
    [(0.5, 0.8, 1000, 4.5730), (1.0, 1.0, 1000, 6.8344), (0.5, 1.0, 3000, 9.5084)],
)
def test_cycle_aging_of_iron_phosphate(c_rate: float, depth: float, cycles: int, percent: float) -> None:
    """Naumann et al., J. Power Sources 451 (2020) 227666: the law with its coefficients, worked out."""
    loss = 100.0 * lfp._cycle_rate(depth, c_rate) * np.sqrt(cycles)
    assert loss == pytest.approx(percent, abs=5e-5)


@pytest.mark.parametrize(("volts", "temperature_c", "share"), [(3.69, 35.0, 0.050242), (4.1, 50.0, 0.252516)])
def test_calendar_aging_of_nmc_over_a_year(volts: float, temperature_c: float, share: float) -> None:
    """Schmalstieg et al., J. Power Sources 257 (2014) 325 (secondary copies): the law's own values.

    Resistance by hand: (5.270 x 3.69 - 16.32) 1e5 exp(-5986 / 308.15) 365^0.75 = 0.09557.
    """
    loss, rise = nmc._calendar_rates(volts, temperature_c)
    assert float(loss) * 365**0.75 == pytest.approx(share, abs=5e-7)
    if temperature_c == 35.0:
        assert float(rise) * 365**0.75 == pytest.approx(0.09557, abs=5e-6)


def test_cycle_aging_of_nmc() -> None:
    """Schmalstieg et al., J. Power Sources 257 (2014) 325 (secondary copies): the law's own values.

    The same: 1,000 cycles of 0.8 of a 2.05 Ah cell are 3,280 Ah, 1,250 are 4,100 Ah.

    Its resistance by hand: (2.153e-4 (-0.035)^2 - 1.521e-5 + 2.798e-4 x 0.8) x 4,100 = 0.85646. Its bracket is at
    least 1.5e-5: at small depth around 3.725 V it would be below zero.
    """
    loss, rise = nmc._cycle_rates(3.69, 0.8)
    assert float(loss) * np.sqrt(4100.0) == pytest.approx(0.257962, abs=5e-7)
    assert float(rise) * 4100.0 == pytest.approx(0.85646, abs=5e-6)
    assert nmc._cycle_rates(3.725, 0.0)[1] == 1.5e-5
    assert nmc._cycle_rates(3.725, 0.1079)[1] == 1.5e-5  # 2.798e-4 x 0.1079 - 1.521e-5 = 1.498e-5


def test_changing_stress_accumulates_by_virtual_time() -> None:
    """Naumann et al. 2020: a year at half charge and 25 C, then a year full, step by step by virtual time."""
    first, second = float(lfp._calendar_rate(0.5, 25.0)), float(lfp._calendar_rate(1.0, 25.0))
    virtual_s = (first * np.sqrt(YEAR_S) / second) ** 2
    by_steps = second * np.sqrt(virtual_s + YEAR_S)
    added = Stress(calendar=(first**2 + second**2) * YEAR_S)
    assert condition(lfp.LFP, added).calendar_loss == pytest.approx(by_steps, rel=1e-12)
    # By hand, from the printed losses of a year: sqrt(4.2516^2 + 6.7731^2) = 7.9969 %.
    assert 100.0 * by_steps == pytest.approx(7.9969, abs=1e-4)


def test_peukert_s_law() -> None:
    """Peukert's law in its original and its rated form (from memory), worked out.

    A 100 Ah battery rated over 20 h at 5 A lasts 20.00 h there; at 10 A and exponent 1.3 it lasts 8.1225 h.
    """
    bank = limits(capacity_kwh=100.0, peukert=1.3, rated_kw=5.0)
    assert 100.0 / _drained(bank, 5.0) == pytest.approx(20.0, abs=5e-3)
    assert 100.0 / _drained(bank, 10.0) == pytest.approx(8.1225, abs=5e-5)
    assert _delivered(bank, _drained(bank, 10.0)) == pytest.approx(10.0, rel=1e-12)
    # The law's first form, capacity over one hour: 100 Ah / 5^1.2 lasts 14.4956 h; below 1 A it is not asked.
    assert 100.0 / _drained(limits(peukert=1.2, rated_kw=1.0), 5.0) == pytest.approx(14.4956, abs=5e-5)


def test_cell_facts_of_iron_phosphate() -> None:
    """Datasheets (secondary copy): 3.2 V nominal, no charging below 0 C, at most 0.2 C below 10 C; 16 are 51.2 V."""
    row = {"cells_in_series": 16, "cell_ah": 100.0, "cell_v": 3.2}
    changes = {f"battery__{key}": None for key in ("capacity_kwh", "round_trip_efficiency", "low_cutoff")}
    battery = scenario(**changes, battery__bank=[row], battery__chemistry="lfp", battery__place="outdoor").battery
    assert battery is not None
    assert battery.volts == pytest.approx(51.2)
    assert battery.kwh == pytest.approx(16 * 100 * 3.2 / 1000)
    preset = PRESETS["lfp"]
    assert (preset.charge_min_c, preset.charge_slow_below_c, preset.charge_slow_c_rate) == (0.0, 10.0, 0.2)
    assert BUILDS["lfp"].low_v <= 3.2 <= BUILDS["lfp"].high_v


def test_a_round_trip_splits_evenly() -> None:
    """By hand: 0.90 is 0.948683 each way, its root.

    0.90 is 0.948683 each way: its root.
    """
    home = scenario(battery__round_trip_efficiency=0.90)
    assert limits_from(home.inverter, home.battery, 1.0).one_way == pytest.approx(0.948683, abs=5e-7)
