"""Outages that were drawn: how often and how long the grid fails in; what is not served in many years out."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.scenario.backup.backup import Frequency
from solarsim.studies.outages.island import Island, standby_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
MOST_YEARS = 10_000
LONGEST_H = 720.0
_AT_ONCE = 500
_NOTHING_KWH = 1e-9


class Drawn(NamedTuple):
    """Outages of many years, one entry of each array for each outage.

    Attributes
    ----------
    years : int
        How many.
    seed : int
        Of the draws.
    year : array of int
        In which it falls, from 0.
    start : array of int
        The step at whose start the grid fails.
    steps : array of int
        For how many steps.
    shortened : int
        How many would have lasted longer than the longest that is drawn.
    """

    years: int
    seed: int
    year: Ints
    start: Ints
    steps: Ints
    shortened: int


class Missed(NamedTuple):
    """What many years of outages leave unserved of what is backed up.

    Attributes
    ----------
    expected_kwh, median_kwh, p90_kwh : float
        Of a year: the mean, and what half and nine tenths of the years stay at or below [kWh].
    critical_kwh : float
        Of the mean, what is critical: it is shed last [kWh].
    missing_h, critical_h : float
        Time of a year in which something, or something critical, is missing, mean [h].
    through : float
        Share of the years in which nothing is missing, 0-1.
    dark_kwh : float
        What is not behind the inverter, and so is never served in an outage, a year's mean [kWh].
    """

    expected_kwh: float
    median_kwh: float
    p90_kwh: float
    critical_kwh: float
    missing_h: float
    critical_h: float
    through: float
    dark_kwh: float


def draw_outages(frequency: Frequency, timeline: Timeline, years: int, seed: int) -> Drawn:
    """Draw outages.

    Their number in a year is Poisson distributed with the mean SAIFI. Their length is geometric in whole
    steps, which is the exponential law of a constant rate of repair put onto steps: the mean is CAIDI, or one
    step where that is shorter. The month follows the weights; within it every step is as likely. All three
    are common practice, no source; storms really come in bunches, which makes bad years worse.

    Parameters
    ----------
    frequency : Frequency
        SAIFI, CAIDI, weights of the months.
    timeline : Timeline
        The year; months go by the wall clock.
    years : int
        How many years.
    seed : int
        The same seed draws the same years.

    Returns
    -------
    Drawn
        In the order of the years.
    """
    rng = np.random.default_rng(seed)
    counts = rng.poisson(frequency.per_year, years)
    count = int(counts.sum())
    steps = rng.geometric(min(1.0, timeline.step_h / frequency.mean_h), count)
    longest = round(LONGEST_H / timeline.step_h)
    weights = np.array(frequency.months, np.float64)
    month = rng.choice(12, count, p=weights / weights.sum())
    of_month = [np.flatnonzero(timeline.month == each) for each in range(1, 13)]
    place = rng.random(count)
    start = np.array([of_month[m][int(p * of_month[m].size)] for m, p in zip(month, place, strict=True)], np.int64)
    return Drawn(
        years,
        seed,
        np.repeat(np.arange(years), counts),
        start,
        np.minimum(steps, longest).astype(np.int64),
        int((steps > longest).sum()),
    )


def missed_in(island: Island, drawn: Drawn) -> Missed:
    """Tell what drawn outages leave unserved.

    Each outage starts from the energy that a year without outages has stored: a second one soon after
    another is flattered.

    Parameters
    ----------
    island : Island
        Home and strategy.
    drawn : Drawn
        From ``draw_outages``.

    Returns
    -------
    Missed
        Of all years.
    """
    home = island.home
    step_h, size = home.timeline.step_h, len(home.timeline)
    first_shed_kwh = island.more_than_critical_kw * step_h
    dark_kwh = np.maximum(0.0, home.load_kw + standby_of(home) - island.dispatch.backed_kw) * step_h
    kwh, critical, hours, critical_h, dark = (np.zeros(drawn.start.size) for _ in range(5))
    for some in _alike(drawn.steps):
        starts, steps = drawn.start[some], drawn.steps[some]
        numbers = np.arange(steps.max())
        _, unserved_kwh = island.lose_grid(starts, numbers.size)
        within = numbers < steps[:, None]
        missing = np.diff(unserved_kwh, prepend=0.0, axis=1) * within
        which = (starts[:, None] + numbers) % size
        kwh[some] = missing.sum(axis=1)
        shed_last = np.maximum(0.0, missing - first_shed_kwh[which])
        critical[some] = shed_last.sum(axis=1)
        hours[some] = (missing > _NOTHING_KWH).sum(axis=1) * step_h
        critical_h[some] = (shed_last > _NOTHING_KWH).sum(axis=1) * step_h
        dark[some] = (dark_kwh[which] * within).sum(axis=1)
    by_year = np.bincount(drawn.year, kwh, drawn.years)
    return Missed(
        expected_kwh=float(by_year.mean()),
        median_kwh=float(np.percentile(by_year, 50)),
        p90_kwh=float(np.percentile(by_year, 90)),
        critical_kwh=float(critical.sum() / drawn.years),
        missing_h=float(hours.sum() / drawn.years),
        critical_h=float(critical_h.sum() / drawn.years),
        through=float((by_year <= _NOTHING_KWH).mean()),
        dark_kwh=float(dark.sum() / drawn.years),
    )


def _alike(steps: Ints) -> Iterator[Ints]:
    """Give outages of about the same length together: each group is run for its longest."""
    order = np.argsort(steps, kind="stable")
    for first in range(0, order.size, _AT_ONCE):
        yield order[first : first + _AT_ONCE]
