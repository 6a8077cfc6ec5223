"""Many lifetimes: drawn courses of years in; NPV, savings and payback of each out, on several processes."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from math import inf
from multiprocessing import get_context
from typing import NamedTuple

from solarsim.home import Home
from solarsim.ledger.payments import Payments
from solarsim.scenario.costs import Costs
from solarsim.studies.life.life import StrategyLife
from solarsim.studies.life.years import Course, homes_by_year, ledgers_by_year

_CHUNK = 16


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
    chunks = [courses[first : first + _CHUNK] for first in range(0, len(courses), _CHUNK)]
    found: list[Outcome] = []
    with _workers(job, min(workers, len(chunks))) as several:
        for done in several(chunks):
            found += done
            if progress is not None:
                progress(len(found), len(courses))
    return found


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


_worker_job: list[Job] = []  # one for each worker process, which lives for one job


def _begin(job: Job) -> None:
    """Keep the job of a worker process."""
    _worker_job[:] = [job]


def _chunk_outcomes(courses: Sequence[Course]) -> list[Outcome]:
    """Return the outcomes of some courses in a worker process."""
    return [_outcome(_worker_job[0], course) for course in courses]


_Several = Callable[[Sequence[Sequence[Course]]], Iterator[list[Outcome]]]


@contextmanager
def _workers(job: Job, workers: int) -> Iterator[_Several]:
    """Yield what maps chunks of courses to outcomes, here or in worker processes."""
    if workers == 1:
        yield lambda chunks: ([_outcome(job, course) for course in chunk] for chunk in chunks)
        return
    # Spawned, not forked: the same on every system, and safe beside the threads of a terminal's sign of life.
    pool = ProcessPoolExecutor(workers, get_context("spawn"), _begin, (job,))
    try:
        yield lambda chunks: pool.map(_chunk_outcomes, chunks)
    finally:
        pool.shutdown(cancel_futures=True)
