"""Adding curves of current and voltage."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.typing import NDArray
from pvlib import pvsystem

from solarsim.production._datasheet_fit import Datasheet, diodes_from
from solarsim.production._iv_addition import Curve, best_point, open_circuit_v, sum_at, volts_at
from tests.roofs import SHEET

DIODES = diodes_from(Datasheet(**{key: np.array([value]) for key, value in SHEET.items()}))


def module(light_w_m2: float, cell_c: float) -> Curve:
    return DIODES.curve(np.array([light_w_m2]), np.array([cell_c]))


def watts(curves: list[Curve]) -> NDArray[np.float64]:
    volts, current = best_point(curves)
    return volts * current


@pytest.mark.second_opinion
def test_curve_is_pvlib_s_single_diode_at_any_light_and_temperature() -> None:
    """De Soto translation of pvlib and its Lambert W solution of the same equation."""
    light, cell_c = map(np.ravel, np.meshgrid([20.0, 200.0, 700.0, 1200.0], [-20.0, 25.0, 70.0]))
    curve = DIODES.curve(light, cell_c)
    terms = pvsystem.calcparams_desoto(
        light, cell_c, DIODES.photo_a_per_c[0], DIODES.thermal_v[0], DIODES.photo_a[0], DIODES.saturation_a[0],
        1 / DIODES.shunt_siemens[0], DIODES.series_ohm[0], EgRef=DIODES.gap_ev[0],
    )  # fmt: skip
    theirs = pvsystem.singlediode(*terms)
    volts, current = best_point([curve])
    np.testing.assert_allclose(volts * current, theirs["p_mp"], rtol=1e-8)
    np.testing.assert_allclose(open_circuit_v([curve]), theirs["v_oc"], rtol=1e-8)
    np.testing.assert_allclose(curve.at(np.zeros(12))[0], theirs["i_sc"], rtol=1e-8)
    np.testing.assert_allclose(
        curve.at(0.7 * theirs["v_oc"].to_numpy())[0], pvsystem.i_from_v(0.7 * theirs["v_oc"], *terms), rtol=1e-8
    )


def test_slopes_are_those_of_the_current() -> None:
    volts, little = np.linspace(1.0, 40.0, 14), 1e-4
    curve = DIODES.curve(np.full(14, 800.0), np.full(14, 40.0))
    _, slope, bend = curve.at(volts)
    above, below = curve.at(volts + little), curve.at(volts - little)
    np.testing.assert_allclose(slope, (above[0] - below[0]) / (2 * little), rtol=1e-4, atol=1e-7)
    np.testing.assert_allclose(bend, (above[1] - below[1]) / (2 * little), rtol=1e-4, atol=1e-7)


@pytest.mark.by_hand
def test_like_strings_multiply_voltage_and_current() -> None:
    one = module(800.0, 40.0)
    volts, current = best_point([one])
    for curves in ([one.strings(10, 3)], [one.strings(10, 1)] * 3):
        many_volts, many_current = best_point(curves)
        np.testing.assert_allclose(many_volts, 10 * volts)
        np.testing.assert_allclose(many_current, 3 * current)


@example([(9.0, 10), (9.0, 3), (9.0, 3)])  # a long string beside short ones in dim light: two cliffs far apart
@given(st.lists(st.tuples(st.floats(0.0, 1300.0), st.integers(1, 20)), min_size=1, max_size=3))
def test_together_never_make_more_than_each_by_itself(kinds: list[tuple[float, int]]) -> None:
    curves = [module(light, 45.0).strings(count, 1) for light, count in kinds]
    together = watts(curves)[0]
    assert together <= sum(watts([each])[0] for each in curves) * (1 + 1e-9) + 1e-9
    # A grid of voltages is a lower bound on the maximum, and a close one.
    grid = np.linspace(0.0, 20 * 45.0, 3001)
    wide = [Curve(*(np.repeat(value, grid.size) for value in vars(each).values())) for each in curves]
    best = (grid * sum_at(wide, grid)[0]).max()
    assert together >= best - 1e-9
    assert together == pytest.approx(best, rel=5e-3, abs=1e-3)


def test_short_string_takes_current_back_above_its_open_circuit() -> None:
    long, short = module(900.0, 30.0).strings(12, 1), module(900.0, 30.0).strings(6, 1)
    volts, _ = best_point([long])
    assert short.at(volts)[0][0] < 0
    assert watts([long, short])[0] < watts([long])[0] + watts([short])[0]


def test_voltage_at_a_current_gives_that_current() -> None:
    curves = [module(1000.0, 30.0).strings(10, 2), module(500.0, 30.0).strings(9, 1)]
    volts = volts_at(curves, 20.0, np.array([100.0]))
    assert sum_at(curves, volts)[0][0] == pytest.approx(20.0)


@pytest.mark.by_hand
def test_cable_takes_current_squared_times_resistance() -> None:
    """Half an ohm for each string of ten: 13.15 A at STC lose 13.15^2 x 0.5 = 86.5 W of 4,103 W, 2.1 %.

    The maximum moves a little toward less current, which saves a little of it.
    """
    bare, wired = (module(1000.0, 25.0).strings(10, 2, cable_ohm=ohm) for ohm in (0.0, 0.5))
    lost = watts([bare])[0] - watts([wired])[0]
    assert lost == pytest.approx(2 * 13.15**2 * 0.5, rel=0.03)
    assert lost < 2 * 13.15**2 * 0.5


@pytest.mark.by_hand
def test_share_of_current_lost_takes_that_share_of_power_and_spares_the_cable() -> None:
    whole, less = module(1000.0, 25.0).strings(10, 2), module(1000.0, 25.0).strings(10, 2, kept=0.9)
    assert watts([less])[0] == pytest.approx(0.9 * watts([whole])[0])
    lost = watts([less])[0] - watts([module(1000.0, 25.0).strings(10, 2, 0.9, 0.5)])[0]
    assert lost == pytest.approx(2 * (0.9 * 13.15) ** 2 * 0.5, rel=0.03)


def test_dark_strings_make_nothing() -> None:
    volts, current = best_point([module(0.0, 5.0).strings(10, 1)])
    assert volts[0] * current[0] == 0.0
    assert open_circuit_v([module(0.0, 5.0)])[0] == 0.0
