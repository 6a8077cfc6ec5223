"""EPW files as they are found: text in, ``Weather`` out, with notes on repairs."""

import csv
import io
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np

from solarsim.errors import WeatherError
from solarsim.scenario.csv_columns import numbers_from_csv
from solarsim.scenario.site import ON_EARTH
from solarsim.weather._formats.common import ORDER_YEAR, SKY, check_labels, check_row_count, stated, weather_of
from solarsim.weather.typical_year import Weather

_FIELDS, _HEADER_FIELDS, _HEADER_LINES = 35, 10, 8
_COLUMNS = {"temp_air_c": 6, "ghi_w_m2": 13, "dni_w_m2": 14, "dhi_w_m2": 15, "wind_speed_m_s": 21}
_NUMBERS = ("latitude_deg", "longitude_deg", "utc_offset_h", "elevation_m")


def weather_from_epw(text: str, path: Path) -> Weather:
    """Read an EPW file, in its own clock, labeled by the start of the hour."""
    from pvlib import iotools

    lines = text.splitlines()
    if not lines[0].upper().startswith("LOCATION,"):
        raise WeatherError(f"{path}: is not an EPW file: its first line does not begin with LOCATION")
    header, notes = _mended_header(lines[0], path)
    rows, row_notes = _mended_rows(lines[_HEADER_LINES:], path)
    mended = [header, *lines[1:_HEADER_LINES], *rows]
    frame, facts = iotools.read_epw(io.StringIO("\n".join(mended) + "\n"), coerce_year=ORDER_YEAR)
    try:
        frame[SKY].astype(np.float64)
    except ValueError:  # name the line
        names = [f"column {number}" for number in range(1, _FIELDS + 1)]
        for name, place in _COLUMNS.items():
            names[place] = name
        table = "\n".join([",".join(names), *rows])
        numbers_from_csv(table, path, tuple(_COLUMNS), WeatherError, above=_HEADER_LINES - 1)
    town = f"{facts['city'].strip()}, {facts['country'].strip()}"
    weather = weather_of(town, facts, frame[SKY], [row.partition(",")[0] for row in rows], path)
    return replace(weather, notes=(*notes, *row_notes))


def _mended_header(line: str, path: Path) -> tuple[str, list[str]]:
    """Return the first line with ten fields: a comma may be in a quoted name, or be a decimal comma."""
    fields = [field.replace(",", " ") for field in next(csv.reader([line]))]
    if len(fields) == _HEADER_FIELDS:
        for name, value in zip(_NUMBERS, fields[6:], strict=True):
            stated(value, name, path)
        return ",".join(fields), []
    ways = _numbers_with_commas(fields[6:])
    if len(ways) != 1:
        commas = f"; decimal commas in it can be read in {len(ways)} ways" if ways else ""
        raise WeatherError(f"{path}: its first line has {len(fields)} fields, must have {_HEADER_FIELDS}{commas}")
    return ",".join([*fields[:6], *ways[0]]), [f"{path}: the header has decimal commas; they were read as points"]


def _numbers_with_commas(parts: list[str]) -> list[list[str]]:
    """Return the ways to read latitude, longitude, time zone and elevation with decimal commas."""
    ways = []
    for split in product((False, True), repeat=4):
        rest, numbers = list(parts), []
        if len(rest) != 4 + sum(split):
            continue
        for is_split in split:
            whole = rest.pop(0).strip()
            numbers.append(f"{whole}.{rest.pop(0).strip()}" if is_split else whole)
        if all(map(_is_on_earth, _NUMBERS, numbers)):
            ways.append(numbers)
    return ways


def _is_on_earth(name: str, number: str) -> bool:
    low, high = ON_EARTH[name]
    try:
        value = float(number)
    except ValueError:
        return False
    return low <= value <= high and (name != "utc_offset_h" or value % 0.25 == 0)


def _mended_rows(lines: list[str], path: Path) -> tuple[list[str], list[str]]:
    """Drop a leap day and fill up columns that nothing needs; refuse rows without those that count."""
    rows, notes = [line for line in lines if line.strip()], []
    for number, row in enumerate(rows, start=_HEADER_LINES + 1):
        fields = row.count(",") + 1
        if '"' in row:
            raise WeatherError(f"{path}: line {number} has a quotation mark; remove it")
        if fields <= max(_COLUMNS.values()):
            raise WeatherError(f"{path}: line {number} has {fields} of {_FIELDS} columns")
    if len({row.count(",") for row in rows}) > 1 or (rows and rows[0].count(",") + 1 < _FIELDS):
        notes.append(f"{path}: some rows have no columns after wind speed; they are not needed")
        rows = [",".join((row.split(",") + [""] * _FIELDS)[:_FIELDS]) for row in rows]
    if len(rows) == 8784:
        rows = [row for row in rows if [field.strip().lstrip("0") for field in row.split(",", 3)[1:3]] != ["2", "29"]]
        notes.append(f"{path}: 29 February was dropped")
    check_row_count(len(rows), path)
    check_labels([_label(row, path) for row in rows], path)
    return rows, notes


def _label(row: str, path: Path) -> tuple[int, int, int]:
    try:
        month, day, hour = (int(float(field)) for field in row.split(",", 4)[1:4])
    except (ValueError, OverflowError):
        raise WeatherError(
            f"{path}: a row begins with {row[:20]!r}, must begin with year, month, day and hour"
        ) from None
    return month, day, hour
