"""Voltages, currents and fuses of strings against printed examples, and what must hold for any string."""

import pytest
from hypothesis import given
from hypothesis import strategies as draw

from solarsim.electrical.nec_tables import STANDARD_A
from solarsim.electrical.strings import (
    circuit_current_a,
    cold_factor,
    fault_current_a,
    hot_maximum_power_v,
    standard_size_a,
    string_fuse_range_a,
)
from solarsim.production.string_voltage import cold_open_circuit_v, fewest_in_series, most_in_series


@pytest.mark.published
def test_cold_open_circuit_voltage_by_the_maker_s_coefficient() -> None:
    """NEC 690.7, worked examples (secondary copies): 49.5 V, -0.27 %/C at -10 C; 45 V at -26 C."""
    assert cold_open_circuit_v(49.5, -0.0027, -10.0) == pytest.approx(54.18, abs=0.005)
    assert most_in_series(600.0, cold_open_circuit_v(49.5, -0.0027, -10.0)) == 11
    assert cold_open_circuit_v(45.0, -0.0027, -26.0) == pytest.approx(51.2, abs=0.05)


@pytest.mark.published
def test_cold_open_circuit_voltage_by_the_table() -> None:
    """NEC Table 690.7(A), the same worked example (secondary copy): one module fewer.

    The same module by the factor of Table 690.7(A): one module fewer.
    """
    factor = cold_factor(-10.0)
    assert factor == 1.14
    assert most_in_series(600.0, 49.5 * factor) == 10


@pytest.mark.published
@pytest.mark.parametrize(
    ("low_c", "factor"),
    list(
        zip(
            (24, 19, 14, 9, 4, -1, -6, -11, -16, -21, -26, -31, -36),
            (1.02, 1.04, 1.06, 1.08, 1.10, 1.12, 1.14, 1.16, 1.18, 1.20, 1.21, 1.23, 1.25),
            strict=True,
        )
    ),
)
def test_table_of_cold_factors(low_c: float, factor: float) -> None:
    """NEC Table 690.7(A), steps of 5 C from 24..20 down to -36..-40 (secondary copy)."""
    assert cold_factor(low_c) == factor
    assert cold_factor(low_c - 4) == factor


def test_table_of_cold_factors_ends() -> None:
    assert cold_factor(25.0) == 1.0
    assert cold_factor(-40.1) is None


@pytest.mark.published
def test_currents_and_fuse_of_a_pv_circuit() -> None:
    """NEC 690.8: I_sc 11.2 A, 14.0 A, 17.5 A, a fuse of 20 A; 7.6 kW at 240 V is in test_panels."""
    current_a = circuit_current_a(11.2, 1)
    assert current_a == pytest.approx(14.0)
    least_a, _ = string_fuse_range_a(11.2, 25.0, 0.0, "nec")
    assert least_a == pytest.approx(17.5)
    assert standard_size_a(least_a) == 20


@pytest.mark.published
def test_string_fuses_of_iec_62548() -> None:
    """IEC 62548, worked example (secondary copy): four strings of 12.28 A, modules of at most 20 A: a fuse of 20 A.

    Four strings of 12.28 A, modules of at most 20 A: 36.84 A, 18.42 < I_n < 29.47, so 20 A; two strings: none.
    """
    assert fault_current_a(12.28, 4, 0.0, 0.0, "iec") == pytest.approx(36.84)
    least_a, greatest_a = string_fuse_range_a(12.28, 40.0, 0.0, "iec")
    assert (round(least_a, 2), round(greatest_a, 2)) == (18.42, 29.47)
    assert standard_size_a(least_a) == 20
    assert fault_current_a(12.28, 2, 0.0, 0.0, "iec") < 20.0


@pytest.mark.by_hand
def test_hot_voltage_and_shortest_string() -> None:
    """31.2 V, -0.34 %/C, cells at 70 C: 31.2 x (1 - 0.0034 x 45) = 26.43 V; 120 V need 5 of them (132 V)."""
    hot_v = hot_maximum_power_v(31.2, -0.0034, 70.0)
    assert hot_v == pytest.approx(26.4264)
    assert fewest_in_series(120.0, hot_v) == 5


@pytest.mark.published
def test_standard_sizes() -> None:
    """NEC 240.6(A), the sizes to 600 A (secondary copy)."""
    printed = "15 20 25 30 35 40 45 50 60 70 80 90 100 110 125 150 175 200 225 250 300 350 400 450 500 600"
    assert list(STANDARD_A) == [float(size) for size in printed.split()]
    assert standard_size_a(600.1) is None


@given(draw.floats(10, 80), draw.floats(-0.005, -0.001), draw.floats(-40, 30), draw.floats(0, 20))
def test_colder_never_lowers_the_voltage(v_oc_v: float, per_c: float, low_c: float, colder_by: float) -> None:
    assert cold_open_circuit_v(v_oc_v, per_c, low_c - colder_by) >= cold_open_circuit_v(v_oc_v, per_c, low_c)


@given(draw.floats(1, 20), draw.integers(1, 8), draw.floats(0, 0.3), draw.sampled_from(["nec", "iec"]))
def test_more_strings_never_lower_a_current(i_sc_a: float, strings: int, gain: float, standard: str) -> None:
    assert circuit_current_a(i_sc_a, strings + 1, gain) > circuit_current_a(i_sc_a, strings, gain)
    more, fewer = (fault_current_a(i_sc_a, count, 0.0, gain, standard) for count in (strings + 1, strings))
    assert more > fewer
