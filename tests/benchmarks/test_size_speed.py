"""How long a design takes: five strategies and 25 years, against one year of the engine alone."""

from itertools import count

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.home import Home
from solarsim.scenario.size import Size as SizeTable
from solarsim.studies.size._designs import Mode, Shop
from solarsim.studies.size._quick import baselines_of
from solarsim.studies.size.design import Design
from solarsim.studies.size.homes import Homes
from tests.benchmarks.yardstick import assert_ratio, engine_year

#: Two years of each of five strategies, three more of those that may be the best; the scenario is checked, too: 30 to
#: 38 times an engine's year. All 25 years of those that may be the best besides: 75 to 88 times.
DESIGN_RATIO, EXACT_RATIO = 45.0, 110.0


@pytest.mark.parametrize(("mode", "limit"), [("quick", DESIGN_RATIO), ("exact", EXACT_RATIO)])
def test_a_design_against_the_engine_alone(
    benchmark: BenchmarkFixture, demo_home: Home, mode: Mode, limit: float
) -> None:
    shop, number = Shop(Homes(demo_home), SizeTable(), {}, baselines_of(demo_home)), count()

    def design() -> None:
        place = next(number)
        changes = {"battery.bank.0.strings": 1 + place % 4, "arrays.0.modules_in_series": 6 + place % 5}
        assert isinstance(shop.design(changes, mode), Design)

    assert_ratio(benchmark, design, engine_year(demo_home, "winter night charge"), limit)
