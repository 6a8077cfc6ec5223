"""Reading weather files: TMY3, TM2, EPW and plain CSV in, one convention out.

After reading, every row is labelled by the START of its hour in the file's fixed clock. pvlib's
``read_tmy3`` labels the end of the hour, its ``read_tmy2`` and ``read_epw`` the start.
"""

import csv
import io
import warnings
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from solarsim.scenario.csv_columns import numbers_from_csv
from solarsim.scenario.errors import WeatherError, file_bytes
from solarsim.scenario.site import WeatherFile
from solarsim.weather.label_check import label_notes
from solarsim.weather.typical_year import HOURS, Weather, check_values

if TYPE_CHECKING:
    import pandas as pd

_SKY = ("ghi", "dni", "dhi", "temp_air", "wind_speed")
CSV_COLUMNS = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "temp_air_c", "wind_speed_m_s")
# Typical months come from different years: one common year without a leap day puts them in order.
_ORDER_YEAR = 2001
_EPW_FIELDS = 35
_TMY3_HEADER_FIELDS, _EPW_HEADER_FIELDS = 7, 10
_TMY3_COLUMNS = ("GHI (W/m^2)", "DNI (W/m^2)", "DHI (W/m^2)", "Dry-bulb (C)", "Wspd (m/s)")
_EPW_COLUMNS = {"temp_air_c": 6, "ghi_w_m2": 13, "dni_w_m2": 14, "dhi_w_m2": 15, "wind_speed_m_s": 21}


def read_weather(path: Path, source: WeatherFile) -> Weather:
    """Read one typical year.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    source : WeatherFile
        Its format and, for a plain CSV, its place, clock and label convention.

    Returns
    -------
    Weather
        In the file's own clock, labelled by the start of the hour, with notes.

    Raises
    ------
    WeatherError
        The file is missing, is not of that format, is cut short, has rows out of order, or holds
        values that no sky can have.
    """
    raw = file_bytes(path, WeatherError)
    if not raw.strip():
        raise WeatherError(f"{path}: is empty")
    notes: tuple[str, ...] = ()
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
        notes = (f"{path}: is not UTF-8; read as latin-1",)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # pandas' own about mixed columns; the line is named below
            weather = _READERS[source.format](text, path, source)
    except WeatherError:
        raise
    except Exception as error:  # pvlib's readers raise whatever pandas meets in a broken file
        raise WeatherError(f"{path}: cannot be read as {source.format}: {_first_line(error)}") from None
    check_values(weather, str(path))
    return replace(weather, notes=notes + weather.notes + label_notes(weather, str(path)))


def _first_line(error: Exception) -> str:
    return (str(error).strip().splitlines() or [type(error).__name__])[0]


def _read_tmy3(text: str, path: Path, _: WeatherFile) -> Weather:
    from pvlib import iotools

    lines = text.splitlines()
    first = next(csv.reader(lines[:1]), [])
    if len(first) != _TMY3_HEADER_FIELDS:
        raise WeatherError(f"{path}: is not tmy3: line 1 has {len(first)} fields, must have {_TMY3_HEADER_FIELDS}")
    for name, value in zip(("UTC offset", "latitude", "longitude", "elevation"), first[3:], strict=True):
        _stated(value, name, path)
    _check_row_count(sum(1 for line in lines[2:] if line.strip()), path)
    try:
        frame, header = iotools.read_tmy3(io.StringIO(text), coerce_year=_ORDER_YEAR, map_variables=True)
        whole = bool(np.isfinite(np.asarray(frame[list(_SKY)], np.float64)).all())
    except Exception:
        whole = False
    if not whole:  # name the line, or let pvlib say what else is wrong
        numbers_from_csv("\n".join(lines[1:]), path, _TMY3_COLUMNS, WeatherError, above=1)
        frame, header = iotools.read_tmy3(io.StringIO(text), coerce_year=_ORDER_YEAR, map_variables=True)
    _check_order(frame.index, 1, path)
    return _weather(f"{_plain(header['Name'])}, {header['State']}", header, frame[list(_SKY)], path)


def _read_tm2(text: str, path: Path, _: WeatherFile) -> Weather:
    from pvlib import iotools

    lines = text.splitlines()
    if len(lines[0].split()) < 10:
        raise WeatherError(
            f"{path}: is not tm2: line 1 must state station, place, clock, latitude, longitude, elevation"
        )
    _check_row_count(len(lines) - 1, path)
    frame, header = iotools.read_tmy2(path)
    order = frame.index.map(lambda stamp: stamp.replace(year=_ORDER_YEAR))
    _check_order(order, 0, path)
    sky = frame[["GHI", "DNI", "DHI", "DryBulb", "Wspd"]] / [1, 1, 1, 10, 10]  # tenths of a degree and of m/s
    return _weather(f"{_plain(header['City'])}, {header['State']}", header, sky, path)


