"""Limits on time as ratios to a yardstick of the same run: the machine is shared, and its speed changes.

Run with ``python -m pytest tests/benchmarks -n 0 --benchmark-enable``; otherwise they are skipped.
"""

import math
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context

import numpy as np
from numba import njit
from numpy.typing import NDArray
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.engine.records import UNKNOWN, Hour, Inputs, State
from solarsim.engine.step import run_steps
from solarsim.home import Home

STEPS = 8760
#: A year of the engine against ``bare_loop``: 1.55 to 1.75, by how much of the core a neighbor uses.
ENGINE_RATIO = 2.2
FEWEST_ROUNDS, LONG_S = 5, 1.0
Call = Callable[[], object]
Clock = Callable[[], float]


def cpu_s() -> float:
    """Return what this process and its ended children have used of the processors [s]: waiting does not count."""
    ended = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + ended.ru_utime + ended.ru_stime


def seconds(call: Call, clock: Clock) -> float:
    """Return how long one call takes [s]."""
    start = clock()
    call()
    return clock() - start


def assert_ratio(
    benchmark: BenchmarkFixture, ours: Call, yardstick: Call, limit: float, rounds: int = 60, clock: Clock = cpu_s
) -> None:
    """Assert that ours takes at most ``limit`` times as long as the yardstick, timed in turns.

    The shortest of some rounds is what the machine can do when nobody else uses it, and both sides get the same
    chance. Another user's load only adds time, so rounds go on until the limit holds, at most so many; a change that
    makes ours slower fails in all of them. Processor time is compared, except where several cores work at a time.
    """
    ours()
    yardstick()
    own = other = math.inf
    for done in range(1, rounds + 1):
        own, other = min(own, seconds(ours, clock)), min(other, seconds(yardstick, clock))
        if own <= limit * other and (done >= FEWEST_ROUNDS or own > LONG_S):
            break
    benchmark.extra_info |= {"ratio": round(own / other, 2), "ours [ms]": own * 1e3, "yardstick [ms]": other * 1e3}
    print(f"{own / other:.2f} of {limit} allowed; {own * 1e3:.2f} ms against {other * 1e3:.2f} ms, {done} rounds")
    benchmark.pedantic(lambda: None if own > LONG_S else ours(), rounds=1)
    assert own <= limit * other, f"{own / other:.2f} times the yardstick, allowed {limit}"


@njit(error_model="numpy")
def _simplest(sun: float, load: float, stored: float, slope: float) -> tuple[float, ...]:
    """Return the flows of the simplest battery that anyone would write: the sun serves, the rest is stored."""
    served = min(sun, load)
    surplus, deficit = sun - served, load - served
    charge = discharge = exported = curtailed = 0.0
    if surplus > 0.0:
        charge = min(surplus, 3.0, (10.0 - stored) / 0.95)
        left = surplus - charge
        if left > 0.02:
            exported = 2.0 * left / (slope + math.sqrt(slope * slope + 0.02 * left))
            curtailed = max(0.0, exported - 1.0)
    else:
        most = min(3.0, (stored - 1.0) * 0.95)
        if most > 0.0:
            discharge = min(most, 0.02 + (slope + 0.005 * deficit) * deficit)
            output = 2.0 * discharge / (slope + math.sqrt(slope * slope + 0.02 * discharge))
            deficit = max(0.0, deficit - output)
    stored = 1.0 + (stored - 1.0) * 0.9999 + 0.95 * charge - discharge / 0.95
    return served, charge, exported, curtailed, discharge, deficit, stored


@njit(error_model="numpy")
def _loop(series: NDArray[np.float64], table: NDArray[np.float64]) -> float:
    one = two = three = four = 5.0
    for row in range(series.shape[1]):
        sun = load = 0.0
        for number in range(0, series.shape[0], 2):
            load += series[number, row]
            sun += series[number + 1, row]
        first, second = _simplest(sun, load, one, 1.01), _simplest(0.8 * sun, load, two, 1.02)
        third, fourth = _simplest(1.3 * sun, load, three, 1.03), _simplest(sun, 1.5 * load, four, 1.04)
        one, two, three, four = first[6], second[6], third[6], fourth[6]
        for column in range(7):
            table[row, column] = first[column] + second[column]
            table[row, column + 7] = third[column] + fourth[column]
    return one


def bare_loop() -> Call:
    """Return a compiled loop of four simple batteries over a year of hours, with the engine's traffic with memory.

    Four, since a single chain of arithmetic waits for itself: it would not slow down where a neighbor shares the
    core, as the engine does.
    """
    series = np.random.default_rng(1).uniform(0.0, 0.2, (18, STEPS))
    series[1::2] *= 1.6 * np.maximum(0.0, np.sin((np.arange(STEPS) % 24 - 6.0) / 12.0 * np.pi))
    table = np.empty((STEPS, 14))
    return lambda: _loop(series, table)


def engine_year(home: Home, strategy: str) -> Call:
    """Return the engine alone over one year of a home: no ledger, no bill."""
    table = np.empty((STEPS, len(Hour._fields)))
    inputs = home.inputs(strategy)
    return lambda: run_steps(inputs, State(5.0, True), table, UNKNOWN)


def _engine_years(inputs: Inputs, years: int) -> None:
    """Run the engine alone for some years, in a worker process."""
    table = np.empty((STEPS, len(Hour._fields)))
    for _ in range(years):
        run_steps(inputs, State(5.0, True), table, UNKNOWN)


@contextmanager
def engine_years_on_two_cores(home: Home, strategy: str, years: int) -> Iterator[Call]:
    """Yield the engine alone, so many years on each of two cores at a time: two cores are seldom twice one."""
    inputs = home.inputs(strategy)
    with ProcessPoolExecutor(2, get_context("spawn")) as pool:
        yield lambda: list(pool.map(_engine_years, [inputs] * 2, [years] * 2))


def process(*words: str) -> Call:
    """Return a run of Python as a process of its own."""
    return lambda: subprocess.run([sys.executable, *words], check=True, capture_output=True)
