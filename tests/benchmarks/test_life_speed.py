"""The stated speeds of a system's life, as the best of many repeats: the machine is shared and noisy."""

from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.home import Home
from solarsim.studies.life.life import life
from solarsim.studies.risk.risk import risk
from tests.benchmarks.yardstick import judged

YEARS_MS = 40.0
LIFETIMES_S = 20.0


def test_25_years_of_a_strategy_take_at_most_40_ms(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    scenario = demo_home.scenario
    assert scenario.life is not None
    assert scenario.life.years == 25
    benchmark.pedantic(life, (scenario, "winter night charge", demo_home), rounds=30, warmup_rounds=1)
    if judged(benchmark):
        assert benchmark.stats is not None
        assert benchmark.stats.stats.min * 1000 <= YEARS_MS


def test_1000_lifetimes_of_25_years_take_at_most_20_s_on_two_cores(
    benchmark: BenchmarkFixture, demo_home: Home
) -> None:
    scenario = demo_home.scenario
    lifetimes, workers, rounds = (1000, 2, 3) if judged(benchmark) else (10, 1, 1)

    def all_lifetimes() -> object:
        return risk(scenario, None, demo_home, lifetimes, workers=workers)

    benchmark.pedantic(all_lifetimes, rounds=rounds)
    if judged(benchmark):
        assert benchmark.stats is not None
        assert benchmark.stats.stats.min <= LIFETIMES_S
