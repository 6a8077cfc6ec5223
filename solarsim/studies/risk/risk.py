"""How sure the money is: a scenario with spreads in, a thousand simulated lifetimes and what moves them out."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from math import inf, isfinite
from multiprocessing import get_context

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import ScenarioError
from solarsim.home import Home, home_from, home_of
from solarsim.ledger.payments import Payments, payments_from
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime, Uncertainty
from solarsim.scenario.model import Scenario
from solarsim.studies.life.life import StrategyLife, cells_left_by_age, settings_of
from solarsim.studies.life.years import Course, homes_by_year, lived
from solarsim.studies.risk.draws import HIGH, LOW, MIDDLE, draw, middle_course, swings_of
from solarsim.studies.savings import costs_of

Floats = NDArray[np.float64]
SHARES = (LOW, MIDDLE, HIGH)
_CHUNK = 16


@dataclass(frozen=True)
class Moved:
    """What one input does to the net present value.

    Attributes
    ----------
    name : str
        The key in ``life``, or ``weather``.
    low_value, high_value : float
        The input's P10 and P90: a rate a year; of weather, mean solar power / the typical year's.
    at_low, at_high : float
        Net present value there, all other inputs at their medians [currency].
    """

    name: str
    low_value: float
    high_value: float
    at_low: float
    at_high: float

    @property
    def swing(self) -> float:
        """How far apart the two are [currency]."""
        return abs(self.at_high - self.at_low)


@dataclass(frozen=True, eq=False)
class Risk:
    """Many lifetimes of one strategy.

    Attributes
    ----------
    home : Home
        Of the first year, typical weather.
    settings : Lifetime
        Rates and spreads.
    costs : Costs
        What is paid.
    strategy : str
        Its name.
    seed : int
        Of the draws.
    npv : array of float
        Of each lifetime, in the order of drawing [currency].
    average_savings : array of float
        Likewise [currency a year].
    payback : array of float
        Simple payback in years; infinite where a lifetime never pays back.
    middle_value : float
        Net present value with every input at its median [currency].
    moved : tuple of Moved
        Every uncertain input, the strongest first.
    notes : tuple of str
        What a person should know of the files that were read, each once.
    cells_left : tuple of float, optional
        See ``life.cells_left_by_age``; the same in every lifetime.
    """

    home: Home
    settings: Lifetime
    costs: Costs
    strategy: str
    seed: int
    npv: Floats
    average_savings: Floats
    payback: Floats
    middle_value: float
    moved: tuple[Moved, ...]
    notes: tuple[str, ...] = ()
    cells_left: tuple[float, ...] | None = None

    @property
    def share_paid_back(self) -> float:
        """Share of the lifetimes that pay back, 0-1."""
        return float(np.isfinite(self.payback).mean())

    @property
    def share_worth_it(self) -> float:
        """Share of the lifetimes whose net present value is not below 0, 0-1."""
        return float((self.npv >= 0.0).mean())


def percentiles(values: Floats) -> tuple[float | None, ...]:
    """Give P10, P50 and P90: what a tenth, a half and nine tenths of the values stay below or at.

    Parameters
    ----------
    values : array of float
        May hold infinity for "never".

    Returns
    -------
    tuple of float or None
        None where it is infinite. Each is one of the values, so that "never" is not averaged.
    """
    found = (float(each) for each in np.quantile(values, SHARES, method="inverted_cdf"))
    return tuple(each if isfinite(each) else None for each in found)


@dataclass(frozen=True, eq=False)
class _Job:
    """What every lifetime has in common."""

    homes: tuple[Home, ...]
    strategy: str
    costs: Costs
    payments: Payments
    discount_rate: float
    cells_left: tuple[float, ...] | None


def _outcome(job: _Job, course: Course) -> tuple[float, float, float]:
    """Live one lifetime: net present value, average savings, payback."""
    course = replace(course, cells_left=job.cells_left)
    baseline, years = lived(job.strategy, homes_by_year(job.homes, course, job.costs))
    life = StrategyLife(job.strategy, years, baseline, job.payments, job.discount_rate)
    payback = life.simple_payback_years
    return life.npv, life.average_savings, inf if payback is None else payback


_worker_job: list[_Job] = []  # one for each worker process, which lives for one job


def _begin(job: _Job) -> None:
    _worker_job[:] = [job]


def _outcomes(courses: Sequence[Course]) -> list[tuple[float, float, float]]:
    return [_outcome(_worker_job[0], course) for course in courses]


Several = Callable[[Sequence[Sequence[Course]]], Iterator[list[tuple[float, float, float]]]]


@contextmanager
def _workers(job: _Job, workers: int) -> Iterator[Several]:
    if workers == 1:
        yield lambda chunks: ([_outcome(job, course) for course in chunk] for chunk in chunks)
        return
    # Spawned, not forked: the same on every system, and safe beside the threads of a terminal's sign of life.
    pool = ProcessPoolExecutor(workers, get_context("spawn"), _begin, (job,))
    try:
        yield lambda chunks: pool.map(_outcomes, chunks)
    finally:
        pool.shutdown(cancel_futures=True)


def risk(
    scenario: Scenario,
    strategy: str | None = None,
    home: Home | None = None,
    lifetimes: int | None = None,
    seed: int | None = None,
    workers: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> Risk:
    """Live a strategy's lifetime many times, each with rates and weather of its own, every year simulated.

    Parameters
    ----------
    scenario : Scenario
        With costs, a life and its uncertainty.
    strategy : str, optional
        Which; the first one if left out.
    home : Home, optional
        From ``home_from``.
    lifetimes, seed : int, optional
        In place of the scenario's.
    workers : int
        Processes that share the work; the answer does not depend on it. A script that asks for more than one
        needs the usual ``if __name__ == "__main__":``.
    progress : callable, optional
        Called with how many lifetimes are done, and how many there are.

    Returns
    -------
    Risk
        Inputs are drawn apart from each other: that prices of energy and of export mostly rise together is not in
        it. A rate holds through its lifetime: years of cheap and dear energy in turn are not in it either.

    Raises
    ------
    ScenarioError
        The scenario lists no costs, or says nothing of the years to come or of how sure they are; or see
        ``cells_left_by_age``.
    UnknownNameError
        The scenario has no such strategy.
    InputError
        See ``home_from``.
    ValueError
        See ``home_of``; or there is less than one lifetime or worker.
    """
    costs, settings = costs_of(scenario), settings_of(scenario)
    unsure = uncertainty_of(scenario)
    chosen = scenario.strategies[0].name if strategy is None else scenario.strategy(strategy).name
    lifetimes, seed = unsure.lifetimes if lifetimes is None else lifetimes, unsure.seed if seed is None else seed
    if lifetimes < 1 or workers < 1:
        raise ValueError(f"lifetimes {lifetimes} and workers {workers} must be 1 or more")
    home = home_of(scenario, home)
    files = unsure.weather_files or ()
    homes = (home, *(home_from(scenario.changed({"weather": file})) for file in files))

    courses = tuple(draw(settings, seed, number, len(files)) for number in range(lifetimes))
    yearly_kwh = np.array([each.production.dc_kw.sum() for each in homes]) * home.timeline.step_h
    swings = swings_of(settings, courses, yearly_kwh)
    all_courses = [*courses, middle_course(settings), *(way for each in swings for way in (each.low, each.high))]
    chunks = [all_courses[first : first + _CHUNK] for first in range(0, len(all_courses), _CHUNK)]
    # Workers need what the roof brings, not how it comes about: its classes would load the model's library in each.
    bare = tuple(replace(each, production=each.production.times(1.0)) for each in homes)
    left = cells_left_by_age(home, chosen)
    job = _Job(bare, chosen, costs, payments_from(costs, settings), settings.discount_rate, left)
    outcomes: list[tuple[float, float, float]] = []
    with _workers(job, min(workers, len(chunks))) as several:
        for done in several(chunks):
            outcomes += done
            if progress is not None:
                progress(len(outcomes), len(all_courses))

    values, savings, paybacks = (np.array(column) for column in zip(*outcomes[:lifetimes], strict=True))
    middle, *ends = (value for value, _, _ in outcomes[lifetimes:])
    moved = [
        Moved(each.name, each.low_value, each.high_value, low, high)
        for each, low, high in zip(swings, ends[::2], ends[1::2], strict=True)
    ]
    strongest_first = tuple(sorted(moved, key=lambda each: -each.swing))
    notes = tuple(dict.fromkeys(note for each in homes for note in each.notes()))
    return Risk(home, settings, costs, chosen, seed, values, savings, paybacks, middle, strongest_first, notes, left)


def uncertainty_of(scenario: Scenario) -> Uncertainty:
    """Give how sure a scenario is of the years to come.

    Parameters
    ----------
    scenario : Scenario
        With or without uncertainty.

    Returns
    -------
    Uncertainty
        Its table, with at least one input that is not sure.

    Raises
    ------
    ScenarioError
        The scenario says nothing of it, or calls everything sure.
    """
    settings = settings_of(scenario)
    unsure = settings.uncertainty
    if unsure is None:
        raise ScenarioError(
            scenario.problem("does not say how sure its rates are: add a table [life.uncertainty] with lifetimes, seed")
        )
    if not (settings.spreads() or unsure.weather_standard_deviation or unsure.weather_files):
        raise ScenarioError(
            scenario.problem(
                "life.uncertainty: names nothing that is uncertain, for example price_growth or weather_files"
            )
        )
    return unsure
