"""TM2, a format of fixed columns: text in, ``Weather`` out."""

import re
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import WeatherError
from solarsim.weather._formats.common import check_labels, check_row_count, stated, weather_of_columns
from solarsim.weather.typical_year import Weather

# First and last character, counted from 1, of what is read: Marion & Urban, User's Manual for TMY2s (NREL, 1995),
# table 3-2. Temperature and wind are in tenths.
_COLUMNS = {
    "year": (2, 3, 1),
    "month": (4, 5, 1),
    "day": (6, 7, 1),
    "hour": (8, 9, 1),
    "ghi_w_m2": (18, 21, 1),
    "dni_w_m2": (24, 27, 1),
    "dhi_w_m2": (30, 33, 1),
    "temp_air_c": (68, 71, 10),
    "wind_speed_m_s": (96, 98, 10),
}
_WHOLE = re.compile(r"[+-]?[0-9]+")
_FACTS = 11
_HEADER = "station, place, state, clock, latitude, longitude, elevation"


def weather_from_tm2(text: str, path: Path) -> Weather:
    """Read a TM2 file, in its own clock, labeled by the start of the hour: the file counts hours 1 to 24."""
    first, *rows = text.splitlines()
    facts = first.split()
    if len(facts) < _FACTS or facts[-7] not in ("N", "S") or facts[-4] not in ("E", "W"):
        raise WeatherError(f"{path}: is not a TM2 file: line 1 must be {_HEADER}")
    *name, state, clock, north, degrees, minutes, east, east_degrees, east_minutes, elevation = facts
    rows = [row for row in rows if row.strip()]
    check_row_count(len(rows), path)
    columns = {name: _column(rows, name, path) for name in _COLUMNS}
    labels = zip(*(columns[name].astype(int).tolist() for name in ("month", "day", "hour")), strict=True)
    check_labels(list(labels), path)
    latitude = stated(degrees, "latitude", path) + stated(minutes, "latitude", path) / 60
    longitude = stated(east_degrees, "longitude", path) + stated(east_minutes, "longitude", path) / 60
    years = (columns["year"].astype(int) + 1900).astype(str).tolist()
    facts_of_place = {
        "latitude_deg": latitude if north == "N" else -latitude,
        "longitude_deg": longitude if east == "E" else -longitude,
        "elevation_m": stated(elevation, "elevation", path),
        "utc_offset_h": stated(clock, "UTC offset", path),
    }
    return weather_of_columns(f"{' '.join(name[1:]).title()}, {state}", facts_of_place, columns, years)


def _column(rows: list[str], name: str, path: Path) -> NDArray[np.float64]:
    first, last, parts = _COLUMNS[name]
    values = []
    for line, row in enumerate(rows, start=2):
        text = row[first - 1 : last]
        if not _WHOLE.fullmatch(text.strip()):
            raise WeatherError(f"{path}: line {line}: {name} is {text!r}, must be a whole number")
        values.append(int(text))
    return np.array(values, np.float64) / parts
