"""The stated speed of a house's load; see ``test_speed`` for when times are judged."""

from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.home import Home
from solarsim.load._parts import house_load
from tests.load.parts import PARTS, parts, table

HOUSE_MS = 50.0


def test_year_of_every_kind_of_part_takes_at_most_50_ms(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    house = parts(*(table(kind) for kind in PARTS))
    benchmark.pedantic(house_load, (house, demo_home.timeline, demo_home.weather), rounds=30)
    if benchmark.enabled:
        assert benchmark.stats is not None
        assert benchmark.stats.stats.median * 1000 <= HOUSE_MS
