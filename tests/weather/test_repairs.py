"""What is repaired in a weather file, and what the repair says."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from solarsim.errors import WeatherError
from solarsim.scenario.read import packaged_folder
from tests.weather.test_read import GREENSBORO, PLACE, chicago, plain_csv, read, written

pytestmark = pytest.mark.by_hand

Change = Callable[[list[str]], list[str]]


def field(lines: list[str], line: int, place: int, value: str) -> None:
    fields = lines[line].split(",")
    fields[place] = value
    lines[line] = ",".join(fields)


def header(*numbers: str) -> Change:
    return lambda lines: [",".join([*lines[0].split(",")[:6], *numbers]), *lines[1:]]


def test_comma_in_a_quoted_name_is_no_field(tmp_path: Path) -> None:
    lines = chicago().splitlines()
    field(lines, 0, 1, '"Chicago, O\'Hare"')
    weather = read(written(tmp_path, "\n".join(lines)), "epw")
    assert weather.place.startswith("Chicago  O'Hare")
    assert weather.latitude_deg == 41.983


@pytest.mark.parametrize("code", ["99.9", ""])
def test_short_gap_of_temperature_is_bridged_and_said(tmp_path: Path, code: str) -> None:
    """Hours 2 to 5 between 1.0 and 6.0 C become 2, 3, 4, 5 C."""
    lines = chicago().splitlines()
    for line, value in zip(range(8, 14), ["1.0", code, code, code, code, "6.0"], strict=True):
        field(lines, line, 6, value)
    weather = read(written(tmp_path, "\n".join(lines)), "epw")
    assert weather.temp_air_c[:6] == pytest.approx([1, 2, 3, 4, 5, 6])
    assert weather.notes == (f"{tmp_path}/year.epw: temp_air_c was missing in 4 hours; filled by straight lines",)


def test_gap_at_new_year_is_bridged_around_it(tmp_path: Path) -> None:
    lines = chicago().splitlines()
    for line, value in ((-2, "4.0"), (-1, "999"), (8, "999"), (9, "7.0")):
        field(lines, line, 21, value)
    assert read(written(tmp_path, "\n".join(lines)), "epw").wind_speed_m_s[[-1, 0]] == pytest.approx([5, 6])


def test_gap_of_irradiance_is_refused_and_a_bright_hour_of_999_is_none(tmp_path: Path) -> None:
    lines = chicago().splitlines()
    field(lines, 20, 13, "999")
    assert read(written(tmp_path, "\n".join(lines)), "epw").ghi_w_m2[12] == 999.0
    field(lines, 20, 14, "9999")
    with pytest.raises(WeatherError, match="dni_w_m2 is missing in 1 hour, first in hour 13 of the year"):
        read(written(tmp_path, "\n".join(lines)), "epw")


def test_months_tell_the_years_they_were_taken_from(tmp_path: Path) -> None:
    """What stands at the tenth day of some months in the files' own rows."""
    greensboro = read(GREENSBORO, "tmy3").year_of_month
    rows = GREENSBORO.read_text().splitlines()[2:]
    assert len(greensboro) == 12
    assert greensboro[0] == int(rows[240].split(",")[0][-4:])
    assert greensboro[11] == int(rows[-240].split(",")[0][-4:])
    tm2 = packaged_folder("weather_samples") / "12839.tm2"
    assert read(tm2, "tm2").year_of_month[1] == 1900 + int(tm2.read_text().splitlines()[1 + 31 * 24 + 240][1:3])
    lines = chicago().splitlines()
    assert read(written(tmp_path, "\n".join(lines)), "epw").year_of_month[0] == int(lines[8 + 216].split(",")[0])
    lines[8 + 216] = "?" + lines[8 + 216]
    assert read(written(tmp_path, "\n".join(lines)), "epw").year_of_month == ()


def timed(year: int, rows: int, offset: str = "", start: int = 0) -> Iterator[str]:
    for hour in range(rows):
        yield (datetime(year, 1, 1) + timedelta(hours=hour + start)).isoformat(timespec="minutes") + offset


