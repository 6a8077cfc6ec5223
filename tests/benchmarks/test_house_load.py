"""The speed of a house's load, against reading a weather file."""

from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.home import Home
from solarsim.load._parts import house_load
from solarsim.weather.source import weather_for
from tests.benchmarks.yardstick import assert_ratio
from tests.load.parts import PARTS, parts, table

HOUSE_RATIO = 0.5


def test_year_of_every_kind_of_part_against_reading_a_file(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    house = parts(*(table(kind) for kind in PARTS))

    def year() -> object:
        return house_load(house, demo_home.timeline, demo_home.weather)

    def reading() -> object:
        return weather_for(demo_home.scenario, demo_home.timeline)

    assert_ratio(benchmark, year, reading, HOUSE_RATIO)
