"""Many lifetimes: drawn courses of years in; NPV, savings and payback of each out, on several processes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf, nan
from typing import NamedTuple

from solarsim.studies._on_cluster import workers_for
from solarsim.studies.life.system import System
from solarsim.studies.life.years import Course


class Outcome(NamedTuple):
    """One lifetime; where too much is unserved to compare, the worst of all: no savings, no NPV, never paid back."""

    npv: float
    average_savings: float
    payback_years: float
    unserved_kwh: float
    unserved_h: float
    solar_only_npv: float  # not a number where there is no such home
    first_year_solar_kwh: float


@dataclass(frozen=True, eq=False)
class Job:
    """What all lifetimes share: the system, the same home without a battery, and the aging of the cells."""

    system: System
    solar_only: System | None
    cells_left: tuple[float, ...] | None


def outcomes_of(
    job: Job,
    courses: Sequence[Course],
    workers: int,
    progress: Callable[[int, int], None] | None,
    scheduler: str | None,
) -> list[Outcome]:
    """Return the outcome of each course, in their order, whatever the number of workers."""
    with workers_for(_outcome, job, workers, scheduler) as several:
        return several.map(courses, progress=progress)


def _outcome(job: Job, course: Course) -> Outcome:
    """Return the outcome of one lifetime."""
    life = job.system.life(replace(course, cells_left=job.cells_left))
    alone = None if job.solar_only is None else job.solar_only.life(course, life.baselines).npv
    npv, savings, payback, years = life.npv, life.average_savings, life.simple_payback_years, len(life.ledgers)
    return Outcome(
        npv=-inf if npv is None else npv,
        average_savings=-inf if savings is None else savings,
        payback_years=inf if payback is None else payback,
        unserved_kwh=life.unserved_kwh / years,
        unserved_h=life.unserved_h / years,
        solar_only_npv=nan if alone is None else alone,
        first_year_solar_kwh=life.ledgers[0].solar_kwh,
    )
