"""The stated speed of aging, and of an hour with all that cells can ask for."""

import numpy as np
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.aging.law import Stress, plus
from solarsim.engine.records import GRID_ALONE, Hour
from solarsim.engine.step import run_steps
from solarsim.hardware.cell_temperature import bank_over_year
from solarsim.home import Home
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.wear import stress_of
from tests.benchmarks.test_speed import ENGINE_NS_PER_STEP, judged, median_of

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


def test_cold_and_tapered_cells_keep_the_engine_within_40_ns_a_step(
    benchmark: BenchmarkFixture, demo_home: Home
) -> None:
    scenario = demo_home.scenario
    assert scenario.battery is not None
    battery = scenario.battery.model_copy(update={"place": "outdoor", "taper_from": 0.9})
    limits = demo_home.limits._replace(taper_kwh=0.1 * battery.kwh)
    cells = bank_over_year(battery, limits, demo_home.weather.temp_air_c).cells
    dispatch = demo_home.dispatches["serve the home first"]
    table = np.empty((8760, len(Hour._fields)))
    given = limits, dispatch, GRID_ALONE, cells, demo_home.production.dc_kw, demo_home.load_kw, 5.0, table
    run_steps(*given)
    benchmark.pedantic(run_steps, given, rounds=200)
    if judged(benchmark):
        assert benchmark.stats is not None
        assert benchmark.stats.stats.min / 8760 * 1e9 <= ENGINE_NS_PER_STEP
