"""The loss curve: values of a datasheet in, the three coefficients out."""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from solarsim.engine.records import Curve
from solarsim.engine.step import input_for
from solarsim.errors import ScenarioError
from solarsim.scenario.system import Efficiency

# Shares of rated power and their weights: California Energy Commission, and European (EN 50530).
_WEIGHTS = {
    "cec": ((0.10, 0.20, 0.30, 0.50, 0.75, 1.00), (0.04, 0.05, 0.12, 0.21, 0.53, 0.05)),
    "european": ((0.05, 0.10, 0.20, 0.30, 0.50, 1.00), (0.03, 0.06, 0.13, 0.10, 0.48, 0.20)),
}
# Two numbers cannot fix three coefficients. A peak close to the weighted efficiency means a flat curve
# with its peak at _HIGH_PEAK_LOAD; a wider gap bends the curve as far as it goes, and then moves the
# peak to lower loads, where it hurts the weighted efficiency more. Datasheets mostly show peaks
# between these two shares of rated power (common practice, no source).
_HIGH_PEAK_LOAD, _LOW_PEAK_LOAD = 0.45, 0.10


def curve_from(efficiency: Efficiency, rated_kw: float) -> Curve:
    """Fit the loss curve of a conversion stage.

    Parameters
    ----------
    efficiency : Efficiency
        Points, peak and weighted efficiency, or a constant.
    rated_kw : float
        Rated AC power [kW].

    Returns
    -------
    Curve
        With coefficients of at least 0.

    Raises
    ------
    ScenarioError
        Peak and weighted efficiency are too far apart for any such curve.
    """
    if efficiency.constant is not None:
        return Curve(rated_kw, 0.0, 1.0 / efficiency.constant - 1.0, 0.0)
    if efficiency.points is not None:
        loads = np.array([point.load for point in efficiency.points])
        return _fit_points(loads, np.array([point.efficiency for point in efficiency.points]), rated_kw)
    if efficiency.peak is None or efficiency.weighted is None or efficiency.weights is None:
        raise ScenarioError("inverter.efficiency: peak, weighted and weights belong together")
    return _fit_pair(efficiency.peak, efficiency.weighted, efficiency.weights, rated_kw)


def _weighted_efficiency(curve: Curve, weights: str) -> float:
    """Return the efficiency of a curve as a standard weights it."""
    loads, shares = _WEIGHTS[weights]
    outputs = [load * curve.rated_kw for load in loads]
    return sum(share * out / input_for.py_func(curve, out) for share, out in zip(shares, outputs, strict=True))


def _fit_points(loads: NDArray[np.float64], efficiencies: NDArray[np.float64], rated_kw: float) -> Curve:
    from scipy.optimize import nnls

    # Loss per output, so that every point counts by its efficiency and not by its power.
    columns = np.column_stack([1.0 / loads, np.ones_like(loads), loads])
    (k0, k1, k2), _ = nnls(columns, 1.0 / efficiencies - 1.0)
    return Curve(rated_kw, float(k0) * rated_kw, float(k1), float(k2))


@lru_cache(maxsize=64)
def _fit_pair(peak: float, weighted: float, weights: str, rated_kw: float) -> Curve:
    from scipy.optimize import brentq

    loss = 1.0 / peak - 1.0

    def curve(bend: float) -> Curve:
        bent = min(bend, 1.0)
        peak_load = _HIGH_PEAK_LOAD + (_LOW_PEAK_LOAD - _HIGH_PEAK_LOAD) * max(0.0, bend - 1.0)
        # At the peak k0/load and k2*load are equal, each half of the part of the loss that bends.
        half = bent * loss / 2.0
        return Curve(rated_kw, half * peak_load * rated_kw, (1.0 - bent) * loss, half / peak_load)

    lowest = _weighted_efficiency(curve(2.0), weights)
    if weighted < lowest:
        raise ScenarioError(
            f"inverter.efficiency: weighted {weighted} is too far below peak {peak} for one curve"
            f" (at least {lowest:.4f}); give points of the datasheet's curve"
        )
    if weighted >= _weighted_efficiency(curve(0.0), weights):
        return curve(0.0)
    bend = brentq(lambda bend: _weighted_efficiency(curve(bend), weights) - weighted, 0.0, 2.0)
    return curve(float(bend))
