"""Typical years of the European Commission's Joint Research Centre, as CSV or JSON: text in, ``Weather`` out.

Rows are instants of each hour of UTC: irradiance a stated part of an hour after it, all else at it.
"""

import json
from pathlib import Path
from typing import Any

import numpy as np

from solarsim.errors import WeatherError
from solarsim.scenario.csv_columns import numbers_from_csv, texts_from_csv
from solarsim.weather._formats.common import (
    Floats,
    at_middle,
    check_labels,
    check_row_count,
    stated,
    weather_of_columns,
)
from solarsim.weather.typical_year import Weather

TIME = "time(UTC)"
HOURLY = "tmy_hourly"
_FACTS = {
    "latitude_deg": "Latitude (decimal degrees)",
    "longitude_deg": "Longitude (decimal degrees)",
    "elevation_m": "Elevation (m)",
}
_TAKEN = "Irradiance Time Offset (h)"  # older files have none: then irradiance is of the hour itself
_COLUMNS = {
    "ghi_w_m2": "G(h)",
    "dni_w_m2": "Gb(n)",
    "dhi_w_m2": "Gd(h)",
    "temp_air_c": "T2m",
    "wind_speed_m_s": "WS10m",
}


def weather_from_pvgis(text: str, path: Path) -> Weather:
    """Read a typical year, in UTC."""
    facts, times, columns = _from_json(text, path) if text.lstrip().startswith("{") else _from_csv(text, path)
    check_row_count(len(times), path)
    check_labels([_label(time, row, path) for row, time in enumerate(times, start=1)], path)
    taken_h = stated(facts.get(_TAKEN, 0.0), _TAKEN, path)
    if not 0 <= taken_h < 1:
        raise WeatherError(f"{path}: {_TAKEN} is {taken_h:g}, must be from 0 to 1")
    sky = {
        name: at_middle(columns[title], taken_h if name.endswith("_w_m2") else 0.0) for name, title in _COLUMNS.items()
    }
    place = {name: stated(facts.get(title), title, path) for name, title in _FACTS.items()}
    return weather_of_columns(path.stem, {**place, "utc_offset_h": 0.0}, sky, [time[:4] for time in times])


def _label(time: str, row: int, path: Path) -> tuple[int, int, int]:
    digits = time.replace(":", "", 1)
    if len(time) != 13 or not (digits.isascii() and digits.isdecimal()) or time[11:] != "00":
        raise WeatherError(f"{path}: row {row}: {TIME} is {time!r}, must be like '20180131:1400'")
    return int(time[4:6]), int(time[6:8]), int(time[9:11]) + 1


def _from_csv(text: str, path: Path) -> tuple[dict[str, Any], list[str], dict[str, Floats]]:
    """Return facts by their names, times and columns: lines of facts above the table, explanations below it."""
    lines = text.splitlines()
    top = next((number for number, line in enumerate(lines) if line.startswith(TIME)), None)
    if top is None:
        raise WeatherError(f"{path}: is not a pvgis file: no line begins with {TIME}")
    end = next((number for number in range(top, len(lines)) if not lines[number].strip()), len(lines))
    table = "\n".join(lines[top:end])
    columns = numbers_from_csv(table, path, tuple(_COLUMNS.values()), WeatherError, above=top)
    facts = dict(line.split(":", 1) for line in lines[:top] if ":" in line)
    return facts, texts_from_csv(table, TIME) or [], columns


def _from_json(text: str, path: Path) -> tuple[dict[str, Any], list[str], dict[str, Floats]]:
    try:
        content = json.loads(text)
        location, hours = content["inputs"]["location"], content["outputs"][HOURLY]
        facts = {title: location[name] for title, name in zip(_FACTS.values(), ("latitude", "longitude", "elevation"),
                 strict=True)}  # fmt: skip
        facts[_TAKEN] = location.get("irradiance_time_offset", 0.0)
        times = [str(hour[TIME]) for hour in hours]
        columns = {title: [hour[title] for hour in hours] for title in _COLUMNS.values()}
    except json.JSONDecodeError as error:
        raise WeatherError(f"{path}: line {error.lineno}: cannot be read as JSON: {error.msg}") from None
    except (AttributeError, LookupError, TypeError, RecursionError):
        raise WeatherError(f"{path}: is not a pvgis file: it needs inputs.location and outputs.{HOURLY}") from None
    for title, values in columns.items():
        for row, value in enumerate(values, start=1):
            if type(value) not in (int, float) or not abs(value) < 1e6:  # nor a NaN, which JSON does not have
                raise WeatherError(f"{path}: row {row}: {title} is {value!r}, must be a number")
    return facts, times, {title: np.array(values, np.float64) for title, values in columns.items()}
