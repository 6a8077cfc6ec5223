"""Limits on time as ratios to a yardstick of the same run: the machine is shared, and its speed changes.

Run with ``python -m pytest tests/benchmarks -n 0 --benchmark-enable``; otherwise each body runs
once and no time is judged.
"""

import math
import subprocess
import sys
import time
from collections.abc import Callable

import numpy as np
from numba import njit
from numpy.typing import NDArray
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.engine.records import UNKNOWN, Hour, State
from solarsim.engine.step import run_steps
from solarsim.home import Home

STEPS = 8760
#: What a year of the engine may take against ``bare_loop``.
ENGINE_RATIO = 2.5
Call = Callable[[], object]


def judged(benchmark: BenchmarkFixture) -> bool:
    """Return whether times are judged in this run."""
    return bool(benchmark.enabled)


def seconds(call: Call) -> float:
    """Return how long one call takes [s]."""
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def ratio_to(benchmark: BenchmarkFixture, ours: Call, yardstick: Call, rounds: int = 30) -> float:
    """Return the shortest time of ours divided by that of the yardstick, timed in turns; 0 where times are not judged.

    The shortest of many rounds is what the machine can do when nobody else uses it, and both sides get the same chance.
    """
    ours()
    if not judged(benchmark):
        benchmark.pedantic(ours, rounds=1)
        return 0.0
    yardstick()
    pairs = [(seconds(ours), seconds(yardstick)) for _ in range(rounds)]
    own, other = min(pair[0] for pair in pairs), min(pair[1] for pair in pairs)
    benchmark.pedantic(ours, rounds=min(rounds, 5))
    benchmark.extra_info |= {"ratio": round(own / other, 2), "ours [ms]": own * 1e3, "yardstick [ms]": other * 1e3}
    return own / other


@njit(error_model="numpy")
def _loop(inputs: NDArray[np.float64], table: NDArray[np.float64]) -> float:
    state = 5.0
    for row in range(inputs.size):
        power = inputs[row]
        root = math.sqrt(power * power + 0.2 * state + 0.04)
        state = min(10.0, max(1.0, state + (root - 0.6) / (1.0 + 0.1 * power)))
        for column in range(table.shape[1]):
            table[row, column] = root if column % 2 else state
    return state


def bare_loop() -> Call:
    """Return a compiled loop over a year of hours that does a little arithmetic and writes 14 numbers a step."""
    inputs, table = np.random.default_rng(1).uniform(0.0, 4.0, STEPS), np.empty((STEPS, 14))
    return lambda: _loop(inputs, table)


def engine_year(home: Home, strategy: str) -> Call:
    """Return the engine alone over one year of a home: no ledger, no bill."""
    table = np.empty((STEPS, len(Hour._fields)))
    inputs = home.inputs(strategy)
    return lambda: run_steps(inputs, State(5.0, True), table, UNKNOWN)


def process(*words: str) -> Call:
    """Return a run of Python as a process of its own."""
    return lambda: subprocess.run([sys.executable, *words], check=True, capture_output=True)