def _read_epw(text: str, path: Path, _: WeatherFile) -> Weather:
    from pvlib import iotools

    lines = text.splitlines()
    if not lines[0].upper().startswith("LOCATION,"):
        raise WeatherError(f"{path}: is not an EPW file: its first line does not begin with LOCATION")
    lines, notes = _mend_epw(lines, path)
    frame, header = iotools.read_epw(io.StringIO("\n".join(lines) + "\n"), coerce_year=_ORDER_YEAR)
    try:
        frame[list(_SKY)].astype(np.float64)
    except ValueError:  # name the line
        names = [f"column {number}" for number in range(1, _EPW_FIELDS + 1)]
        for name, place in _EPW_COLUMNS.items():
            names[place] = name
        numbers_from_csv("\n".join([",".join(names), *lines[8:]]), path, tuple(_EPW_COLUMNS), WeatherError, above=7)
    _check_order(frame.index, 0, path)
    town = f"{header['city'].strip()}, {header['country'].strip()}"
    return replace(_weather(town, header, frame[list(_SKY)], path), notes=tuple(notes))


def _mend_epw(lines: list[str], path: Path) -> tuple[list[str], list[str]]:
    """Repair what EPW files in the wild get wrong, and say so; refuse what cannot be repaired."""
    notes = []
    header = lines[0].split(",")
    if len(header) != _EPW_HEADER_FIELDS:
        mended = _join_decimal_commas(header, path)
        notes.append(f"{path}: decimal commas in its header were read as points")
        lines = [",".join(mended), *lines[1:]]
    rows = [line for line in lines[8:] if line.strip()]
    for number, row in enumerate(rows, start=9):
        fields = row.count(",") + 1
        if fields < 22:  # up to wind speed
            raise WeatherError(f"{path}: line {number} has {fields} of {_EPW_FIELDS} columns")
    if len({row.count(",") for row in rows}) > 1 or (rows and rows[0].count(",") + 1 < _EPW_FIELDS):
        notes.append(f"{path}: columns after wind speed are missing in some rows; they are not needed")
        rows = [",".join((row.split(",") + [""] * _EPW_FIELDS)[:_EPW_FIELDS]) for row in rows]
    if len(rows) == 8784:
        rows = [row for row in rows if row.split(",", 3)[1:3] != ["2", "29"]]
        notes.append(f"{path}: 29 February was dropped")
    _check_row_count(len(rows), path)
    return [*lines[:8], *rows], notes


def _join_decimal_commas(header: list[str], path: Path) -> list[str]:
    """Put back together the four numbers at the end of an EPW header that decimal commas split."""
    numbers = header[6:]
    if len(numbers) == 8:
        return header[:6] + [f"{numbers[i]}.{numbers[i + 1]}" for i in range(0, 8, 2)]
    raise WeatherError(f"{path}: its first line has {len(header)} fields, must have 10")


def _read_csv(text: str, path: Path, source: WeatherFile) -> Weather:
    columns = numbers_from_csv(text, path, CSV_COLUMNS, WeatherError)
    _check_row_count(columns[CSV_COLUMNS[0]].size, path)
    place = source.place
    if place is None:
        raise WeatherError(f"{path}: a csv file states no place")
    return Weather(
        place=path.stem,
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        elevation_m=place.elevation_m,
        utc_offset_h=place.utc_offset_h,
        ghi_w_m2=columns["ghi_w_m2"],
        dni_w_m2=columns["dni_w_m2"],
        dhi_w_m2=columns["dhi_w_m2"],
        temp_air_c=columns["temp_air_c"],
        wind_speed_m_s=columns["wind_speed_m_s"],
    )


def _weather(place: str, header: Mapping[str, object], sky: "pd.DataFrame", path: Path) -> Weather:
    """Take the place from pvlib's header, and the columns in the order of ``CSV_COLUMNS``."""
    ghi, dni, dhi, temp, wind = np.ascontiguousarray(sky.to_numpy(np.float64).T)
    return Weather(
        place=place,
        latitude_deg=_stated(header["latitude"], "latitude", path),
        longitude_deg=_stated(header["longitude"], "longitude", path),
        elevation_m=_stated(header["altitude"], "elevation", path),
        utc_offset_h=_stated(header["TZ"], "UTC offset", path),
        ghi_w_m2=ghi,
        dni_w_m2=dni,
        dhi_w_m2=dhi,
        temp_air_c=temp,
        wind_speed_m_s=wind,
    )


def _plain(name: str) -> str:
    return name.strip(' "').title()  # the header of TMY3 carries its quotes as part of the name


def _stated(value: object, what: str, path: Path) -> float:
    try:
        return float(str(value))
    except ValueError:
        raise WeatherError(f"{path}: line 1: {what} is {value!r}, must be a number") from None


def _check_row_count(rows: int, path: Path) -> None:
    if rows != HOURS:
        cut = " (cut short?)" if rows < HOURS else ""
        raise WeatherError(f"{path}: has {rows} hours, a typical year has {HOURS}{cut}")


def _check_order(index: "pd.DatetimeIndex", label_h: int, path: Path) -> None:
    """Refuse rows that do not run from the first hour of January to the last of December."""
    hours = (
        index.tz_localize(None).to_numpy().astype("datetime64[h]") - np.datetime64(f"{_ORDER_YEAR}-01-01T00")
    ).astype(int)
    wrong = np.flatnonzero(hours - label_h != np.arange(hours.size))
    if wrong.size:
        raise WeatherError(f"{path}: row {wrong[0] + 1} is out of order: it is labelled {index[wrong[0]]:%d %B %H:%M}")


_READERS: dict[str, Callable[[str, Path, WeatherFile], Weather]] = {
    "tmy3": _read_tmy3,
    "tm2": _read_tm2,
    "epw": _read_epw,
    "csv": _read_csv,
}
