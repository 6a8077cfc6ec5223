"""Weather files as they come: read, repaired with a message, or refused with a reason."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from solarsim.errors import WeatherError
from solarsim.home import Home
from solarsim.scenario.read import packaged_folder
from solarsim.scenario.site import WeatherFile
from solarsim.weather._formats.plain_csv import CSV_COLUMNS
from solarsim.weather._repairs import check_values
from solarsim.weather.read import read_weather
from solarsim.weather.typical_year import Weather
from tests.open_data import DIYEPW, open_data

PLACE = {"latitude_deg": 36.1, "longitude_deg": -79.95, "elevation_m": 273.0, "utc_offset_h": -5.0}
GREENSBORO = packaged_folder("weather_samples") / "723170TYA.CSV"


def read(path: Path, kind: str) -> Weather:
    place = PLACE if kind == "csv" else None
    return read_weather(path, WeatherFile.model_validate({"file": path.name, "format": kind, "place": place}))


def chicago() -> str:
    return open_data(DIYEPW, "USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw").read_text("latin-1")


def written(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    path = folder / "year.epw"
    path.write_bytes(text.encode(encoding))
    return path


def plain_csv(share: float = 1.0) -> str:
    """Write Greensboro's year as a CSV, with so much of its irradiance."""
    weather = read(GREENSBORO, "tmy3")
    table = np.column_stack([getattr(weather, name) * (share if "_w_" in name else 1.0) for name in CSV_COLUMNS])
    rows = [",".join(repr(float(value)) for value in row) for row in table]
    return ",".join(CSV_COLUMNS) + "\n" + "\n".join(rows) + "\n"


def test_plain_csv_reads_as_the_file_it_was_written_from(tmp_path: Path) -> None:
    path = tmp_path / "year.csv"
    path.write_text(plain_csv())
    again, first = read(path, "csv"), read(GREENSBORO, "tmy3")
    for name in CSV_COLUMNS:
        np.testing.assert_array_equal(getattr(again, name), getattr(first, name))
    assert again.notes == ()


def test_first_sun_of_greensboro_stands_in_the_right_row() -> None:
    """On 1 January at 36.1 N, 79.95 W, UTC-5: declination -23.0 deg, half a day of 4.9 h around 12:23 (by hand).

    So the sun stands from 07:29 to 17:17, in the rows labeled 7 to 17.
    """
    ghi = read(GREENSBORO, "tmy3").ghi_w_m2[:24]
    assert int(np.flatnonzero(ghi > 0)[0]) == 7
    assert int(np.flatnonzero(ghi > 0)[-1]) == 17


def test_latin_1_is_read_and_said(tmp_path: Path) -> None:
    weather = read(written(tmp_path, chicago().replace("Chicago", "Chicagó", 1), "latin-1"), "epw")
    assert "Chicag" in weather.place
    assert any("latin-1" in note for note in weather.notes)


def test_leap_year_loses_its_29_february(tmp_path: Path) -> None:
    lines = chicago().splitlines()
    first = next(i for i, line in enumerate(lines) if line.split(",")[1:3] == ["3", "1"])
    day = [line.replace(",2,28,", ",2,29,", 1) for line in lines[first - 24 : first]]
    weather = read(written(tmp_path, "\n".join(lines[:first] + day + lines[first:])), "epw")
    assert weather.ghi_w_m2.sum() / 1000 == pytest.approx(1406.6, abs=0.05)
    assert any("29 February was dropped" in note for note in weather.notes)


def test_decimal_commas_in_the_header_are_mended(tmp_path: Path) -> None:
    lines = chicago().splitlines()
    fields = lines[0].split(",")
    lines[0] = ",".join(fields[:6] + [field.replace(".", ",") for field in fields[6:]])
    weather = read(written(tmp_path, "\n".join(lines)), "epw")
    assert weather.latitude_deg == pytest.approx(41.98, abs=0.02)
    assert any("line 1 has 14 fields; it was read as latitude 41.983" in note for note in weather.notes)


