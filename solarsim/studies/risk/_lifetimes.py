"""Many lifetimes: drawn courses of years in; NPV, savings and payback of each out, on several processes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import NamedTuple

from solarsim.home import Home
from solarsim.ledger.payments import Payments
from solarsim.scenario.costs import Costs
from solarsim.studies._workers import Workers
from solarsim.studies.life.strategy_life import StrategyLife
from solarsim.studies.life.years import Course, homes_by_year, ledgers_by_year


class Outcome(NamedTuple):
    """One lifetime; where too much is unserved to compare, the worst of all: no savings, no NPV, never paid back."""

    npv: float
    average_savings: float
    payback_years: float
    unserved_kwh: float
    unserved_h: float


@dataclass(frozen=True, eq=False)
class Job:
    """What all lifetimes share: the home under each weather file, the strategy and its payments."""

    homes: tuple[Home, ...]
    strategy: str
    costs: Costs
    payments: Payments
    discount_rate: float
    cells_left: tuple[float, ...] | None


def outcomes_of(
    job: Job, courses: Sequence[Course], workers: int, progress: Callable[[int, int], None] | None
) -> list[Outcome]:
    """Return the outcome of each course, in their order, whatever the number of workers."""
    with Workers(_outcome, job, workers) as several:
        return several.map(courses, progress=progress)


def _outcome(job: Job, course: Course) -> Outcome:
    """Return the outcome of one lifetime."""
    course = replace(course, cells_left=job.cells_left)
    baselines, ledgers = ledgers_by_year(job.strategy, homes_by_year(job.homes, course, job.costs))
    life = StrategyLife(ledgers, baselines, job.payments, job.discount_rate, job.strategy)
    npv, savings, payback = life.npv, life.average_savings, life.simple_payback_years
    return Outcome(
        npv=-inf if npv is None else npv,
        average_savings=-inf if savings is None else savings,
        payback_years=inf if payback is None else payback,
        unserved_kwh=life.unserved_kwh / len(ledgers),
        unserved_h=life.unserved_h / len(ledgers),
    )
