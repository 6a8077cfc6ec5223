"""Three ways to describe one module, and the module table."""

import numpy as np
import pytest

from solarsim.errors import ScenarioError, UnknownNameError
from solarsim.home import Home
from solarsim.production._modules import known_module, string_problems
from solarsim.production.dc_power import dc_power
from solarsim.production.module_table import closest_rows, matching_rows, row_of, table_rows
from solarsim.production.string_voltage import ColdestHour, coldest_hour
from solarsim.scenario.read import packaged_folder
from solarsim.scenario.roof.roof import DATASHEET, Array, DcInput, ListedModule, Module
from solarsim.scenario.site import WeatherFile
from solarsim.weather.read import read_weather
from solarsim.weather.typical_year import Weather
from tests.builders import PLAIN, scenario, timeline
from tests.roofs import INPUT, MODULE, strings

WEATHER = {"723170TYA.CSV": ("tmy3", "America/New_York"), "12839.tm2": ("tm2", "America/New_York"),
           "703165TY.csv": ("tmy3", "America/Anchorage")}  # fmt: skip
WIDE = {**INPUT, "mppt_min_v": 10.0, "start_v": 10.0, "mppt_max_v": 1500.0, "max_v": 1500.0}


def three_ways(row: ListedModule, weather: Weather, zone: str) -> list[float]:
    """Year's energy of eight modules for a kW, as a row, from its datasheet values, and by rating alone."""
    where = timeline(zone)
    sheet = {"name": "mine", **{key: getattr(row, key) for key in DATASHEET}}
    rated = {**PLAIN["arrays"][0], "module_w": row.w, "temperature_coefficient_per_c": row.p_mp_per_c}
    homes = [
        *(
            scenario(modules=[kind], arrays=[strings(modules_in_series=8)], inverter__inputs=[WIDE])
            for kind in ({"name": "mine", "table_row": row.name}, sheet)
        ),
        scenario(arrays=[{**rated, "modules_in_series": 8}], inverter__inputs=[{"max_kw": 50.0}]),
    ]
    return [found.dc_kw.sum() / found.rated_kw for found in (dc_power(home, weather, where) for home in homes)]


@pytest.mark.second_opinion
@pytest.mark.parametrize("file", WEATHER)
def test_three_ways_agree_within_4_percent_a_year(file: str) -> None:
    """Four silicon modules drawn with a fixed seed, in each of three climates.

    The rating knows no weak light and no leak; the table's own parameters do.
    """
    kind, zone = WEATHER[file]
    weather = read_weather(
        packaged_folder("weather_samples") / file, WeatherFile.model_validate({"file": file, "format": kind})
    )
    silicon = [row for row in table_rows() if "c-Si" in row.technology and row.w > 200]
    for place in np.random.default_rng(7).choice(len(silicon), 4, replace=False):
        row, sheet, rating = three_ways(silicon[place], weather, zone)
        assert max(row, sheet, rating) / min(row, sheet, rating) - 1 < 0.04, silicon[place].name


def test_part_of_a_name_finds_its_row_whatever_its_signs_and_capitals() -> None:
    assert [row.name for row in matching_rows("cs6k 300ms")] == ["Canadian Solar Inc. CS6K-300MS"]
    assert row_of("Canadian Solar Inc. CS6K-300M").name == "Canadian Solar Inc. CS6K-300M"  # though 300MS holds it
    assert {row.name for row in matching_rows("cs6k-300m")} > {"Canadian Solar Inc. CS6K-300MS"}


def test_every_row_is_found_by_its_own_name() -> None:
    rows = table_rows()
    assert len({row.name for row in rows}) == len(rows)
    for row in (rows[0], max(rows, key=lambda each: len(each.name)), rows[-1]):
        assert row_of(row.name) is row
        Module(name="mine", table_row=row.name)


