"""The stated speed of outages: every start of the year, and a thousand drawn years."""

import numpy as np
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.scenario.backup.backup import Frequency
from solarsim.studies.outages._island import HOURS, Backup, Island, backup_of, island_of
from solarsim.studies.outages._random_outages import UnservedInOutages, draw_outages, unserved_in
from tests.benchmarks.yardstick import judged, median_of
from tests.homes_without_grid import storm_home

EVERY_START_S = 2.0
THOUSAND_YEARS_S = 5.0


def ready() -> Island:
    return island_of(storm_home(), "serve the home first")


def test_8_lengths_from_8760_starts_take_at_most_two_seconds(benchmark: BenchmarkFixture) -> None:
    def every_start() -> tuple[Backup, list[float]]:
        backup = backup_of(ready())
        return backup, [backup.covered(hours) for hours in HOURS]

    _, shares = benchmark.pedantic(every_start, rounds=3, warmup_rounds=1)
    assert (np.diff(shares) <= 0.0).all()
    if judged(benchmark):
        assert median_of(benchmark) <= EVERY_START_S


def test_a_thousand_years_of_outages_take_at_most_five_seconds(benchmark: BenchmarkFixture) -> None:
    """A poor grid: ten outages a year of nine hours in the mean."""
    poor = Frequency(per_year=10.0, mean_h=9.0, months=(1.0,) * 12)

    def thousand_years() -> UnservedInOutages:
        island = ready()
        return unserved_in(island, draw_outages(poor, island.home.timeline, 1000, seed=1))

    unserved = benchmark.pedantic(thousand_years, rounds=3, warmup_rounds=1)
    assert unserved.mean_kwh > 0.0
    if judged(benchmark):
        assert median_of(benchmark) <= THOUSAND_YEARS_S
