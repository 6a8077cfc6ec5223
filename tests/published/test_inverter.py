"""Checks of inverters: weighted efficiency from measured points."""

import pytest

from solarsim.hardware.curve_fit import _WEIGHTS, _weighted_efficiency, curve_from
from solarsim.scenario.system import Efficiency, EfficiencyPoint
from tests.open_data import PVLIB_SOURCE, open_data

pytestmark = pytest.mark.published

LOADS = (0.10, 0.20, 0.30, 0.50, 0.75, 1.00)
MEASURED = (0.954679, 0.970280, 0.974976, 0.975974, 0.974269, 0.972376)
CEC_WEIGHTED = 0.973634


def test_weights_are_those_of_the_standards() -> None:
    """California Energy Commission and European weights; each set adds up to one."""
    assert _WEIGHTS["cec"] == (LOADS, (0.04, 0.05, 0.12, 0.21, 0.53, 0.05))
    assert _WEIGHTS["european"] == ((0.05, 0.10, 0.20, 0.30, 0.50, 1.00), (0.03, 0.06, 0.13, 0.10, 0.48, 0.20))
    for _, weights in _WEIGHTS.values():
        assert sum(weights) == pytest.approx(1.0)


def test_weights_on_the_measured_points_give_the_printed_value() -> None:
    """Sandia inverter test data, in pvlib's source distribution."""
    _, weights = _WEIGHTS["cec"]
    assert sum(w * e for w, e in zip(weights, MEASURED, strict=True)) == pytest.approx(CEC_WEIGHTED, abs=5e-7)


def test_curve_fitted_to_the_measured_points_has_their_weighted_efficiency() -> None:
    """Measured at nominal voltage, Sandia inverter test data in pvlib's source distribution."""
    points = tuple(EfficiencyPoint(load=p, efficiency=e) for p, e in zip(LOADS, MEASURED, strict=True))
    curve = curve_from(Efficiency(points=points), 400.0)
    assert _weighted_efficiency(curve, "cec") == pytest.approx(CEC_WEIGHTED, abs=5e-4)


def test_measured_points_are_those_of_the_file() -> None:
    """Sandia inverter test data, in pvlib's source distribution."""
    lines = open_data(PVLIB_SOURCE, "inverter_fit_snl_meas.csv").read_text().splitlines()
    rows = [dict(zip(lines[0].split(","), line.split(","), strict=True)) for line in lines[1:]]
    nominal = [row for row in rows if row["dc_voltage_level"] == "Vnom"]
    for load, printed in zip(LOADS, MEASURED, strict=True):
        found = [float(row["efficiency"]) for row in nominal if float(row["fraction_of_rated_power"]) == load]
        assert sum(found) / len(found) == pytest.approx(printed, abs=5e-6)
