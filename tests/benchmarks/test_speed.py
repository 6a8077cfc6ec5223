"""The stated speeds of the engine, of production, of weather and of whole processes, each as a ratio to a yardstick."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pvlib import location, modelchain, pvsystem
from pvlib.temperature import TEMPERATURE_MODEL_PARAMETERS
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.engine.year import HOUR_COLUMNS
from solarsim.home import Home
from solarsim.production.dc_power import dc_power
from solarsim.run import close_year
from solarsim.weather.source import weather_for
from tests.benchmarks.yardstick import ENGINE_RATIO, assert_ratio, bare_loop, engine_year, process
from tests.roofs import roof, strings
from tests.weather.means import home_of, means_of

BILLED_RATIO = 1.85
WHOLE_RATIO = 10.0
PROCESS_RATIO = 1.6
MONTHLY_RATIO = 1.0
HELP_RATIO = 2.0
FIRST_RUN_RATIO = 5.5
CURVES_RATIO = 4.0


@pytest.mark.parametrize("number", range(5))
def test_engine_against_a_bare_loop(benchmark: BenchmarkFixture, demo_home: Home, number: int) -> None:
    year = engine_year(demo_home, demo_home.scenario.strategies[number].name)
    assert_ratio(benchmark, year, bare_loop(), ENGINE_RATIO)


def test_billed_year_against_the_engine_alone(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    """Engine, sums and the bill to the cent, as a life needs them."""
    name, table = "winter night charge", np.empty((8760, len(HOUR_COLUMNS)))
    start_soc = close_year(demo_home, name).start_soc

    def billed() -> object:
        return close_year(demo_home, name, start_soc, table).bill.total

    assert_ratio(benchmark, billed, engine_year(demo_home, name), BILLED_RATIO)


def test_months_and_lines_against_the_engine_alone(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    """Everything that the commands show of a year."""

    def whole() -> object:
        ledger = close_year(demo_home, "winter night charge")
        return ledger.monthly_kwh, ledger.bill.lines, ledger.balance_error_kw, ledger.peak_import_kw

    assert_ratio(benchmark, whole, engine_year(demo_home, "winter night charge"), WHOLE_RATIO)


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
    def ours() -> object:
        return dc_power(demo_home.scenario, demo_home.weather, demo_home.timeline)

    assert_ratio(benchmark, ours, model_chain(demo_home), 1.0)


@pytest.mark.filterwarnings("ignore")  # of pvlib's own chain
def test_two_arrays_of_curves_against_pvlib_s_chain_of_two_rated_arrays(
    benchmark: BenchmarkFixture, demo_home: Home
) -> None:
    """Two unlike strings with cables on one input: each curve by itself, and their sum."""
    cable = {"one_way_m": 20.0, "awg": "10"}
    unlike = [strings(cable=cable), strings(name="west", modules_in_series=8, azimuth_deg=270.0, cable=cable)]
    home = roof(*unlike)

    def ours() -> object:
        return dc_power(home, demo_home.weather, demo_home.timeline)

    assert_ratio(benchmark, ours, model_chain(demo_home), CURVES_RATIO)


def test_year_from_monthly_means_against_reading_a_file(benchmark: BenchmarkFixture, demo_home: Home) -> None:
    home = home_of(means_of(demo_home.weather))

    def ours() -> object:
        return weather_for(home, demo_home.timeline)

    def reading() -> object:
        return weather_for(demo_home.scenario, demo_home.timeline)

    assert_ratio(benchmark, ours, reading, MONTHLY_RATIO)


@pytest.mark.parametrize(
    ("command", "imports", "limit"),
    [
        ("compare", "pvlib, pandas, numba", PROCESS_RATIO),
        ("weather", "pvlib, pandas", PROCESS_RATIO),
        ("--help", "typer", HELP_RATIO),
    ],
)
def test_process_against_its_imports(benchmark: BenchmarkFixture, command: str, imports: str, limit: float) -> None:
    ours, bare = process("-m", "solarsim", command), process("-c", f"import {imports}")
    assert_ratio(benchmark, ours, bare, limit, rounds=20)


def test_first_run_on_a_machine_against_one_that_compiles_a_bare_loop(
    benchmark: BenchmarkFixture, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    compare = process("-m", "solarsim", "compare")
    loop = process("-c", "from tests.benchmarks.yardstick import bare_loop; bare_loop()()")

    def first() -> Path:
        cache = tmp_path_factory.mktemp("cache")
        monkeypatch.setenv("NUMBA_CACHE_DIR", str(cache))
        compare()
        return cache

    assert_ratio(benchmark, first, loop, FIRST_RUN_RATIO, rounds=8)
