"""The speed of aging, against counting cycles, and of an hour with all that cells can ask for, against a bare loop."""

from dataclasses import replace

import rainflow
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.aging.law import Stress, plus
from solarsim.hardware.cell_temperature import bank_over_year
from solarsim.home import Home
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.wear import battery_of, stress_of
from tests.benchmarks.yardstick import assert_ratio, bare_loop, engine_year

AGING_RATIO = 2.2
COLD_RATIO = 3.2


def test_25_years_of_aging_against_counting_cycles(benchmark: BenchmarkFixture, demo_comparison: Comparison) -> None:
    """Every year counted anew, as a study does that runs each year with the battery that is left."""
    run, home = demo_comparison.runs[2], demo_comparison.home

    def life() -> Stress:
        state = Stress()
        for _ in range(25):
            state = plus(state, stress_of(run, home))
        return state

    soc = run.flows["soc"].tolist()

    def counting() -> object:
        return [list(rainflow.extract_cycles(soc)) for _ in range(25)]

    assert_ratio(benchmark, life, counting, AGING_RATIO)


def test_cold_and_tapered_cells_against_a_bare_loop(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    changes = {"battery.place": "outdoor", "battery.room_c": None, "battery.taper_from": 0.9}
    battery = battery_of(demo_home.scenario.changed(changes))
    limits = demo_home.limits._replace(taper_kwh=0.1 * battery.kwh)
    bank = bank_over_year(battery, limits, demo_home.weather.temp_air_c)
    year = engine_year(replace(demo_home, limits=limits, bank=bank), "serve the home first")
    assert_ratio(benchmark, year, bare_loop(), COLD_RATIO)
