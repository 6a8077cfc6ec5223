"""The speed of outages, against the engine alone over one year."""

import numpy as np
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.scenario.backup.backup import Frequency
from solarsim.studies.outages._island import HOURS, backup_of, island_of
from solarsim.studies.outages._random_outages import UnservedInOutages, draw_outages, unserved_in
from tests.benchmarks.yardstick import assert_ratio, engine_year
from tests.homes_without_grid import storm_home

EVERY_START_RATIO = 150.0
THOUSAND_YEARS_RATIO = 110.0


STRATEGY = "serve the home first"


def test_8_durations_from_8760_starts(benchmark: BenchmarkFixture) -> None:
    def every_start() -> list[float]:
        backup = backup_of(island_of(storm_home(), STRATEGY))
        return [backup.covered(hours) for hours in HOURS]

    assert (np.diff(every_start()) <= 0.0).all()
    assert_ratio(benchmark, every_start, engine_year(storm_home(), STRATEGY), EVERY_START_RATIO)


def test_a_thousand_years_of_outages(benchmark: BenchmarkFixture) -> None:
    """A poor grid: ten outages a year of nine hours in the mean."""
    poor = Frequency(per_year=10.0, mean_h=9.0, months=(1.0,) * 12)

    def thousand_years() -> UnservedInOutages:
        island = island_of(storm_home(), STRATEGY)
        return unserved_in(island, draw_outages(poor, island.home.timeline, 1000, seed=1))

    assert thousand_years().mean_kwh > 0.0
    assert_ratio(benchmark, thousand_years, engine_year(storm_home(), STRATEGY), THOUSAND_YEARS_RATIO)
