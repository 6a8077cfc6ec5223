"""Read weather files of every known format: a file in, one convention out.

After reading, every row is labeled by the START of its hour in the file's fixed clock. pvlib's ``read_tmy3`` labels the
end of the hour, its ``read_epw`` and our own reader of TM2 the start.
"""

import warnings
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import cast

from solarsim.errors import WeatherError, file_bytes
from solarsim.scenario.site import CsvPlace, WeatherFile, WeatherFormat
from solarsim.weather._faults import check_year
from solarsim.weather._formats.common import READER_ERRORS
from solarsim.weather._formats.epw import weather_from_epw
from solarsim.weather._formats.known import format_of, refuse_containers, refuse_other_formats
from solarsim.weather._formats.plain_csv import weather_from_csv
from solarsim.weather._formats.psm import weather_from_psm
from solarsim.weather._formats.pvgis import weather_from_pvgis
from solarsim.weather._formats.tm2 import weather_from_tm2
from solarsim.weather._formats.tmy3 import weather_from_tmy3
from solarsim.weather._repairs import bridge_gaps, check_values, level_offsets
from solarsim.weather.label_check import label_notes, label_offset_min
from solarsim.weather.typical_year import Weather


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
    refuse_containers(raw, path)
    notes: tuple[str, ...] = ()
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = raw.decode("latin-1")
        notes = (f"{path}: is not UTF-8; it was read as latin-1",)
    refuse_other_formats(text, source.format, path)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # pandas' own about mixed columns; the line is named below
            weather = _READERS[source.format](text, path, source)
    except WeatherError:
        raise
    except READER_ERRORS as error:
        raise WeatherError(f"{path}: cannot be read as {source.format}: {_first_line(error)}") from None
    weather = checked_year(weather, str(path))
    return replace(weather, notes=notes + weather.notes)


def checked_year(weather: Weather, name: str) -> Weather:
    """Repair and check a year, whatever it came from.

    Parameters
    ----------
    weather : Weather
        As read; NaN where a value is missing.
    name : str
        What it came from, for notes and errors.

    Returns
    -------
    Weather
        Whole, with notes on what was repaired or is doubtful, its labels included.

    Raises
    ------
    WeatherError
        Values are missing or not plausible, or no sky does what they say.
    """
    weather = level_offsets(bridge_gaps(weather, name), name)
    check_values(weather, name)
    offset_min = label_offset_min(weather)
    doubts = (*label_notes(weather, offset_min, name), *check_year(weather, offset_min, name))
    return replace(weather, notes=weather.notes + doubts)


def format_of_file(path: Path) -> WeatherFormat | None:
    """Return the format of a weather file by its first lines.

    Parameters
    ----------
    path : pathlib.Path
        The file.

    Returns
    -------
    str or None
        As in ``weather.format``; None where it is of no known format.

    Raises
    ------
    WeatherError
        The file cannot be read, or is no text.
    """
    raw = file_bytes(path, WeatherError)
    refuse_containers(raw, path)
    return cast(WeatherFormat | None, format_of(raw.decode("utf-8-sig", errors="replace")))


def _first_line(error: Exception) -> str:
    return (str(error).strip().splitlines() or [type(error).__name__])[0]


_READERS: dict[str, Callable[[str, Path, WeatherFile], Weather]] = {
    "tmy3": lambda text, path, _: weather_from_tmy3(text, path),
    "tm2": lambda text, path, _: weather_from_tm2(text, path),
    "epw": lambda text, path, source: weather_from_epw(text, path, source.place),
    "psm": lambda text, path, _: weather_from_psm(text, path),
    "pvgis": lambda text, path, _: weather_from_pvgis(text, path),
    # Its own check requires the place of a csv.
    "csv": lambda text, path, source: weather_from_csv(text, path, cast(CsvPlace, source.place)),
}
