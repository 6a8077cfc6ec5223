"""What no sky does: each fault made from a good year, and every good year without a word."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from solarsim.errors import WeatherError
from solarsim.weather._faults import check_year, faults_of
from solarsim.weather.label_check import label_offset_min
from solarsim.weather.typical_year import PLAUSIBLE, Weather
from tests.open_data import ACCIM, DIYEPW, PVLIB_SOURCE, open_data
from tests.weather.test_read import GREENSBORO, read

Floats = NDArray[np.float64]
HOUR = np.arange(8760)
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
def test_packaged_years_pass_without_a_word(name: str) -> None:
    assert read(GREENSBORO.with_name(name), "tm2" if name.endswith("tm2") else "tmy3").notes == ()


@pytest.mark.published
@pytest.mark.parametrize("case", GOOD.values(), ids=list(GOOD))
def test_good_real_years_pass_without_a_word(case: Any) -> None:
    package, name, kind = case
    assert read(open_data(package, name), kind).notes == ()


@pytest.mark.published
def test_a_real_year_with_faults_passes_with_them_named() -> None:
    """An EPW of Seville in ``accim-samples``: an hour off, and light at night on 55 hours, up to 107 W/m2."""
    weather = read(open_data(ACCIM, "parametric_and_optimisation_examples/Seville.epw"), "epw")
    assert [note.partition(": ")[2][:40] for note in weather.notes] == [
        "is not UTF-8; it was read as latin-1",
        "the sun is +60 min off the file's clock:",
        "has sun at night, up to 107 W/m2 in 55 h",
    ]


#: What is done to the good year; what the fault says; whether the year can be used.
FAULTS: dict[str, tuple[Callable[[Weather], Weather], list[str], bool]] = {
    "sun of one night": (
        lambda year: changed(year, MARCH, MARCH + 2, ghi_w_m2=300.0, dhi_w_m2=300.0),
        ["has sun at night, up to 300 W/m2 in 2 hours", "from 1 March 00:00 to 1 March 02:00"],
        True,
    ),
    "sun of the other half of the day": (
        lambda year: replace(year, **{name: np.roll(getattr(year, name), 12) for name in PLAUSIBLE}),
        ["has sun at night", "check its clock (UTC-5 h), its longitude (-79.95)"],
        False,
    ),
    "two dark days": (
        lambda year: changed(year, MARCH, MARCH + 72, ghi_w_m2=0.0, dni_w_m2=0.0, dhi_w_m2=0.0),
        ["ghi_w_m2 has no sun in", "hours of daylight, from 1 March 07:00 to 3 March 18:00"],
        True,
    ),
    "three dark months": (
        lambda year: changed(year, 273 * 24, 8760, **dict.fromkeys(PLAUSIBLE, 0.0)),
        ["ghi_w_m2 has no sun in", "hours of daylight, from 1 October 07:00 to 31 December 17:00"],
        False,
    ),
    "a dark sensor that is off by 1 W/m2": (
        lambda year: changed(year, 273 * 24, 8760, ghi_w_m2=1.0, dni_w_m2=0.0, dhi_w_m2=1.0),
        ["ghi_w_m2 has no sun in", "from 1 October"],
        False,
    ),
    "irradiance stuck for 8 hours": (
        lambda year: changed(year, MARCH + 8, MARCH + 16, ghi_w_m2=461.0, dni_w_m2=0.0, dhi_w_m2=461.0),
        ["ghi_w_m2 does not change in 8 hours (461 W/m2), from 1 March 08:00 to 1 March 16:00"],
        True,
    ),
    "irradiance stuck day and night": (
        lambda year: changed(year, MARCH, MARCH + 240, ghi_w_m2=461.0, dni_w_m2=0.0, dhi_w_m2=461.0),
        ["ghi_w_m2 does not change in 240 hours (461 W/m2), from 1 March 00:00 to 10 March 24:00"],
        False,
    ),
    "direct irradiance stuck": (
        lambda year: changed(year, MARCH + 8, MARCH + 15, dni_w_m2=400.0),
        ["dni_w_m2 does not change in 7 hours (400 W/m2)"],
        True,
    ),
    "temperature of three days": (
        lambda year: changed(year, MARCH, MARCH + 72, temp_air_c=20.0),
        ["temp_air_c does not change for up to 72 hours (20 C), from 1 March 00:00 to 3 March 24:00"],
        True,
    ),
    "temperature of a year": (
        lambda year: replace(year, temp_air_c=np.full(8760, 20.0)),
        ["temp_air_c does not change for up to 8,760 hours (20 C), from 1 January 00:00 to 31 December 24:00"],
        False,
    ),
    "still air of 14 days": (
        lambda year: changed(year, MARCH, MARCH + 336, wind_speed_m_s=0.0),
        ["wind_speed_m_s does not change for 14 days and more (0 m/s), from 1 March 00:00 to 14 March 24:00"],
        True,
    ),
    "kilowatts": (
        lambda year: replace(year, ghi_w_m2=year.ghi_w_m2 / 500, dni_w_m2=year.dni_w_m2 / 500,
                             dhi_w_m2=year.dhi_w_m2 / 500),
        ["ghi_w_m2 has no sun in"],
        False,
    ),
    "a fifth": (  # a clearness of 0.1: doubtful, and just possible
        lambda year: replace(year, ghi_w_m2=year.ghi_w_m2 / 5, dni_w_m2=year.dni_w_m2 / 5,
                             dhi_w_m2=year.dhi_w_m2 / 5),
        ["12 months have more or less sun than is likely at a latitude of 36.1, from 1 January 00:00 to 31 December"],
        True,
    ),
    "the other hemisphere": (
        lambda year: replace(year, latitude_deg=-55.0),
        ["months have more or less sun than is likely at a latitude of -55", "the sign of the latitude"],
        False,
    ),
    "global and direct exchanged": (
        lambda year: replace(year, ghi_w_m2=year.dni_w_m2, dni_w_m2=year.ghi_w_m2),
        ["ghi_w_m2 and dni_w_m2 seem to be exchanged from 1 January 00:00 to 31 December 24:00"],
        False,
    ),
    "global and diffuse exchanged": (
        lambda year: replace(year, ghi_w_m2=year.dhi_w_m2, dhi_w_m2=year.ghi_w_m2),
        ["ghi_w_m2 and dhi_w_m2 seem to be exchanged"],
        False,
    ),
    "direct and diffuse exchanged": (
        lambda year: replace(year, dni_w_m2=year.dhi_w_m2, dhi_w_m2=year.dni_w_m2),
        ["dni_w_m2 and dhi_w_m2 seem to be exchanged"],
        False,
    ),
    "no direct sun in summer": (
        lambda year: changed(year, 151 * 24, 243 * 24, dni_w_m2=0.0),
        ["ghi_w_m2 is not dhi_w_m2 + dni_w_m2 x cos(zenith)", "from 1 June 00:00 to 31 August 24:00"],
        True,
    ),
    "no direct sun at all": (
        lambda year: replace(year, dni_w_m2=np.zeros(8760)),
        ["ghi_w_m2 is not dhi_w_m2 + dni_w_m2 x cos(zenith)", "a column of irradiance is wrong"],
        False,
    ),
}  # fmt: skip


@pytest.mark.by_hand
@pytest.mark.parametrize("case", FAULTS.values(), ids=list(FAULTS))
def test_a_fault_is_named_with_its_hours(good: Weather, case: Any) -> None:
    make, says, usable = case
    found = doubts(make(good))
    assert any(all(piece in words for piece in says) for words, _ in found), found
    assert all(can for _, can in found) == usable, found
    assert max(len(words) for words, _ in found) < 450


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
