"""Parts of the house that bills or a meter already hold: their load and the bills' in, what is left of the bills out.

Bills say how much, not when: what is left of a month, or of a year, keeps the bills' own shape. A meter and a load file
say when: the parts are taken out step by step. A step that holds less than they need leaves the rest to the other steps
of its month, in proportion, so that every month keeps its energy.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.errors import ScenarioError

_LEAST_KWH = 1e-6  # rounding
Array = NDArray[np.float64]


def left_of_bills(bills_kw: Array, parts_kw: Array, timeline: Timeline, *, hours_known: bool, of_year: bool) -> Array:
    """Return what is left of the bills [kW] without parts that they hold; refuse parts that use more than the bills."""
    period = np.zeros(len(timeline), np.int64) if of_year else np.asarray(timeline.month, np.int64) - 1
    bills_kwh, parts_kwh = (_sums(each, period, timeline) for each in (bills_kw, parts_kw))
    left_kwh = bills_kwh - parts_kwh
    over = np.flatnonzero(left_kwh < -_LEAST_KWH)
    if over.size:
        raise ScenarioError(
            *(
                f"load.parts: those with in_bills = true use {parts_kwh[at]:,.0f} kWh"
                f" {'a year' if of_year else f'in month {at + 1}'}, more than the {bills_kwh[at]:,.0f} kWh of the"
                " bills; lower them, or write in_bills = false"
                for at in over
            )
        )
    rest_kw = np.maximum(bills_kw - parts_kw, 0.0) if hours_known else bills_kw
    rest_kwh = _sums(rest_kw, period, timeline)
    share = np.divide(np.maximum(left_kwh, 0.0), rest_kwh, out=np.zeros_like(rest_kwh), where=rest_kwh > 0)
    return np.asarray(rest_kw * share[period], np.float64)


def moved_kwh(bills_kw: Array, parts_kw: Array, timeline: Timeline) -> float:
    """Return how much of the parts [kWh] is in steps in which the meter shows less than they use."""
    return float(np.maximum(parts_kw - bills_kw, 0.0).sum()) * timeline.step_h


def _sums(power_kw: Array, period: NDArray[np.int64], timeline: Timeline) -> Array:
    return np.asarray(np.bincount(period, power_kw, minlength=period.max() + 1) * timeline.step_h, np.float64)
