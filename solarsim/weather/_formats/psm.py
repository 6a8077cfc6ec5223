"""CSV of the US National Solar Radiation Database: text in, ``Weather`` out.

Two lines describe the place, the third names the columns. Rows are instants, every hour or half hour, in a fixed clock.
"""

import csv
from pathlib import Path

import numpy as np

from solarsim.errors import WeatherError
from solarsim.scenario.csv_columns import numbers_from_csv
from solarsim.weather._formats.common import (
    Floats,
    at_middle,
    check_labels,
    check_row_count,
    mean_of_halves,
    stated,
    weather_of_columns,
)
from solarsim.weather.typical_year import Weather

_FACTS = {
    "latitude_deg": "Latitude",
    "longitude_deg": "Longitude",
    "elevation_m": "Elevation",
    "utc_offset_h": "Time Zone",
}
_COLUMNS = {
    "ghi_w_m2": "GHI",
    "dni_w_m2": "DNI",
    "dhi_w_m2": "DHI",
    "temp_air_c": "Temperature",
    "wind_speed_m_s": "Wind Speed",
}
_TIMES = ("Year", "Month", "Day", "Hour", "Minute")
_ABOVE = 2  # lines above the names of the columns


def weather_from_psm(text: str, path: Path) -> Weather:
    """Read a year of hours or half hours, in the clock that the file states."""
    lines = text.splitlines()
    names, values = (next(csv.reader([line]), []) for line in (*lines[:_ABOVE], "", "")[:_ABOVE])
    header = dict(zip(names, values, strict=False))
    for name in ("Source", "Location ID", *_FACTS.values()):
        if name not in header:
            raise WeatherError(f"{path}: is not a psm file: its first two lines state no {name!r}")
    # The lines below the facts are filled with commas to the width of the first.
    table = "\n".join(line.rstrip(",") for line in lines[_ABOVE:])
    columns = numbers_from_csv(table, path, (*_TIMES, *_COLUMNS.values()), WeatherError, above=_ABOVE)
    columns, notes = _without_leap_day(columns, path)
    minutes = tuple(np.unique(columns["Minute"]).tolist())
    halves = minutes == (0.0, 30.0)
    if not halves and minutes not in ((0.0,), (30.0,)):
        shown = ", ".join(f"{minute:g}" for minute in minutes[:6])
        raise WeatherError(f"{path}: has rows at minutes {shown} of the hour, must be at 0, at 30, or at both")
    hourly = {name: column[::2] if halves else column for name, column in columns.items()}
    check_row_count(hourly["Hour"].size, path)
    _check_order(columns, 2 if halves else 1, path)
    sky = {name: mean_of_halves(columns[title]) if halves else at_middle(columns[title], minutes[0] / 60)
           for name, title in _COLUMNS.items()}  # fmt: skip
    facts = {name: stated(header[title], title, path, line=2) for name, title in _FACTS.items()}
    years = hourly["Year"].astype(int).astype(str).tolist()
    return weather_of_columns(f"{header['Source']} {header['Location ID']}", facts, sky, years, notes)


def _without_leap_day(columns: dict[str, Floats], path: Path) -> tuple[dict[str, Floats], tuple[str, ...]]:
    leap = (columns["Month"] == 2) & (columns["Day"] == 29)
    if not leap.any():
        return columns, ()
    return {name: column[~leap] for name, column in columns.items()}, (f"{path}: 29 February was dropped",)


def _check_order(columns: dict[str, Floats], rows_an_hour: int, path: Path) -> None:
    """Refuse rows whose times do not run through a year."""
    for part in range(rows_an_hour):
        rows = (columns[name][part::rows_an_hour].astype(int).tolist() for name in ("Month", "Day", "Hour"))
        check_labels([(month, day, hour + 1) for month, day, hour in zip(*rows, strict=True)], path)
    minute = columns["Minute"].reshape(-1, rows_an_hour)
    wrong = np.flatnonzero((minute != minute[0]).any(axis=1))
    if wrong.size:
        raise WeatherError(
            f"{path}: row {rows_an_hour * wrong[0] + 1} is out of order: its minute is not that of row 1"
        )
