"""The stated speeds, as ratios in one run or with many repeats: the machine is shared and noisy.

Run with ``python -m pytest tests/benchmarks -n 0 --benchmark-enable``; otherwise each body runs
once and no time is judged.
"""

import statistics
import subprocess
import sys
import time
from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from pvlib import location, modelchain, pvsystem
from pvlib.temperature import TEMPERATURE_MODEL_PARAMETERS
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.dispatch.strategy import dispatch_from
from solarsim.engine.records import GRID_ALONE, Hour
from solarsim.engine.step import run_steps
from solarsim.home import Home
from solarsim.ledger.ledger import ledger_from
from solarsim.production.dc_power import dc_power
from solarsim.studies.compare.compare import Comparison
from solarsim.weather.source import weather_for
from tests.roofs import roof, strings
from tests.weather.means import home_of, means_of

ENGINE_NS_PER_STEP = 40
LEDGER_MS = 2.0
COMPARE_RATIO = 1.6
MONTHLY_S = 0.3
HELP_RATIO = 3.0
FIRST_RUN_EXTRA_S = 6.0
TWO_CURVES_S = 1.0


def median_of(benchmark: BenchmarkFixture) -> float:
    """Median time of the rounds [s]."""
    assert benchmark.stats is not None
    return float(benchmark.stats.stats.median)


def judged(benchmark: BenchmarkFixture) -> bool:
    """Whether times are judged in this run."""
    return bool(benchmark.enabled)


@pytest.mark.parametrize("number", range(5))
def test_engine_takes_at_most_40_ns_a_step(benchmark: BenchmarkFixture, demo_home: Home, number: int) -> None:
    scenario = demo_home.scenario
    dispatch = dispatch_from(scenario.strategies[number], scenario.grid, demo_home.timeline)
    table = np.empty((8760, len(Hour._fields)))
    pv, load, limits, cells = demo_home.production.dc_kw, demo_home.load_kw, demo_home.limits, demo_home.bank.cells
    run_steps(limits, dispatch, GRID_ALONE, cells, pv, load, 5.0, table)
    benchmark.pedantic(run_steps, (limits, dispatch, GRID_ALONE, cells, pv, load, 5.0, table), rounds=200)
    if judged(benchmark):
        assert benchmark.stats is not None
        assert benchmark.stats.stats.min / 8760 * 1e9 <= ENGINE_NS_PER_STEP


def test_ledger_of_a_strategy_takes_at_most_2_ms(
    benchmark: BenchmarkFixture, demo_home: Home, demo_comparison: Comparison
) -> None:
    flows, rate_plan = demo_comparison.runs[2].flows, demo_home.scenario.rate_plan

    def fresh() -> tuple[tuple[object, ...], dict[str, object]]:
        return (
            type(flows)(**{name: getattr(flows, name) for name in flows.__dataclass_fields__}),
            rate_plan,
            demo_home.prices,
        ), {}

    benchmark.pedantic(ledger_from, setup=fresh, rounds=100)
    if judged(benchmark):
        assert median_of(benchmark) * 1000 <= LEDGER_MS


def model_chain(home: Home) -> Callable[[], object]:
    """Set pvlib's own chain up for the demo's two arrays: the same inputs, sky model and cell temperature."""
    scenario, weather = home.scenario, home.weather
    parameters = TEMPERATURE_MODEL_PARAMETERS["sapm"]["close_mount_glass_glass"]
    way = home.production.roof
    assert way is not None
    arrays = [
        pvsystem.Array(
            pvsystem.FixedMount(array.tilt_deg, array.azimuth_deg),
            albedo=scenario.site.albedo,
            module_parameters={
                "pdc0": own.rated_kw * 1000,
                "gamma_pdc": array.temperature_coefficient_per_c,
            },
            temperature_model_parameters=parameters,
        )
        for array, own in zip(scenario.arrays, way.arrays, strict=True)
    ]
    system = pvsystem.PVSystem(arrays, inverter_parameters={"pdc0": 6000.0})
    place = location.Location(weather.latitude_deg, weather.longitude_deg, altitude=weather.elevation_m)
    chain = modelchain.ModelChain(
        system, place, transposition_model="perez-driesse", aoi_model="physical", spectral_model="no_loss"
    )
    middle = pd.DatetimeIndex(home.timeline.utc_start + np.timedelta64(30, "m"), tz="UTC")
    sky = pd.DataFrame(
        {
            "ghi": weather.ghi_w_m2,
            "dni": weather.dni_w_m2,
            "dhi": weather.dhi_w_m2,
            "temp_air": weather.temp_air_c,
            "wind_speed": weather.wind_speed_m_s,
        },
        index=middle,
    )
    return lambda: chain.run_model(sky)


