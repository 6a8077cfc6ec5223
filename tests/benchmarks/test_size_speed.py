"""How long a design takes: five strategies and 25 years, against the engine's years that are computed for it."""

from itertools import count

from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.home import Home
from solarsim.scenario.size import Size as SizeTable
from solarsim.studies.size._designs import Shop
from solarsim.studies.size._quick import baselines_of
from solarsim.studies.size.design import Design
from solarsim.studies.size.homes import Homes
from tests.benchmarks.yardstick import assert_ratio, engine_year

#: Five strategies in five computed years of 25, each with nearly two passes; the scenario is checked anew.
DESIGN_RATIO = 90.0


def test_a_design_against_the_engine_alone(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    shop, number = Shop(Homes(demo_home), SizeTable(), {}, baselines_of(demo_home)), count()

    def design() -> None:
        place = next(number)
        changes = {"battery.bank.0.strings": 1 + place % 4, "arrays.0.modules_in_series": 6 + place % 5}
        assert isinstance(shop.design(changes, "quick"), Design)

    assert_ratio(benchmark, design, engine_year(demo_home, "winter night charge"), DESIGN_RATIO)
