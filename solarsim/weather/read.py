"""Read weather files: TMY3, TM2, EPW and plain CSV in, one convention out.

After reading, every row is labeled by the START of its hour in the file's fixed clock. pvlib's ``read_tmy3`` labels the
end of the hour, its ``read_epw`` and our own reader of TM2 the start.
"""

import csv
import io
import re
import warnings
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import cast

import numpy as np

from solarsim.errors import WeatherError, file_bytes
from solarsim.scenario.csv_columns import numbers_from_csv, texts_from_csv
from solarsim.scenario.site import CsvPlace, WeatherFile
from solarsim.weather._checks import ORDER_YEAR, READER_ERRORS, SKY, check_order, check_row_count, stated, weather_of
from solarsim.weather._epw import weather_from_epw
from solarsim.weather._plain_csv import weather_from_csv
from solarsim.weather._repairs import bridge_gaps, check_values
from solarsim.weather._tm2 import weather_from_tm2
from solarsim.weather.label_check import label_notes
from solarsim.weather.typical_year import Weather

_TMY3_HEADER_FIELDS = 7
_TMY3_LABELS = ("Date (MM/DD/YYYY)", "Time (HH:MM)")
_TMY3_COLUMNS = ("GHI (W/m^2)", "DNI (W/m^2)", "DHI (W/m^2)", "Dry-bulb (C)", "Wspd (m/s)")


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
        In the file's own clock, labeled by the start of the hour, with notes.

    Raises
    ------
    WeatherError
        The file is missing, is not of that format, is cut short, has rows out of order, or has
        values that are not plausible.
    """
    raw = file_bytes(path, WeatherError)
    if not raw.strip():
        raise WeatherError(f"{path}: is empty")
    notes: tuple[str, ...] = ()
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
        notes = (f"{path}: is not UTF-8; it was read as latin-1",)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # pandas' own about mixed columns; the line is named below
            weather = _READERS[source.format](text, path, source)
    except WeatherError:
        raise
    except READER_ERRORS as error:
        raise WeatherError(f"{path}: cannot be read as {source.format}: {_first_line(error)}") from None
    weather = bridge_gaps(weather, str(path))
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
        stated(value, name, path)
    check_row_count(sum(1 for line in lines[2:] if line.strip()), path)
    try:
        frame, header = iotools.read_tmy3(io.StringIO(text), coerce_year=ORDER_YEAR, map_variables=True)
        whole = bool(np.isfinite(np.asarray(frame[SKY], np.float64)).all())
    except READER_ERRORS:
        whole = False
    if not whole:  # name the line, or what else pvlib finds wrong
        table = "\n".join(lines[1:])
        numbers_from_csv(table, path, _TMY3_COLUMNS, WeatherError, above=1)
        _check_dates(table, path)
        frame, header = iotools.read_tmy3(io.StringIO(text), coerce_year=ORDER_YEAR, map_variables=True)
    check_order(frame.index, path)
    years = [line.partition(",")[0].strip()[-4:] for line in lines[2:] if line.strip()]
    return weather_of(f"{_plain(header['Name'])}, {header['State']}", header, frame[SKY], years, path)


def _check_dates(table: str, path: Path) -> None:
    columns = [texts_from_csv(table, name) for name in _TMY3_LABELS]
    for name, column in zip(_TMY3_LABELS, columns, strict=True):
        if column is None:
            raise WeatherError(f"{path}: has no column {name!r}")
    for line, (day, hour) in enumerate(zip(*filter(None, columns), strict=True), start=3):
        if not (
            re.fullmatch(r"(0?[1-9]|1[0-2])/(0?[1-9]|[12]\d|3[01])/\d{4}", day) and re.fullmatch(r"\d\d?:\d\d", hour)
        ):
            raise WeatherError(f"{path}: line {line}: is labeled {day!r}, {hour!r}, must be like '01/31/1988', '14:00'")


def _plain(name: str) -> str:
    return name.strip(' "').title()  # the header of TMY3 carries its quotes as part of the name


_READERS: dict[str, Callable[[str, Path, WeatherFile], Weather]] = {
    "tmy3": _read_tmy3,
    "tm2": lambda text, path, _: weather_from_tm2(text, path),
    "epw": lambda text, path, _: weather_from_epw(text, path),
    # Its own check requires the place of a csv.
    "csv": lambda text, path, source: weather_from_csv(text, path, cast(CsvPlace, source.place)),
}
