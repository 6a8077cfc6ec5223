"""One DC input of the inverter: curves of its strings in, power after each limit out."""

from math import inf

import numpy as np
from numpy.typing import NDArray

from solarsim.production._iv_addition import Curve, best_point, open_circuit_v, sum_at, volts_at
from solarsim.production.power import InputPower
from solarsim.scenario.roof.roof import DcInput

Floats = NDArray[np.float64]


def rated_input(number: int, dc_input: DcInput, offered_kw: Floats) -> InputPower:
    """Return the power of an input whose arrays have ratings and no curves: it adds, and only power is limited."""
    left = np.minimum(offered_kw, dc_input.max_kw)
    return InputPower(
        number, {**dict.fromkeys(("arrays", "unlike_strings", "window", "current"), offered_kw), "power": left}
    )


def curve_input(
    number: int, dc_input: DcInput, curves: list[Curve], offered_kw: Floats, first_of_day: NDArray[np.bool_]
) -> InputPower:
    """Return the power of an input at the best voltage within its limits, and what each limit costs."""
    # It starts once the open-circuit voltage reaches ``start_v``, stops for the day when that falls below the window,
    # and does not run while it is above ``max_v``. Where current or power would be too high it moves to a higher
    # voltage, also above the window, as inverters do (common practice, no source).
    limits = {key: getattr(dc_input, key) or inf for key in ("max_a", "mppt_max_v", "max_v")}
    least_v, start_v = dc_input.mppt_min_v or 0.0, dc_input.start_v or 0.0
    volts, current = best_point(curves)
    together = np.minimum(np.maximum(volts * current / 1000.0, 0.0), offered_kw)
    open_v = open_circuit_v(curves)
    runs = _running(open_v, start_v, least_v, first_of_day) & (open_v <= limits["max_v"])
    working_v = np.clip(volts, least_v, limits["mppt_max_v"])
    current = np.where(runs, np.maximum(sum_at(curves, working_v)[0], 0.0), 0.0)
    in_window = np.minimum(working_v * current / 1000.0, together)
    too_much = current > limits["max_a"]
    in_current = in_window.copy()
    if too_much.any():
        some = [_where(curve, too_much) for curve in curves]
        higher = volts_at(some, limits["max_a"], working_v[too_much])
        working_v[too_much] = higher
        in_current[too_much] = np.minimum(higher * limits["max_a"] / 1000.0, in_window[too_much])
    stages = {
        "arrays": offered_kw,
        "unlike_strings": together,
        "window": in_window,
        "current": in_current,
        "power": np.minimum(in_current, dc_input.max_kw),
    }
    over = int((open_v > limits["max_v"]).sum())
    return InputPower(number, stages, open_v, np.where(runs, working_v, 0.0), over)


def _running(open_v: Floats, start_v: float, least_v: float, first_of_day: NDArray[np.bool_]) -> NDArray[np.bool_]:
    step = np.arange(open_v.size)
    started = np.maximum.accumulate(np.where(open_v >= start_v, step, -2))
    stopped = np.maximum.accumulate(np.where(open_v < least_v, step, np.where(first_of_day, step - 1, -2)))
    return np.asarray(started > stopped)


def _where(curve: Curve, chosen: NDArray[np.bool_]) -> Curve:
    return Curve(**{name: values[chosen] for name, values in vars(curve).items()})