def test_missing_columns_after_wind_speed_are_not_needed(tmp_path: Path) -> None:
    lines = chicago().splitlines()
    short = lines[:8] + [",".join(line.split(",")[:25]) for line in lines[8:]]
    weather = read(written(tmp_path, "\n".join(short)), "epw")
    assert weather.ghi_w_m2.sum() / 1000 == pytest.approx(1406.6, abs=0.05)
    assert any("some rows have no columns" in note for note in weather.notes)


def test_half_hour_zone_is_read(tmp_path: Path) -> None:
    lines = chicago().splitlines()
    fields = lines[0].split(",")
    # Eleven and a half hours to the east of Chicago's clock, so 172.5 degrees, and half an hour more.
    lines[0] = ",".join([*fields[:7], str(float(fields[7]) + 172.5 - 7.5), "5.5", *fields[9:]])
    weather = read(written(tmp_path, "\n".join(lines)), "epw")
    assert weather.utc_offset_h == 5.5
    assert any("the sun is +30 min off" in note and "check the time zone" in note for note in weather.notes)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda lines: lines[:4000], "has 3992 hours, a typical year has 8760 .cut short"),
        (lambda lines: ["City,x", *lines[1:]], "does not begin with LOCATION"),
        (lambda lines: [*lines[:20], ",".join(lines[20].split(",")[:9]), *lines[21:]], "line 21 has 9 of 35 columns"),
        (lambda lines: [*lines[:8], *lines[9:], lines[8]], "row 1 is out of order"),
        (lambda lines: [*lines[:8], _with(lines[8], 6, "warm"), *lines[9:]], "line 9: temp_air_c is 'warm'"),
        (lambda lines: [_with(lines[0], 9, "x"), *lines[1:]], "line 1: elevation_m is 'x', must be a number"),
        (lambda lines: [*lines[:8], _with(lines[8], 13, "9999"), *lines[9:]], "ghi_w_m2 is missing in 1 hour, first"),
        (lambda lines: [*lines[:8], _with(lines[8], 13, "9998"), *lines[9:]], "ghi_w_m2 is 9998 in hour 1"),
        (lambda lines: [*lines[:20], *(_with(line, 6, "99.9") for line in lines[20:27]), *lines[27:]],
         "temp_air_c is missing in 7 hours, first in hour 13"),
        (lambda lines: [*lines[:8], *(line for row in lines[8:] for line in (row, row))], "half hours. average them"),
        (lambda lines: [*lines[:8], _with(lines[8], 21, "-3"), *lines[9:]], "wind_speed_m_s is -3 in hour 1"),
    ],
)  # fmt: skip
def test_epw_that_cannot_be_mended_is_refused(tmp_path: Path, change: object, told: str) -> None:
    path = written(tmp_path, "\n".join(change(chicago().splitlines())))  # type: ignore[operator]
    with pytest.raises(WeatherError, match=told):
        read(path, "epw")


def _with(line: str, place: int, value: str) -> str:
    fields = line.split(",")
    return ",".join([*fields[:place], value, *fields[place + 1 :]])


@pytest.mark.parametrize("kind", ["tmy3", "tm2", "epw", "csv"])
def test_empty_missing_and_foreign_files_are_refused(tmp_path: Path, kind: str) -> None:
    with pytest.raises(WeatherError, match="No such file"):
        read(tmp_path / "none", kind)
    empty = tmp_path / "empty"
    empty.write_text("")
    with pytest.raises(WeatherError, match="is empty"):
        read(empty, kind)
    foreign = tmp_path / "foreign"
    foreign.write_text("hello\nworld\n" * 4381)
    with pytest.raises(WeatherError, match="foreign"):
        read(foreign, kind)


