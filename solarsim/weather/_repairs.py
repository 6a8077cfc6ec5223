"""Gaps, wrong values and clocks: a year as read in; one that is whole and on the site's clock out, with notes."""

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import MOST_APART_H, Timeline
from solarsim.errors import WeatherError
from solarsim.scenario.site import ON_EARTH
from solarsim.weather._steps import on_finer_steps
from solarsim.weather.typical_year import PLAUSIBLE, Weather

_LONGEST_GAP_H = 6
# What EPW, TMY3 and TM2 write for "missing", TM2's divided by ten. It counts where the value is implausible:
# 999 W/m2 is a bright hour.
_MISSING_CODES = (9999.0, 9990.0, 999.9, 999.0, 99.9, -99.0, -99.9, -999.0, -9900.0)
_LARGEST_OFFSET_W_M2 = -15.0  # common practice; above every code for a missing value
_HINTS = {"dhi_w_m2": "; is it exchanged with ghi_w_m2 or dni_w_m2?"}


def bridge_gaps(weather: Weather, file: str) -> Weather:
    """Draw straight lines across gaps of temperature and wind of up to ``_LONGEST_GAP_H`` hours, with a note.

    A value that is no number, or implausible and one of ``_MISSING_CODES``, is missing. Longer gaps, and all of
    irradiance, which a line would invent, become NaN, for ``check_values`` to refuse.
    """
    columns, notes = {}, []
    for name, (low, high) in PLAUSIBLE.items():
        values = getattr(weather, name)
        coded = np.isin(values, _MISSING_CODES) & ((values < low) | (values > high))
        missing = ~np.isfinite(values) | coded
        if not missing.any():
            continue
        values = np.where(missing, np.nan, values)
        if name in ("temp_air_c", "wind_speed_m_s") and _longest_run(missing) <= _LONGEST_GAP_H:
            there = np.flatnonzero(~missing)
            values = np.interp(np.arange(values.size), there, values[there], period=values.size)
            notes.append(f"{file}: {name} was missing in {_hours(int(missing.sum()))}; filled by straight lines")
        columns[name] = values
    return replace(weather, notes=(*weather.notes, *notes), **columns) if columns else weather


def level_offsets(weather: Weather, file: str) -> Weather:
    """Set irradiance a little below 0 to 0, with a note: instruments cool at night and read a few W/m2 too low."""
    columns: dict[str, Any] = {}
    notes = []
    for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2"):
        values = getattr(weather, name)
        low = (values < 0) & (values >= _LARGEST_OFFSET_W_M2)
        if low.any():
            columns[name] = np.where(low, 0.0, values)
            notes.append(
                f"{file}: {name} is below 0 in {_hours(int(low.sum()))}, down to {values[low].min():.1f} W/m2, as"
                " instruments read at night; counted as 0"
            )
    return replace(weather, notes=(*weather.notes, *notes), **columns) if columns else weather


def _longest_run(missing: NDArray[np.bool_]) -> int:
    change = np.flatnonzero(np.diff(np.concatenate([[0], missing.astype(int), [0]])))
    return int((change[1::2] - change[::2]).max())


def _hours(count: int) -> str:
    return f"{count} hour" if count == 1 else f"{count} hours"


def check_values(weather: Weather, file: str) -> None:
    """Refuse a year with missing values, or with values outside what is plausible."""
    problems = []
    for name, (low, high) in ON_EARTH.items():
        value = getattr(weather, name)
        if not low <= value <= high:
            problems.append(f"{file}: {name} is {value:g}, must be from {low:g} to {high:g}")
    for column, (low, high) in PLAUSIBLE.items():
        values = getattr(weather, column)
        missing = np.flatnonzero(~np.isfinite(values))
        wrong = np.flatnonzero((values < low) | (values > high))
        if missing.size:
            problems.append(
                f"{file}: {column} is missing in {_hours(missing.size)}, first in hour {missing[0] + 1} of the year"
            )
        elif wrong.size:
            problems.append(
                f"{file}: {column} is {values[wrong[0]]:g} in hour {wrong[0] + 1} of the year,"
                f" must be from {low:g} to {high:g}{_HINTS.get(column, '')}"
            )
    if problems:
        raise WeatherError(*problems)


def on_timeline(weather: Weather, timeline: Timeline, file: str) -> Weather:
    """Shift hourly weather from the file's clock to the site's standard time, around the end of the year.

    Each value keeps its instant; the sun's position is computed from that instant. A file may be in UTC, however far
    away that is: where it is of is judged by its longitude.
    """
    apart_h = timeline.sun_apart_h(weather.longitude_deg)
    if apart_h > MOST_APART_H:
        raise WeatherError(
            f"{file}: is of longitude {weather.longitude_deg:g}, where the sun is {apart_h:.1f} h away from the"
            f" standard time of {timeline.zone} (UTC{timeline.utc_offset_h:+g} h): another part of the world"
        )
    ahead_h = timeline.utc_offset_h - weather.utc_offset_h
    if ahead_h == 0:
        return weather
    if 4 * ahead_h % 1:
        raise WeatherError(
            f"{file}: its clock is UTC{weather.utc_offset_h:+g} h, the standard time of {timeline.zone} is"
            f" UTC{timeline.utc_offset_h:+g} h, must differ by whole quarter hours"
        )
    note = (
        f"{file}: its clock is UTC{weather.utc_offset_h:+g} h, the site's standard time"
        f" UTC{timeline.utc_offset_h:+g} h; moved by {ahead_h:+g} h"
    )
    if ahead_h % 1:
        note += ", each hour made of parts of two"
    return replace(by_clock(weather, timeline.utc_offset_h), notes=(*weather.notes, note))


def by_clock(weather: Weather, utc_offset_h: float) -> Weather:
    """Move a year of hours to another fixed clock, around the end of the year.

    Where the clocks differ by a part of an hour, the hours are laid onto quarter hours and put together again: the year
    keeps its sums, and within an hour only the sun moves.
    """
    ahead_h = utc_offset_h - weather.utc_offset_h
    parts = 4 if ahead_h % 1 else 1
    finer = on_finer_steps(weather, parts)
    columns = {
        name: np.roll(getattr(finer, name), round(ahead_h * parts)).reshape(-1, parts).mean(axis=1)
        for name in PLAUSIBLE
    }
    return replace(weather, utc_offset_h=utc_offset_h, **columns)
