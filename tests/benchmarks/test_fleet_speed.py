"""How long a home of a fleet takes, with five strategies, bills, rows and sums."""

from collections import OrderedDict
from itertools import count

from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.home import Home
from solarsim.scenario.homes import HomeRow
from solarsim.scenario.read import demo_scenario_path
from solarsim.studies.fleet._chunk import Chunk, Job, run_chunk, texts_for
from tests.benchmarks.yardstick import assert_ratio, engine_year

#: The scenario is checked anew (2 ms), seven years with bills, rows and sums (12 ms); an engine's year takes 0.27 ms.
HOME_RATIO = 90.0
JOB = Job("benchmark", 2026, any_year=False, with_life=False, hourly=None)


def row(number: int) -> HomeRow:
    """Return a home of the demo's site; loads, batteries and roofs come again and again."""
    changes = {
        "load.monthly_kwh": [700 + number % 500] * 12,
        "battery.bank.0.strings": 1 + number % 3,
        "arrays.0.azimuth_deg": 150 + 15 * (number % 5),
        "arrays.0.modules_in_series": 8 + number % 4,
    }
    return HomeRow(number, f"home {number}", demo_scenario_path(), changes, None, ())


def chunk(first: int, homes: int) -> Chunk:
    return Chunk(first, *texts_for([row(first + number) for number in range(homes)], OrderedDict()))


def test_a_home_of_a_fleet_against_the_engine_alone(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    number = count()
    assert run_chunk(JOB, chunk(0, 20)).failed == 0  # weather, sky and roofs are there
    assert_ratio(
        benchmark,
        lambda: run_chunk(JOB, chunk(next(number), 1)),
        engine_year(demo_home, "winter night charge"),
        HOME_RATIO,
    )