@pytest.mark.parametrize(("name", "kind", "head"), [("723170TYA.CSV", "tmy3", 2), ("12839.tm2", "tm2", 1)])
def test_tmy3_and_tm2_with_rows_out_of_order_are_refused(tmp_path: Path, name: str, kind: str, head: int) -> None:
    lines = (packaged_folder("weather_samples") / name).read_text().splitlines()
    path = tmp_path / name
    path.write_text("\n".join([*lines[:head], *lines[head + 24 :], *lines[head : head + 24]]) + "\n")
    with pytest.raises(WeatherError, match="row 1 is out of order"):
        read(path, kind)


def test_rows_of_the_greensboro_file_are_taken_as_they_stand() -> None:
    """Line 3 + 15 of the file: 1 January 16:00 by its own label, which is the hour from 15:00."""
    columns = GREENSBORO.read_text().splitlines()[1].split(",")
    row = GREENSBORO.read_text().splitlines()[2 + 15].split(",")
    assert row[1] == "16:00"
    weather = read(GREENSBORO, "tmy3")
    for ours, theirs in (("temp_air_c", "Dry-bulb (C)"), ("ghi_w_m2", "GHI (W/m^2)"), ("wind_speed_m_s", "Wspd (m/s)")):
        assert getattr(weather, ours)[15] == float(row[columns.index(theirs)])


@pytest.mark.parametrize(("name", "value"), [("dhi_w_m2", 1001.0), ("wind_speed_m_s", 90.5), ("temp_air_c", 65.5)])
def test_values_beyond_what_the_sky_does_are_refused(name: str, value: float) -> None:
    weather = read(GREENSBORO, "tmy3")
    spoiled = getattr(weather, name).copy()
    spoiled[99] = value
    with pytest.raises(WeatherError, match=rf"{name} is {value:g} in hour 100 of the year, must be from"):
        check_values(replace(weather, **{name: spoiled}), "f")


def test_elevation_of_an_epw_is_read() -> None:
    chicago_epw = open_data(DIYEPW, "USA_IL_Chicago.OHare.Intl.AP.725300_TMY3.epw")
    assert read(chicago_epw, "epw").elevation_m == 201.0  # the file's own first line


def test_tmy3_and_tm2_cut_short_are_refused(tmp_path: Path) -> None:
    for name, kind in (("723170TYA.CSV", "tmy3"), ("12839.tm2", "tm2")):
        lines = (packaged_folder("weather_samples") / name).read_text().splitlines()
        path = tmp_path / name
        path.write_text("\n".join(lines[:5000]))
        with pytest.raises(WeatherError, match="cut short"):
            read(path, kind)


def test_global_irradiance_alone_is_split_and_said(tmp_path: Path, demo_home: Home) -> None:
    """The split is a model's, so the sums of the year are near the file's, and no more."""
    weather = demo_home.weather
    table = np.column_stack([weather.ghi_w_m2, weather.temp_air_c, weather.wind_speed_m_s])
    path = tmp_path / "sky.csv"
    np.savetxt(path, table, delimiter=",", header="ghi_w_m2,temp_air_c,wind_speed_m_s", comments="")
    place = {"latitude_deg": 36.1, "longitude_deg": -79.95, "elevation_m": 273.0, "utc_offset_h": -5.0}
    read = read_weather(path, WeatherFile.model_validate({"file": str(path), "format": "csv", "place": place}))
    np.testing.assert_allclose(read.ghi_w_m2, weather.ghi_w_m2)
    assert any("split into direct and diffuse by DISC" in note for note in read.notes)
    assert (read.dhi_w_m2 >= 0).all()
    assert read.dni_w_m2.sum() == pytest.approx(weather.dni_w_m2.sum(), rel=0.1)
    assert read.dhi_w_m2.sum() == pytest.approx(weather.dhi_w_m2.sum(), rel=0.1)
    half = tmp_path / "half.csv"
    np.savetxt(half, table, delimiter=",", header="ghi_w_m2,dhi_w_m2,wind_speed_m_s", comments="")
    with pytest.raises(WeatherError, match="has no column 'dni_w_m2'"):
        read_weather(half, WeatherFile.model_validate({"file": str(half), "format": "csv", "place": place}))