def test_misspelled_name_is_answered_with_the_closest() -> None:
    assert closest_rows("SunPowr SPR-X22-360")[0].name == "SunPower SPR-X22-360"
    with pytest.raises(UnknownNameError, match=r"in no name of the module table; closest: 'SunPower SPR-X22-360'"):
        row_of("SunPowr SPR-X22-360")
    with pytest.raises(UnknownNameError, match=r"'CS6K' is in \d+ names of the module table, must be in one"):
        row_of("CS6K")


@pytest.mark.by_hand
def test_module_knows_its_power() -> None:
    known = known_module(Module.model_validate(MODULE))
    assert known.w == pytest.approx(31.2 * 13.15)
    assert known.row is None
    assert known_module(Module(name="x", table_row="cs6k 300ms")).row == "Canadian Solar Inc. CS6K-300MS"


def test_impossible_datasheet_is_refused_by_name() -> None:
    with pytest.raises(ScenarioError, match=r"'mine': no cell has these values together \(they fill 97%"):
        known_module(Module.model_validate({**MODULE, "v_mp_v": 36.8, "i_mp_a": 13.6}))


def test_ten_modules_as_curve_and_as_rating_bring_nearly_the_same(demo_home: Home) -> None:
    curve = scenario(modules=[MODULE], arrays=[strings()], inverter__inputs=[INPUT])
    rating = {**PLAIN["arrays"][0], "module_w": 31.2 * 13.15, "temperature_coefficient_per_c": -0.0034}
    one, other = (
        dc_power(home, demo_home.weather, demo_home.timeline).dc_kw.sum() for home in (curve, scenario(arrays=[rating]))
    )
    assert one == pytest.approx(other, rel=0.02)


def _problems(count: int, cold: ColdestHour, **limits: float) -> list[str]:
    """Check a string of the example's module at an input of 600 V."""
    module = known_module(Module.model_validate({**MODULE, "v_oc_v": 49.5, "v_mp_v": 41.6, "v_oc_per_c": -0.0027}))
    array = Array.model_validate(strings(modules_in_series=count))
    return string_problems(array, module, DcInput.model_validate({**INPUT, "max_v": 600.0, **limits}), cold)


@pytest.mark.published
def test_cold_string_voltage_is_that_of_the_code_example() -> None:
    """NEC 690.7, worked example, secondary copy: 49.5 V, -0.27%/C, -10 C make 54.18 V; 11 modules at 600 V."""
    cold = ColdestHour(-10.0, "site.design_low_c")
    assert _problems(11, cold) == []
    (told,) = _problems(12, cold)
    assert told == (
        "arrays: 'roof': 12 modules in series make 650 V without load at -10 C (site.design_low_c), above max_v 600 of"
        " input 1: that destroys the inverter; at most 11"
    )


@pytest.mark.by_hand
def test_advice_never_exceeds_the_input_in_the_cold() -> None:
    """Twelve modules would reach 590 V at 25 C (594 V), and 650 V at -10 C, above the limit of 600 V."""
    cold = ColdestHour(-10.0, "site.design_low_c")
    assert _problems(3, cold, start_v=160.0)[0].endswith("below start_v 160 of input 1: it never starts; at least 4")
    assert _problems(3, cold, start_v=590.0)[0].endswith("it never starts; but 12 exceed max_v 600 in the cold")
    assert _problems(1, cold, max_v=50.0, start_v=40.0, mppt_min_v=20.0, mppt_max_v=45.0)[0].endswith(
        "that destroys the inverter; not even one of these modules is allowed"
    )


@pytest.mark.by_hand
def test_coldest_hour_is_the_design_temperature_or_the_lowest_of_the_year(demo_home: Home) -> None:
    """Nights included: the coldest hour of a year is before sunrise."""
    site, air_c = demo_home.scenario.site, demo_home.weather.temp_air_c
    assert coldest_hour(site.model_copy(update={"design_low_c": None}), air_c).air_c == air_c.min()
    assert coldest_hour(site.model_copy(update={"design_low_c": -17.0}), air_c) == (-17.0, "site.design_low_c")
