"""The stated speed of aging, and of an hour with all that cells can ask for."""

from dataclasses import replace

from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.aging.law import Stress, plus
from solarsim.hardware.cell_temperature import bank_over_year
from solarsim.home import Home
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.wear import battery_of, stress_of
from tests.benchmarks.yardstick import ENGINE_RATIO, bare_loop, engine_year, judged, median_of, ratio_to

YEARS_25_S = 0.5


def test_25_years_of_aging_take_at_most_half_a_second(benchmark: BenchmarkFixture, demo_comparison: Comparison) -> None:
    """Every year counted anew, as a study does that runs each year with the battery that is left."""
    run, home = demo_comparison.runs[2], demo_comparison.home

    def life() -> Stress:
        state = Stress()
        for _ in range(25):
            state = plus(state, stress_of(run, home))
        return state

    benchmark.pedantic(life, rounds=5)
    if judged(benchmark):
        assert median_of(benchmark) <= YEARS_25_S


def test_cold_and_tapered_cells_against_a_bare_loop(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    changes = {"battery.place": "outdoor", "battery.room_c": None, "battery.taper_from": 0.9}
    battery = battery_of(demo_home.scenario.changed(changes))
    limits = demo_home.limits._replace(taper_kwh=0.1 * battery.kwh)
    bank = bank_over_year(battery, limits, demo_home.weather.temp_air_c)
    year = engine_year(replace(demo_home, limits=limits, bank=bank), "serve the home first")
    assert ratio_to(benchmark, year, bare_loop(), rounds=200) <= ENGINE_RATIO
