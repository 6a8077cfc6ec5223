"""What no sky does: limits and words. Each fault goes through the command in ``tests/cli/test_faulty_files.py``."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from solarsim.errors import WeatherError
from solarsim.weather._faults import check_year, faults_of
from solarsim.weather.label_check import label_offset_min
from solarsim.weather.typical_year import Weather
from tests.open_data import ACCIM, DIYEPW, PVLIB_SOURCE, open_data
from tests.weather.test_read import GREENSBORO, read

MARCH = 59 * 24  # 00:00 on 1 March
GOOD = {
    "Chicago": (DIYEPW, "USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw", "epw"),
    "Northway": (DIYEPW, "USA_AK_Northway.AP.702910_TMY3.epw", "epw"),  # wind constant for 206 h, temperature for 32 h
    "Sydney": (ACCIM, "parametric_and_optimisation_examples/Sydney.epw", "epw"),
    "Amsterdam": (PVLIB_SOURCE, "tests/data/NLD_Amsterdam062400_IWEC.epw", "epw"),
    "Aberdeen": (ACCIM, "rename_epw_files/GBR_Aberdeen.Dyce.030910_IWEC.epw", "epw"),
    "Palmas": (ACCIM, "full_example_IBPSA/Current_GC20_Palmas.epw", "epw"),
}


@pytest.fixture(scope="module")
def good() -> Weather:
    return read(GREENSBORO, "tmy3")


def doubts(weather: Weather) -> list[tuple[str, bool]]:
    return [(fault.words, fault.usable) for fault in faults_of(weather, label_offset_min(weather) or 0)]


def changed(weather: Weather, first: int, last: int, **values: Any) -> Weather:
    """Set columns from one hour up to another: to a value, or to what a function makes of them."""
    columns = {}
    for name, value in values.items():
        column = getattr(weather, name).copy()
        column[first:last] = value(column[first:last]) if callable(value) else value
        columns[name] = column
    return replace(weather, **columns)


@pytest.mark.published
@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv", "12839.tm2"])
def test_packaged_years_have_no_faults(name: str) -> None:
    """US Department of Energy's typical years in pvlib: no fault is found in them."""
    assert read(GREENSBORO.with_name(name), "tm2" if name.endswith("tm2") else "tmy3").notes == ()


@pytest.mark.published
@pytest.mark.parametrize("case", GOOD.values(), ids=list(GOOD))
def test_good_real_years_have_no_faults(case: Any) -> None:
    """Real EPW files of the packages diyepw and accim-samples: no fault is found in them."""
    package, name, kind = case
    assert read(open_data(package, name), kind).notes == ()


@pytest.mark.published
def test_faults_of_a_real_year_are_named() -> None:
    """An EPW of Seville in ``accim-samples``: an hour off, and light at night on 55 hours, up to 107 W/m2."""
    weather = read(open_data(ACCIM, "parametric_and_optimisation_examples/Seville.epw"), "epw")
    assert [note.partition(": ")[2][:40] for note in weather.notes] == [
        "is not UTF-8; it was read as latin-1",
        "the sun is +60 min off the file's clock:",
        "has sun at night, up to 107 W/m2 in 55 h",
    ]


@pytest.mark.by_hand
def test_just_below_each_limit_nothing_is_said(good: Weather) -> None:
    """5 h of one irradiance, 71 h of one temperature, 13 days and 23 hours of one wind, 23 hours of dark daylight."""
    year = changed(good, MARCH + 8, MARCH + 13, ghi_w_m2=461.0, dni_w_m2=0.0, dhi_w_m2=461.0)
    year = changed(year, MARCH, MARCH + 71, temp_air_c=20.0)
    year = changed(year, MARCH, MARCH + 335, wind_speed_m_s=2.0)
    year = changed(year, 100 * 24, 102 * 24 - 7, ghi_w_m2=0.0, dni_w_m2=0.0, dhi_w_m2=0.0)
    assert doubts(year) == []


def test_many_stretches_are_counted_and_the_last_is_named(good: Weather) -> None:
    stuck = good
    for day in range(5):
        at = MARCH + 24 * day + 8
        stuck = changed(stuck, at, at + 6, ghi_w_m2=400.0, dhi_w_m2=400.0, dni_w_m2=0.0)
    (words, *_) = (words for words, _ in doubts(stuck))
    assert "in 30 hours" in words
    assert words.endswith("from 3 March 08:00 to 3 March 14:00, and 2 more up to 5 March 14:00")


def test_what_cannot_be_used_is_refused_with_each_reason(good: Weather) -> None:
    bad = replace(good, temp_air_c=np.full(8760, 20.0), wind_speed_m_s=np.zeros(8760))
    with pytest.raises(WeatherError, match="sky: temp_air_c does not change") as refused:
        check_year(bad, 0, "sky")
    assert len(refused.value.problems) == 1  # wind alone is a note
    calm = replace(good, wind_speed_m_s=np.zeros(8760))
    (note,) = check_year(calm, 0, "sky")
    assert note.startswith("sky: wind_speed_m_s does not change")
