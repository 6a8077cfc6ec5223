"""Currents of the AC side, busbars and unlike strings against printed examples."""

import pytest

from solarsim.electrical.panels import ac_current_a, busbar_load_a, current_shares, dc_current_a
from solarsim.electrical.strings import CONTINUOUS, standard_size_a


@pytest.mark.published
def test_breaker_of_an_inverter() -> None:
    """NEC 690.8 and 240.6: 7.6 kW at 240 V is 32 A; a breaker of 40 A."""
    output_a = ac_current_a(7.6, 240.0)
    assert round(output_a) == 32
    assert standard_size_a(CONTINUOUS * output_a) == 40


@pytest.mark.published
def test_busbar() -> None:
    """NEC 705.12: a busbar and main of 200 A leave 40 A; 175 + 30 + 30 = 235 <= 240 passes, a main of 200 fails."""
    assert busbar_load_a(200.0, [32.0]) == pytest.approx(1.2 * 200.0)
    assert busbar_load_a(175.0, [24.0, 24.0]) == pytest.approx(235.0)
    assert busbar_load_a(200.0, [24.0, 24.0]) > 1.2 * 200.0


@pytest.mark.by_hand
def test_three_phase_current() -> None:
    """10 kW at 400 V: 10,000 / (400 x 1.7321) = 14.43 A."""
    assert ac_current_a(10.0, 400.0, 3) == pytest.approx(14.434, abs=5e-4)


@pytest.mark.by_hand
def test_battery_current_and_its_shares() -> None:
    """6 kW at 95 % from 48 V: 131.58 A; strings of 280 and 230 Ah share it 280 : 230."""
    current_a = dc_current_a(6.0, 0.95, 48.0)
    assert current_a == pytest.approx(131.579, abs=5e-4)
    assert current_shares([280.0, 230.0], current_a) == pytest.approx([72.239, 59.340], abs=5e-4)
