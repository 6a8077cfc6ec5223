"""A plain CSV of weather with named columns: text in, ``Weather`` out."""

import csv
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import WeatherError
from solarsim.scenario.csv_columns import numbers_from_csv, texts_from_csv
from solarsim.scenario.site import CsvPlace
from solarsim.weather._diffuse_split import split
from solarsim.weather._formats.common import ORDER_YEAR, check_row_count, weather_of_columns
from solarsim.weather.sun import SunUp, sun_up
from solarsim.weather.typical_year import HOURS, Weather

CSV_COLUMNS = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "temp_air_c", "wind_speed_m_s")
_LEAP_DAY = slice(59 * 24, 60 * 24)


def weather_from_csv(text: str, path: Path, place: CsvPlace) -> Weather:
    """Read a CSV with the columns ``CSV_COLUMNS``, and ``time`` if it has one, by the clock of its place.

    Lines that begin with ``#`` above the names of the columns are remarks. Where both ``dni_w_m2`` and ``dhi_w_m2`` are
    left out, global irradiance is split (``_diffuse_split``), with a note. ``time`` must run by the hour from the start
    of 1 January; 29 February is dropped. Where months are of different years, a column ``year`` has them in its place.
    """
    lines = text.splitlines()
    remarks = next((number for number, line in enumerate(lines) if not line.startswith("#")), 0)
    text = "\n".join(lines[remarks:])
    header = next(csv.reader(lines[remarks : remarks + 1]), [])
    global_only = not {"dni_w_m2", "dhi_w_m2"} & {name.strip() for name in header}
    names = tuple(name for name in CSV_COLUMNS if not (global_only and name in ("dni_w_m2", "dhi_w_m2")))
    columns = numbers_from_csv(text, path, names, WeatherError, above=remarks)
    rows = columns[CSV_COLUMNS[0]].size
    times = texts_from_csv(text, "time")
    year = None if times is None else _year_of(times, path, place, 2 + remarks)
    notes: tuple[str, ...] = ()
    if rows == HOURS + 24:
        columns = {name: np.delete(values, _LEAP_DAY) for name, values in columns.items()}
        notes = (f"{path}: 29 February was dropped",)
    check_row_count(columns[CSV_COLUMNS[0]].size, path)
    if global_only:
        columns["dni_w_m2"], columns["dhi_w_m2"] = split(columns["ghi_w_m2"], _sun(place, year or ORDER_YEAR))
        notes += (f"{path}: has no dni_w_m2 and dhi_w_m2; ghi_w_m2 was split into direct and diffuse by DISC",)
    weather = weather_of_columns(path.stem, place.model_dump(), columns, texts_from_csv(text, "year") or [], notes)
    return weather if year is None else replace(weather, year_of_month=(year,) * 12)


def _sun(place: CsvPlace, year: int) -> SunUp:
    first, last = np.datetime64(f"{year}-01-01", "s"), np.datetime64(f"{year + 1}-01-01", "s")
    hours: NDArray[np.datetime64] = np.arange(first, last, np.timedelta64(3600, "s"))
    hours = np.delete(hours, _LEAP_DAY) if hours.size > HOURS else hours
    return sun_up(place, hours - np.timedelta64(round(place.utc_offset_h * 3600), "s"), 1.0)


def _year_of(times: list[str], path: Path, place: CsvPlace, first_line: int) -> int:
    """Return the calendar year of times that run by the hour; refuse others."""
    found = [_instant(text, line, path, place) for line, text in enumerate(times, start=first_line)]
    stamps: NDArray[np.datetime64] = np.array(found, "datetime64[s]")
    year = found[0].year
    start, end = np.datetime64(f"{year}-01-01", "s"), np.datetime64(f"{year + 1}-01-01", "s")
    hours = np.arange(start, end, np.timedelta64(3600, "s"))
    if stamps.size == HOURS < hours.size:
        hours = np.delete(hours, _LEAP_DAY)
    shared = min(hours.size, stamps.size)
    wrong = np.flatnonzero(stamps[:shared] != hours[:shared])
    if wrong.size:
        row = int(wrong[0])
        due = np.datetime_as_string(hours[row], unit="m")
        raise WeatherError(
            f"{path}: line {row + first_line}: time is {times[row]!r}, must be {due}:"
            " rows are labeled by the start of the hour, in one fixed clock, from 1 January 00:00"
        )
    return year


def _instant(text: str, line: int, path: Path, place: CsvPlace) -> datetime:
    try:
        when = datetime.fromisoformat(text.strip())
    except ValueError:
        raise WeatherError(
            f"{path}: line {line}: time is {text!r}, must be like 2019-01-01T00:00 or 2019-01-01 00:00-05:00"
        ) from None
    clock = when.utcoffset()
    if clock is not None and clock != timedelta(hours=place.utc_offset_h):
        raise WeatherError(
            f"{path}: line {line}: time is {text!r}, but the clock of weather.place is UTC{place.utc_offset_h:+g} h"
        )
    return when.replace(tzinfo=None)