def with_time(times: list[str]) -> str:
    head, *rows = plain_csv().splitlines()
    rows = [*rows, *rows[: len(times) - len(rows)]]
    return "\n".join([f"time,{head}", *(f"{time},{row}" for time, row in zip(times, rows, strict=True))]) + "\n"


@pytest.mark.parametrize("offset", ["", "-05:00"])
def test_time_of_a_plain_csv_names_its_year(tmp_path: Path, offset: str) -> None:
    path = written(tmp_path, with_time(list(timed(2019, 8760, offset))))
    weather = read(path, "csv")
    assert weather.year_of_month == (2019,) * 12
    assert weather.notes == ()


def test_leap_year_of_a_plain_csv_loses_its_29_february(tmp_path: Path) -> None:
    """Row 60 x 24 is the first hour of 1 March: it follows the last of 28 February."""
    times = list(timed(2020, 8784))
    weather = read(written(tmp_path, with_time(times)), "csv")
    assert weather.notes == (f"{tmp_path}/year.epw: 29 February was dropped",)
    plain = read(GREENSBORO, "tmy3")
    np.testing.assert_array_equal(weather.temp_air_c[59 * 24 :][:48], plain.temp_air_c[60 * 24 :][:48])
    without = [time for time in times if "-02-29" not in time]
    assert read(written(tmp_path, with_time(without)), "csv").notes == ()


@pytest.mark.parametrize(
    ("times", "told"),
    [
        (list(timed(2019, 8760, start=1)), "line 2: time is '2019-01-01T01:00', must be 2019-01-01T00:00: rows are"),
        (list(timed(2019, 8760, "Z")), "time is '2019-01-01T00:00Z', but the clock of weather.place is UTC-5 h"),
        (["1/1/2019 0:00", *list(timed(2019, 8759))], "line 2: time is '1/1/2019 0:00', must be like 2019-01-01T00:00"),
        ([*timed(2019, 2000), *timed(2019, 6760, start=2001)], "line 2002: time is .2019-03-25T09:00., must be"),
        ([*timed(2019, 7000), *timed(2019, 1760, start=6999)], "line 7002: time is .2019-10-19T15:00., must be"),
    ],
    ids=["end of the hour", "another clock", "no date that is known", "hour missing in spring", "hour twice in autumn"],
)  # fmt: skip
def test_times_that_are_no_year_in_a_fixed_clock_are_refused(tmp_path: Path, times: list[str], told: str) -> None:
    with pytest.raises(WeatherError, match=told.replace("(", ".")):
        read(written(tmp_path, with_time(times)), "csv")


TM2 = packaged_folder("weather_samples") / "12839.tm2"
TM2_GHI, TM2_DATE = slice(17, 21), slice(1, 9)


def changed(path: Path, line: int, value: str, places: slice | None = None) -> str:
    """Replace one line of a file, counted from 1, or some of its characters."""
    lines = path.read_text().splitlines()
    old = lines[line - 1]
    lines[line - 1] = value if places is None else old[: places.start] + value + old[places.stop :]
    return "\n".join(lines) + "\n"


def test_gap_of_wind_in_tm2_is_bridged(tmp_path: Path) -> None:
    path = written(tmp_path, changed(TM2, 50, "999", slice(95, 98)))
    assert read(path, "tm2").notes == (f"{path}: wind_speed_m_s was missing in 1 hour; filled by straight lines",)


