"""Daily shapes of household use: season and day kind in, 24 relative weights out.

The shapes are our own invention, drawn from what is commonly seen in homes (common practice, no source): a night base,
a morning rise, an evening peak; in summer the afternoon is raised by cooling, in winter morning and evening by heating
and light. A weight is relative to the other hours of the same month only, since each month is scaled to its bill.
Interval data of the home are better than any shape.
"""

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import DAY_KINDS, Timeline

# Winter 0, spring and fall 1, summer 2: northern months January to December. South of the equator they are shifted
# by half a year.
_SEASON_OF_MONTH = (0, 0, 1, 1, 1, 2, 2, 2, 2, 1, 1, 0)

# fmt: off
#                 hour 0    1    2    3    4    5    6    7    8    9   10   11
_EVENINGS_WEEKDAY = (
    (0.55, 0.50, 0.48, 0.48, 0.50, 0.65, 1.10, 1.35, 1.00, 0.70, 0.62, 0.62,
     0.65, 0.62, 0.62, 0.70, 1.00, 1.55, 1.95, 2.00, 1.85, 1.55, 1.10, 0.75),
    (0.52, 0.47, 0.45, 0.45, 0.47, 0.60, 0.95, 1.10, 0.85, 0.65, 0.60, 0.62,
     0.68, 0.65, 0.65, 0.75, 1.00, 1.45, 1.75, 1.80, 1.75, 1.50, 1.05, 0.70),
    (0.75, 0.65, 0.60, 0.57, 0.57, 0.62, 0.78, 0.85, 0.78, 0.75, 0.82, 0.92,
     1.02, 1.10, 1.20, 1.35, 1.60, 1.90, 1.95, 1.85, 1.70, 1.50, 1.20, 0.92),
)
_EVENINGS_WEEKEND = (
    (0.60, 0.53, 0.50, 0.48, 0.48, 0.55, 0.75, 1.00, 1.25, 1.35, 1.30, 1.25,
     1.25, 1.15, 1.10, 1.10, 1.25, 1.60, 1.85, 1.85, 1.70, 1.45, 1.10, 0.80),
    (0.57, 0.50, 0.47, 0.45, 0.45, 0.52, 0.70, 0.92, 1.15, 1.25, 1.20, 1.18,
     1.20, 1.10, 1.05, 1.05, 1.20, 1.50, 1.70, 1.70, 1.62, 1.40, 1.05, 0.75),
    (0.78, 0.68, 0.62, 0.58, 0.57, 0.60, 0.72, 0.88, 1.05, 1.15, 1.22, 1.30,
     1.38, 1.42, 1.48, 1.58, 1.72, 1.85, 1.85, 1.75, 1.62, 1.45, 1.20, 0.95),
)
_HOME_WEEKDAY = (
    (0.60, 0.55, 0.52, 0.52, 0.54, 0.65, 0.95, 1.15, 1.15, 1.10, 1.10, 1.15,
     1.25, 1.12, 1.05, 1.05, 1.15, 1.45, 1.65, 1.65, 1.50, 1.30, 1.00, 0.75),
    (0.57, 0.52, 0.50, 0.49, 0.50, 0.60, 0.85, 1.00, 1.05, 1.05, 1.05, 1.10,
     1.20, 1.10, 1.02, 1.02, 1.10, 1.35, 1.50, 1.50, 1.42, 1.25, 0.95, 0.70),
    (0.78, 0.70, 0.64, 0.60, 0.60, 0.64, 0.76, 0.90, 1.00, 1.08, 1.18, 1.30,
     1.42, 1.48, 1.55, 1.62, 1.70, 1.75, 1.70, 1.60, 1.50, 1.35, 1.12, 0.92),
)
# fmt: on

#: name -> weights[weekend or holiday 0/1][season][hour]
SHAPES: dict[str, NDArray[np.float64]] = {
    "evenings": np.array([_EVENINGS_WEEKDAY, _EVENINGS_WEEKEND]),
    "home_all_day": np.array([_HOME_WEEKDAY, _EVENINGS_WEEKEND]),
}


def season_of(month: NDArray[np.int64], latitude_deg: float) -> NDArray[np.int64]:
    """Return the season of each month 1 to 12, 0 winter, 1 spring or fall, 2 summer.

    Parameters
    ----------
    month : array of int
        1 to 12.
    latitude_deg : float
        North is positive [deg]; south of the equator the seasons are shifted by half a year.

    Returns
    -------
    array of int
        One for each month.
    """
    shifted = month - 1 if latitude_deg >= 0 else (month + 5) % 12
    return np.array(_SEASON_OF_MONTH)[shifted]


def shape_weight(shape: NDArray[np.float64], timeline: Timeline, latitude_deg: float) -> NDArray[np.float64]:
    """Return the weight of each step in a daily shape, relative to the others of its month.

    Parameters
    ----------
    shape : array of float
        Relative weights, by weekday or day off (weekend, holiday), season and wall-clock hour.
    timeline : Timeline
        The year.
    latitude_deg : float
        North is positive; it decides when summer is [deg].

    Returns
    -------
    array of float
        One weight for each step.
    """
    free_day = (timeline.day_kind != DAY_KINDS.index("weekday")).astype(np.int64)
    weight = shape[free_day, season_of(timeline.month, latitude_deg), timeline.minute_of_day // 60]
    return np.asarray(weight, np.float64)


def spread_months(
    monthly_kwh: NDArray[np.float64], weight: NDArray[np.float64], timeline: Timeline
) -> NDArray[np.float64]:
    """Spread twelve monthly sums over the steps; each month keeps its sum exactly.

    Parameters
    ----------
    monthly_kwh : array of float
        January to December, by the wall clock as bills are [kWh].
    weight : array of float
        Of each step, relative to the others of its month.
    timeline : Timeline
        The year.

    Returns
    -------
    array of float
        Mean power of each step [kW].
    """
    month = timeline.month - 1
    weight_h = np.bincount(month, weight, minlength=12) * timeline.step_h
    return np.asarray(weight * (monthly_kwh / weight_h)[month], np.float64)


def spread_year(annual_kwh: float, weight: NDArray[np.float64], timeline: Timeline) -> NDArray[np.float64]:
    """Spread a year's sum over the steps: each month has its share of the year's hours.

    Parameters
    ----------
    annual_kwh : float
        The sum [kWh].
    weight : array of float
        Of each step, relative to the others of its month.
    timeline : Timeline
        The year.

    Returns
    -------
    array of float
        Mean power of each step [kW].
    """
    months = np.bincount(timeline.month - 1, minlength=12) / len(timeline)
    return spread_months(months * annual_kwh, weight, timeline)
