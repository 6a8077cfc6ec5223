"""What a controller expects when it plans at midnight: a year's series in, the courses of each plan out.

Three kinds: past days like the one to come; a forecast of each day's sun and load with a stated error; the hours to
come themselves. All look 48 hours ahead.
"""

from math import exp, log, sqrt
from statistics import NormalDist

import numpy as np

from solarsim.engine.planner import Outlook
from solarsim.engine.records import Floats, Inputs, Ints

DAYS_AHEAD = 2
PAST_DAYS = 14  #: that a controller without a forecast looks back on; common practice, no source
_NEWER = 0.9  # weight of a day / that of the day after it; both found by trial on the examples
_OTHER_KIND = 0.5  # weight of a working day where the day to come is free, and the reverse
_COURSES = 7  # of a forecast: as many equally likely errors
_MIX = 3  # by which the errors of load are out of step with those of sun
_FEWEST = 5  # past days that say how much days differ
_LEAST_SPREAD = 0.01  # standard deviation of the logarithm of past days
_ABOVE_PAST = 1.05  # no day is expected to exceed the best of the past days by more
_TINY = 1e-3  # of the best past day: the logarithm of a dark day


def _plans(steps: int, a_day: int) -> tuple[Ints, Ints]:
    """Return the first step of each plan, and all steps that it looks ahead to."""
    begins = np.arange(0, steps, a_day)
    return begins, (begins[:, None] + np.arange(DAYS_AHEAD * a_day)) % steps


def known_hours(steps: int, a_day: int) -> Outlook:
    """Return the outlook of a controller that knows the hours to come."""
    begins, ahead = _plans(steps, a_day)
    ones = np.ones((begins.size, 1, ahead.shape[1]))
    return Outlook(begins, a_day, np.ones((begins.size, 1)), ahead[:, None, :], ones, ones)


def like_days(steps: int, a_day: int, day_kind: Ints) -> Outlook:
    """Return the outlook of a controller that knows the past only: any of the last days may come again.

    ``day_kind`` is the calendar's, one entry for each step; which kind a coming day is, is known.
    """
    begins, ahead = _plans(steps, a_day)
    kind = day_kind.reshape(-1, a_day)[:, a_day // 2]
    source = np.zeros((begins.size, PAST_DAYS, ahead.shape[1]), np.int64)
    weight = np.zeros((begins.size, PAST_DAYS))
    for day in range(begins.size):
        for back in range(1, min(day, PAST_DAYS) + 1):
            source[day, back - 1] = np.tile((day - back) * a_day + np.arange(a_day), DAYS_AHEAD)
            weight[day, back - 1] = _NEWER**back * (1.0 if kind[day - back] == kind[day] else _OTHER_KIND)
        if day:
            weight[day] /= weight[day].sum()
    ones = np.ones(source.shape)
    # Half a day: the sun of a morning tells little of the next night's demand.
    return Outlook(begins, max(1, a_day // 2), weight, source, ones, ones)


def forecast(inputs: Inputs, a_day: int, error: float, seed: int) -> Outlook:
    """Return the outlook of a controller with a forecast of each day's sun and load.

    ``error`` is the standard deviation of forecast / truth, 0 or more; sun and load err independently, their course
    within the day is known. The controller knows how large errors are, and how much past days differ: it expects what
    both make likely together.
    """
    steps = inputs.pv_kw.size
    if error == 0.0:
        return known_hours(steps, a_day)
    begins, ahead = _plans(steps, a_day)
    days, spread = begins.size, sqrt(log(1.0 + error * error))
    rng = np.random.default_rng(seed)
    deviates = np.array([NormalDist().inv_cdf((each + 0.5) / _COURSES) for each in range(_COURSES)])
    place = np.arange(_COURSES)
    factors = []
    for kw, order in ((inputs.pv_kw + inputs.ac_solar_kw, place), (inputs.load_kw, (_MIX * place + 1) % _COURSES)):
        daily = kw.reshape(days, a_day).sum(axis=1)
        told = daily * np.exp(spread * rng.standard_normal(days) - spread * spread / 2.0)
        factors.append(_factors(daily, told, spread, deviates[order]))
    each = np.repeat(np.arange(DAYS_AHEAD), a_day)
    sun, load = (found[:, :, each] for found in factors)
    source = np.repeat(ahead[:, None, :], _COURSES, axis=1)
    return Outlook(begins, a_day, np.full((days, _COURSES), 1.0 / _COURSES), source, sun, load)


def _factors(daily: Floats, told: Floats, spread: float, deviates: Floats) -> Floats:
    """Return what is expected / the truth: day of the plan, course, day ahead."""
    days = daily.size
    found = np.ones((days, deviates.size, DAYS_AHEAD))
    for day in range(days):
        past = daily[max(0, day - PAST_DAYS) : day]
        for ahead in range(DAYS_AHEAD):
            coming = (day + ahead) % days
            if daily[coming] > 0.0:
                found[day, :, ahead] = _expected(past, told[coming], spread, deviates) / daily[coming]
    return found


def _expected(past: Floats, told: float, spread: float, deviates: Floats) -> Floats:
    """Return what a day may bring, from what is told of it and from past days; all as logarithms, normal."""
    best = float(past.max(initial=0.0))
    if past.size < _FEWEST or best <= 0.0:
        return np.asarray(told * np.exp(spread * deviates - spread * spread / 2.0))
    logs = np.log(np.maximum(past, _TINY * best))
    variance = max(float(logs.var()), _LEAST_SPREAD**2)
    both = 1.0 / (1.0 / variance + 1.0 / spread**2)
    mean = both * (float(logs.mean()) / variance + log(max(told, _TINY * best)) / spread**2)
    likely = np.minimum(mean + sqrt(both) * deviates, log(_ABOVE_PAST * best))
    return np.asarray([exp(each) for each in likely])
