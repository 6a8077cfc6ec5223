"""A worker's memory does not grow with the number of homes that it runs."""

from functools import partial
from pathlib import Path

import pytest

from solarsim.studies._cluster import Cluster
from solarsim.studies.fleet._chunk import run_chunk
from tests.benchmarks.test_fleet_speed import JOB, chunk

MOST_MB = 400.0


def peak_mb(_: int) -> float:
    """Return the most memory that this process has had so far [MB]."""
    text = Path("/proc/self/status").read_text()
    return int(text.partition("VmHWM:")[2].split()[0]) / 1024.0


@pytest.mark.slow
def test_a_worker_stays_within_its_memory_however_many_homes_it_runs() -> None:
    with Cluster(1) as cluster:
        for first in (0, 60):
            (_, answer), *_ = cluster.answers(partial(run_chunk, JOB), iter([chunk(first, 60)]))
            assert answer.failed == 0
        (_, found), *_ = cluster.answers(peak_mb, iter([0]))
    assert found < MOST_MB