@pytest.mark.parametrize(
    ("line", "value", "places", "told"),
    [
        (1, " 12839 MIAMI", None, "is not a TM2 file: line 1 must be station, place"),
        (1, " 12839 MIAMI  FL  -5 Q 25 48 W  80 16     2", None, "is not a TM2 file: line 1 must be station"),
        (1, " 12839 MIAMI  FL  xx N 25 48 W  80 16     2", None, "line 1: UTC offset is 'xx', must be a number"),
        (1, " 12839 MIAMI  FL  -5 N 95 48 W  80 16     2", None, "latitude_deg is 95.8, must be from -90"),
        (101, "", None, "has 8759 hours, a typical year has 8760 .cut short"),
        (101, " 620105040000", None, "line 101: ghi_w_m2 is '', must be a whole number"),
        (101, "12x4", TM2_GHI, "line 101: ghi_w_m2 is '12x4', must be a whole number"),
        (101, "9999", TM2_GHI, "ghi_w_m2 is missing in 1 hour, first in hour 100 of the year"),
        (101, "1600", TM2_GHI, "ghi_w_m2 is 1600 in hour 100 of the year, must be from 0 to 1500"),
        (101, "62010604", TM2_DATE, "row 100 is out of order: it is labeled month 1, day 6, hour 4, must be month 1"),
    ],
)
def test_tm2_that_cannot_be_mended_is_refused_by_its_line(
    tmp_path: Path, line: int, value: str, places: slice | None, told: str
) -> None:
    with pytest.raises(WeatherError, match=told):
        read(written(tmp_path, changed(TM2, line, value, places)), "tm2")


@pytest.mark.parametrize(
    ("place", "value", "told"),
    [
        (0, "13/45/2001", "line 101 is labeled '13/45/2001', '03:00', must be like '01/31/1988', '14:00'"),
        (1, "three", "line 101 is labeled '01/05/1988', 'three', must be like"),
        (1, "04:00", "row 99 is out of order"),
        (4, "-9900", "ghi_w_m2 is missing in 1 hour, first in hour 99"),
    ],
)
def test_tmy3_that_cannot_be_mended_is_refused_by_its_line(tmp_path: Path, place: int, value: str, told: str) -> None:
    lines = GREENSBORO.read_text().splitlines()
    field(lines, 100, place, value)
    with pytest.raises(WeatherError, match=told):
        read(written(tmp_path, "\n".join(lines)), "tmy3")


def test_tmy3_without_dates_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path, GREENSBORO.read_text().replace("Date (MM/DD/YYYY)", "Day", 1))
    with pytest.raises(WeatherError, match=r"has no column 'Date \(MM/DD/YYYY\)'"):
        read(path, "tmy3")


@pytest.mark.parametrize(
    ("place", "value", "told"),
    [
        (1, "13", "row 993 is out of order: it is labeled month 13, day 11, hour 9, must be month 2, day 11, hour 9"),
        (3, "25", "row 993 is out of order: it is labeled month 2, day 11, hour 25"),
        (2, "x", "a row begins with '1977,2,x,9,0.*', must begin with year, month, day and hour"),
        (5, '"', "line 1001 has a quotation mark; remove it"),
    ],
)
def test_epw_with_wrong_labels_is_refused_by_its_row(tmp_path: Path, place: int, value: str, told: str) -> None:
    lines = chicago().splitlines()
    field(lines, 1000, place, value)
    with pytest.raises(WeatherError, match=told):
        read(written(tmp_path, "\n".join(lines)), "epw")


@pytest.mark.second_opinion
@pytest.mark.filterwarnings("ignore")  # pvlib's own, of pandas to come
def test_tm2_is_read_as_pvlib_reads_it() -> None:
    from pvlib import iotools

    frame, header = iotools.read_tmy2(TM2)
    ours = read(TM2, "tm2")
    for name, column, parts in (
        ("ghi_w_m2", "GHI", 1), ("dni_w_m2", "DNI", 1), ("dhi_w_m2", "DHI", 1),
        ("temp_air_c", "DryBulb", 10), ("wind_speed_m_s", "Wspd", 10),
    ):  # fmt: skip
        np.testing.assert_array_equal(getattr(ours, name), frame[column].to_numpy() / parts)
    assert (ours.latitude_deg, ours.longitude_deg) == (header["latitude"], header["longitude"])
    assert ours.place == "Miami, FL"


def test_place_of_the_helper_is_that_of_the_file() -> None:
    weather = read(GREENSBORO, "tmy3")
    assert {key: getattr(weather, key) for key in PLACE} == PLACE
