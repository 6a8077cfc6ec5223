"""TMY3, a CSV of typical years: text in, ``Weather`` out; pvlib keeps its labels of the END of each hour in order."""

import csv
import io
import re
from pathlib import Path

import numpy as np

from solarsim.errors import WeatherError
from solarsim.scenario.csv_columns import numbers_from_csv, texts_from_csv
from solarsim.weather._formats.common import (
    ORDER_YEAR,
    READER_ERRORS,
    SKY,
    all_numbers,
    check_order,
    check_row_count,
    stated,
    weather_of,
)
from solarsim.weather.typical_year import Weather

_HEADER_FIELDS = 7
_LABELS = ("Date (MM/DD/YYYY)", "Time (HH:MM)")
_COLUMNS = ("GHI (W/m^2)", "DNI (W/m^2)", "DHI (W/m^2)", "Dry-bulb (C)", "Wspd (m/s)")


def weather_from_tmy3(text: str, path: Path) -> Weather:
    """Read a TMY3 file, in its own clock, labeled by the start of the hour."""
    from pvlib import iotools

    lines = text.splitlines()
    first = next(csv.reader(lines[:1]), [])
    if len(first) != _HEADER_FIELDS:
        raise WeatherError(f"{path}: is not a TMY3 file: line 1 has {len(first)} fields, must have {_HEADER_FIELDS}")
    for name, value in zip(("UTC offset", "latitude", "longitude", "elevation"), first[3:], strict=True):
        stated(value, name, path)
    check_row_count(sum(1 for line in lines[2:] if line.strip()), path)
    try:
        frame, header = iotools.read_tmy3(io.StringIO(text), coerce_year=ORDER_YEAR, map_variables=True)
        whole = all_numbers(frame[SKY]) and bool(np.isfinite(frame[SKY].to_numpy(np.float64)).all())
    except READER_ERRORS:
        whole = False
    if not whole:  # name the line, or what else pvlib finds wrong
        table = "\n".join(lines[1:])
        numbers_from_csv(table, path, _COLUMNS, WeatherError, above=1)
        _check_dates(table, path)
        frame, header = iotools.read_tmy3(io.StringIO(text), coerce_year=ORDER_YEAR, map_variables=True)
    check_order(frame.index, path)
    years = [line.partition(",")[0].strip()[-4:] for line in lines[2:] if line.strip()]
    return weather_of(f"{_plain(header['Name'])}, {header['State']}", header, frame[SKY], years, path)


def _check_dates(table: str, path: Path) -> None:
    columns = [texts_from_csv(table, name) for name in _LABELS]
    for name, column in zip(_LABELS, columns, strict=True):
        if column is None:
            raise WeatherError(f"{path}: has no column {name!r}")
    for line, (day, hour) in enumerate(zip(*filter(None, columns), strict=True), start=3):
        if not (
            re.fullmatch(r"(0?[1-9]|1[0-2])/(0?[1-9]|[12]\d|3[01])/\d{4}", day) and re.fullmatch(r"\d\d?:\d\d", hour)
        ):
            raise WeatherError(f"{path}: line {line} is labeled {day!r}, {hour!r}, must be like '01/31/1988', '14:00'")


def _plain(name: str) -> str:
    return name.strip(' "').title()  # the header of TMY3 carries its quotes as part of the name
