"""How clear the days and hours of a month are: a mean clearness and draws in, days and hours out.

Clearness is the share of the irradiation above the air that arrives on level ground. The coefficients
of all models in this file are written from memory.
"""

from math import expm1

import numpy as np
from numpy.typing import NDArray

from solarsim.scenario.site import MONTH_DAYS

#: No mean of a month, a day or an hour is above it: the driest high deserts come near.
CLEAREST = 0.80
_DAY_TO_DAY = 0.29
# The published distribution pools many years; the days of one typical month are closer together. Own fit: six
# open typical years (North America, Amsterdam, Sydney) have 0.6 to 0.9 of its standard deviation.
_TYPICAL_SPREAD = 0.8
_DARKEST_DAY = 0.05


def day_clearness(monthly_clearness: NDArray[np.float64], draws: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the clearness of each day of a year; its mean over a month is near the month's, not equal to it.

    A first-order autoregression of 0.29 from day to day (Graham, Hollands & Huget, Solar Energy 40, 1988) gives the
    order of the days; the days themselves are the month's distribution at evenly spaced probabilities, so that every
    year has the typical mix of days, and only their order is drawn. They are 0.8 times as far from the mean as that
    distribution has them (own fit, not published). ``draws`` is a standard normal number for each day.
    """
    days = np.empty(draws.size)
    level = draws[0]
    for day, draw in enumerate(draws.tolist()):
        level = _DAY_TO_DAY * level + (1 - _DAY_TO_DAY**2) ** 0.5 * draw if day else draw
        days[day] = level
    month = np.repeat(np.arange(12), MONTH_DAYS)
    for number, mean in enumerate(monthly_clearness.tolist()):
        those = month == number
        rank = np.argsort(np.argsort(days[those]))
        days[those] = mean + _TYPICAL_SPREAD * (quantiles(mean, (rank + 0.5) / rank.size) - mean)
    return days


def quantiles(mean: float, probability: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the daily clearness below which a share of a month's days is.

    The distribution of Bendt, Collares-Pereira & Rabl (Solar Energy 27, 1981): the density is an exponential between
    0.05 and the clearest day, which is 0.6313 + 0.267 mean - 11.9 (mean - 0.75)^8 (Hollands & Huget, Solar Energy 30,
    1983). Its exponent is solved from the mean. Below a mean of 0.1, where the formula fails, days reach from half the
    mean to twice the mean at least.
    """
    if mean <= 0.0:
        return np.zeros(probability.size)
    low = min(_DARKEST_DAY, mean / 2)
    high = max(0.6313 + 0.267 * mean - 11.9 * (mean - 0.75) ** 8, min(2 * mean, CLEAREST))
    steepness = steepness_of((mean - low) / (high - low))
    # Mirrored, so that no power of e overflows.
    rising = steepness > 0
    from_end = np.log1p((1 - probability if rising else probability) * expm1(-abs(steepness))) / -abs(steepness)
    return low + (high - low) * (1 - from_end if rising else from_end)


def steepness_of(mean_share: float) -> float:
    """Return how steep an exponential density between 0 and 1 must be for a mean above 0 and below 1.

    Above 0 where the mean is above one half, never 0; found by bisection between -500 and 500.
    """
    low, high = -500.0, 500.0
    for _ in range(60):
        middle = (low + high) / 2 or 1e-9
        # Near 0 the exact mean -1 / expm1(-x) - 1 / x is a difference of large numbers.
        mean = 0.5 + middle / 12 if abs(middle) < 1e-3 else -1 / expm1(-middle) - 1 / middle
        low, high = (middle, high) if mean < mean_share else (low, middle)
    return (low + high) / 2 or 1e-9


def hour_clearness(
    daily: NDArray[np.float64], sin_elevation: NDArray[np.float64], draws: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Draw the clearness of hours, 0.01 to 0.8, around what the clearness of the day and the elevation let expect.

    Aguiar & Collares-Pereira (Solar Energy 49, 1992): the mean falls with the air that the light crosses, and an
    autoregression from hour to hour, liveliest on half-clear days, represents the clouds. ``draws`` is one standard
    normal number for each hour. The mean over a day is near the day's, not equal to it.
    """
    overcast = -0.19 + 1.12 * daily + 0.24 * np.exp(-8 * daily)
    above = 0.32 - 1.6 * (daily - 0.5) ** 2
    depth = 0.19 + 2.27 * daily**2 - 2.51 * daily**3
    expected = overcast + above * np.exp(-depth / sin_elevation)
    spread = 0.14 * np.exp(-20 * (daily - 0.35) ** 2)
    spread *= np.exp((3 * (daily - 0.45) ** 2 + 16 * daily**5) * (1 - sin_elevation))
    memory = 0.38 + 0.06 * np.cos(7.4 * daily - 2.5)
    level, clouds = 0.0, []
    for kept, draw in zip(memory.tolist(), draws.tolist(), strict=True):
        level = kept * level + (1 - kept * kept) ** 0.5 * draw
        clouds.append(level)
    return np.asarray(np.clip(expected + spread * np.array(clouds), 0.01, CLEAREST))


def keep_means(
    values: NDArray[np.float64], weights: NDArray[np.float64], group: NDArray[np.int64], means: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Scale values so that each group has its weighted mean; reduce contrast where one would pass ``CLEAREST``.

    ``weights`` are irradiation above the air, 0 in the dark; ``group`` is the day or month of each value, from 0.
    """
    total, drawn = (np.bincount(group, each, means.size) for each in (weights, values * weights))
    scaled = values * np.divide(means * total, drawn, out=np.ones(means.size), where=drawn > 0)[group]
    highest = np.zeros(means.size)
    np.maximum.at(highest, group, np.where(weights > 0, scaled, 0.0))
    room = np.maximum(CLEAREST - means, 0.0)
    contrast = np.divide(room, highest - means, out=np.ones(means.size), where=highest - means > room)
    return np.asarray(means[group] + contrast[group] * (scaled - means[group]))
