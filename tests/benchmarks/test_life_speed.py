"""How long a system's life takes, against the years of the engine that are in it."""

import time

from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.home import Home
from solarsim.studies.life.life import life
from solarsim.studies.risk.risk import risk
from tests.benchmarks.yardstick import assert_ratio, engine_year, engine_years_on_two_cores

YEARS = 25
#: A year of a life against the engine alone: later home, two bills, sums. Both rose by half when the engine became a
#: third faster and all else stayed.
YEAR_RATIO = 4.8
#: 1,000 lifetimes on two cores against the engine alone on both, start of the worker processes included.
LIFETIMES_RATIO = 7.0


def test_25_years_of_a_strategy_against_the_engine_alone(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    scenario = demo_home.scenario
    assert scenario.life is not None
    assert scenario.life.years == YEARS

    def years() -> object:
        return life(scenario, "winter night charge", demo_home)

    assert_ratio(benchmark, years, engine_year(demo_home, "winter night charge"), YEARS * YEAR_RATIO)


def test_1000_lifetimes_of_25_years_on_two_cores_against_the_engine_alone(
    benchmark: BenchmarkFixture, demo_home: Home
) -> None:
    def all_lifetimes() -> object:
        return risk(demo_home.scenario, None, demo_home, 1000, workers=2)

    with engine_years_on_two_cores(demo_home, demo_home.scenario.strategies[0].name, 2000) as engine:
        limit = 1000 * YEARS / (2 * 2000) * LIFETIMES_RATIO
        assert_ratio(benchmark, all_lifetimes, engine, limit, rounds=6, clock=time.perf_counter)
