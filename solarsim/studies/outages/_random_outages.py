"""Randomly drawn outages: how often and how long the grid fails in; what many years leave unserved, out."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.results import Result, fact
from solarsim.scenario.backup.backup import Frequency
from solarsim.studies.outages._island import Island, standby_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
MOST_YEARS = 10_000
LONGEST_H = 720.0
_AT_ONCE = 500
_NOTHING_KWH = 1e-9


class Drawn(NamedTuple):
    """Outages of many years; one entry of each array for each outage, in the order of the years."""

    years: int
    seed: int
    year: Ints  # in which it is, from 0
    start: Ints  # the step at whose start the grid fails
    steps: Ints  # for how many steps
    shortened: int  # how many were longer than the longest that is simulated


@dataclass(frozen=True, eq=False, repr=False)
class UnservedInOutages(Result):
    """What drawn years of outages leave unserved of the backed-up demand."""

    mean_kwh: float = fact("unserved in a year, mean", "kWh")
    median_kwh: float = fact("unserved in a year, median", "kWh")
    p90_kwh: float = fact("unserved in a year, not exceeded in 90% of the years", "kWh")
    critical_kwh: float = fact("critical demand unserved in a year, mean; it is shed last", "kWh")
    unserved_h: float = fact("time in which some backed-up demand is unserved, mean of a year", "h")
    critical_unserved_h: float = fact("time in which some critical demand is unserved, mean of a year", "h")
    years_fully_served: float = fact("share of the years in which nothing is unserved", "1")
    not_backed_up_kwh: float = fact("demand in outages that is not backed up, mean of a year", "kWh")


def draw_outages(frequency: Frequency, timeline: Timeline, years: int, seed: int) -> Drawn:
    """Return randomly drawn outages of many years.

    Their number in a year is Poisson distributed with the mean SAIFI. Their duration is geometric in whole steps, the
    exponential distribution of a constant repair rate: the mean is CAIDI, or one step where that is shorter. The month
    follows the weights; within it every step is equally likely. All three are common practice, no source; real storms
    come in clusters, which makes bad years worse.
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


def unserved_in(island: Island, drawn: Drawn) -> UnservedInOutages:
    """Return what drawn outages leave unserved; each starts from a year without outages (flattering a second one)."""
    home = island.home
    step_h, size = home.timeline.step_h, len(home.timeline)
    first_shed_kwh = island.more_than_critical_kw * step_h
    not_backed_kwh = np.maximum(0.0, home.load_kw + standby_of(home) - island.dispatch.backed_kw) * step_h
    kwh, critical, hours, critical_h, not_backed = (np.zeros(drawn.start.size) for _ in range(5))
    for some in _alike(drawn.steps):
        starts, steps = drawn.start[some], drawn.steps[some]
        numbers = np.arange(steps.max())
        _, unserved_kwh, _ = island.lose_grid(starts, numbers.size)
        within = numbers < steps[:, None]
        unserved = np.diff(unserved_kwh, prepend=0.0, axis=1) * within
        which = (starts[:, None] + numbers) % size
        kwh[some] = unserved.sum(axis=1)
        shed_last = np.maximum(0.0, unserved - first_shed_kwh[which])
        critical[some] = shed_last.sum(axis=1)
        hours[some] = (unserved > _NOTHING_KWH).sum(axis=1) * step_h
        critical_h[some] = (shed_last > _NOTHING_KWH).sum(axis=1) * step_h
        not_backed[some] = (not_backed_kwh[which] * within).sum(axis=1)
    by_year = np.bincount(drawn.year, kwh, drawn.years)
    return UnservedInOutages(
        mean_kwh=float(by_year.mean()),
        median_kwh=float(np.percentile(by_year, 50)),
        p90_kwh=float(np.percentile(by_year, 90)),
        critical_kwh=float(critical.sum() / drawn.years),
        unserved_h=float(hours.sum() / drawn.years),
        critical_unserved_h=float(critical_h.sum() / drawn.years),
        years_fully_served=float((by_year <= _NOTHING_KWH).mean()),
        not_backed_up_kwh=float(not_backed.sum() / drawn.years),
    )


def _alike(steps: Ints) -> Iterator[Ints]:
    """Yield outages of similar duration together: each group is simulated for its longest."""
    order = np.argsort(steps, kind="stable")
    for first in range(0, order.size, _AT_ONCE):
        yield order[first : first + _AT_ONCE]
