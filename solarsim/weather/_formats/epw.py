"""EPW files as they are found: text in, ``Weather`` out, with notes on repairs."""

import csv
import io
from dataclasses import replace
from pathlib import Path

from solarsim.errors import WeatherError
from solarsim.scenario.csv_columns import number_of, numbers_from_csv
from solarsim.scenario.site import CsvPlace
from solarsim.weather._formats.common import ORDER_YEAR, SKY, all_numbers, check_labels, check_row_count, weather_of
from solarsim.weather._formats.epw_place import placed, settled
from solarsim.weather.typical_year import Weather

_FIELDS, _HEADER_LINES = 35, 8
_COLUMNS = {"temp_air_c": 6, "ghi_w_m2": 13, "dni_w_m2": 14, "dhi_w_m2": 15, "wind_speed_m_s": 21}


def weather_from_epw(text: str, path: Path, place: CsvPlace | None = None) -> Weather:
    """Read an EPW file, in its own clock, labeled by the start of the hour.

    A ``place`` of the user's stands for what the first line states.
    """
    from pvlib import iotools

    lines = text.splitlines()
    if not lines[0].upper().startswith("LOCATION,"):
        raise WeatherError(f"{path}: is not an EPW file: its first line does not begin with LOCATION")
    fields = [field.replace(",", " ") for field in next(csv.reader([lines[0]]))]
    rows, row_notes = _mended_rows(lines[_HEADER_LINES:], path)
    # The numbers of the first line may be unclear; any will do to read the rows.
    plain = ",".join([*(fields + [""] * 6)[:6], "0", "0", "0", "0"])
    frame, _ = iotools.read_epw(
        io.StringIO("\n".join([plain, *lines[1:_HEADER_LINES], *rows]) + "\n"), coerce_year=ORDER_YEAR
    )
    if not all_numbers(frame[SKY]):  # name the line
        names = [f"column {number}" for number in range(1, _FIELDS + 1)]
        for name, column in _COLUMNS.items():
            names[column] = name
        table = "\n".join([",".join(names), *rows])
        numbers_from_csv(table, path, tuple(_COLUMNS), WeatherError, above=_HEADER_LINES - 1)
    town = f"{fields[1].strip()}, {fields[3].strip()}" if len(fields) > 3 else path.stem
    nowhere = {"latitude": 0.0, "longitude": 0.0, "altitude": 0.0, "TZ": 0.0}
    weather = weather_of(town, nowhere, frame[SKY], [row.partition(",")[0] for row in rows], path)
    weather = settled(weather, fields, path) if place is None else placed(weather, fields, place, path)
    return replace(weather, notes=(*weather.notes, *row_notes))


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
    numbers = [number_of(field) for field in row.split(",", 4)[1:4]]
    if any(number is None or not abs(number) < 100 for number in numbers):
        raise WeatherError(f"{path}: a row begins with {row[:20]!r}, must begin with year, month, day and hour")
    month, day, hour = (int(number or 0) for number in numbers)
    return month, day, hour