@pytest.mark.filterwarnings("ignore")  # of pvlib's own chain
def test_production_of_two_arrays_is_no_slower_than_pvlib_s_own_chain(
    benchmark: BenchmarkFixture, demo_home: Home
) -> None:
    chain = model_chain(demo_home)

    def ours() -> object:
        return dc_power(demo_home.scenario, demo_home.weather, demo_home.timeline)

    def pair() -> tuple[float, float]:
        return seconds(ours), seconds(chain)

    ratios = [one / other for one, other in (pair() for _ in range(15 if judged(benchmark) else 1))]
    benchmark.pedantic(ours, rounds=10)
    benchmark.extra_info["ours / chain"] = statistics.median(ratios)
    if judged(benchmark):
        assert statistics.median(ratios) <= 1.0


def test_two_arrays_of_curves_take_at_most_a_second_a_year(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    """Two unlike strings with cables on one input: each curve by itself, and their sum."""
    cable = {"one_way_m": 20.0, "awg": "10"}
    unlike = [strings(cable=cable), strings(name="west", modules_in_series=8, azimuth_deg=270.0, cable=cable)]
    home = roof(*unlike)
    benchmark.pedantic(dc_power, (home, demo_home.weather, demo_home.timeline), rounds=10)
    if judged(benchmark):
        assert median_of(benchmark) <= TWO_CURVES_S


def seconds(call: Callable[[], object]) -> float:
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def process(*words: str) -> Callable[[], object]:
    return lambda: subprocess.run([sys.executable, *words], check=True, capture_output=True)


def ratio_of(benchmark: BenchmarkFixture, ours: Callable[[], object], other: Callable[[], object]) -> float:
    """Median ratio of processes run turn by turn."""
    ours()
    ratios = [seconds(ours) / seconds(other) for _ in range(9 if judged(benchmark) else 1)]
    benchmark.pedantic(ours, rounds=2)
    benchmark.extra_info["ratio"] = statistics.median(ratios)
    return statistics.median(ratios)


def test_compare_as_a_process_takes_at_most_1_6_times_its_imports(benchmark: BenchmarkFixture) -> None:
    ratio = ratio_of(benchmark, process("-m", "solarsim", "compare"), process("-c", "import pvlib, pandas, numba"))
    if judged(benchmark):
        assert ratio <= COMPARE_RATIO


def test_weather_as_a_process_takes_at_most_1_6_times_its_imports(benchmark: BenchmarkFixture) -> None:
    ratio = ratio_of(benchmark, process("-m", "solarsim", "weather"), process("-c", "import pvlib, pandas"))
    if judged(benchmark):
        assert ratio <= COMPARE_RATIO


def test_year_from_monthly_means_takes_at_most_0_3_s(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    home = home_of(means_of(demo_home.weather))
    benchmark.pedantic(weather_for, (home, demo_home.timeline), rounds=10)
    if judged(benchmark):
        assert median_of(benchmark) <= MONTHLY_S


def test_help_takes_at_most_3_times_importing_typer(benchmark: BenchmarkFixture) -> None:
    ratio = ratio_of(benchmark, process("-m", "solarsim", "--help"), process("-c", "import typer"))
    if judged(benchmark):
        assert ratio <= HELP_RATIO


def test_first_run_on_a_machine_takes_at_most_6_s_more(
    benchmark: BenchmarkFixture, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    compare = process("-m", "solarsim", "compare")
    first: list[float] = []
    for _ in range(2 if judged(benchmark) else 1):
        monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path_factory.mktemp("cache")))
        first.append(seconds(compare))
    benchmark.pedantic(compare, rounds=2)
    if judged(benchmark):
        benchmark.extra_info["first run more [s]"] = min(first) - median_of(benchmark)
        assert min(first) - median_of(benchmark) <= FIRST_RUN_EXTRA_S
