"""A typical year of weather: what every reader gives, checked and laid onto the timeline.

In: rows of a weather file in its own fixed clock, labelled by the start of the hour.
Out: ``Weather`` on the run's timeline, with a note for everything that was repaired or is doubtful.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.errors import WeatherError
from solarsim.scenario.site import ON_EARTH

HOURS = 8760
LONGEST_GAP_H = 6
#: What EPW, TMY3 and TM2 write for "missing", TM2's divided by ten. It counts where the value is implausible:
#: 999 W/m2 is a bright hour.
MISSING_CODES = (9999.0, 9990.0, 999.9, 999.0, 99.9, -99.0, -99.9, -999.0, -9900.0)
MOST_APART_H = 3  # the widest country with one clock spans about that much on either side
#: Wider than any surface station has recorded; what lies outside is a missing-value code or a wrong unit.
PLAUSIBLE = {
    "ghi_w_m2": (0.0, 1500.0),
    "dni_w_m2": (0.0, 1500.0),
    "dhi_w_m2": (0.0, 1000.0),
    "temp_air_c": (-90.0, 65.0),
    "wind_speed_m_s": (0.0, 90.0),
}


@dataclass(frozen=True, eq=False)
class Weather:
    """One year of weather at one place, hour by hour or step by step.

    Attributes
    ----------
    place : str
        The station's name.
    latitude_deg, longitude_deg : float
        North and east positive [deg].
    elevation_m : float
        Above sea level [m].
    utc_offset_h : float
        Clock of the rows minus UTC [h].
    ghi_w_m2, dni_w_m2, dhi_w_m2 : arrays of float
        Global horizontal, direct normal and diffuse horizontal irradiance, mean of the hour or step [W/m2].
    temp_air_c : array of float
        Dry-bulb temperature [C].
    wind_speed_m_s : array of float
        At 10 m above ground [m/s].
    notes : tuple of str
        What was repaired in the file, or is doubtful about it.
    year_of_month : tuple of int
        The calendar year of each of the twelve months, where the file tells.
    """

    place: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    utc_offset_h: float
    ghi_w_m2: NDArray[np.float64]
    dni_w_m2: NDArray[np.float64]
    dhi_w_m2: NDArray[np.float64]
    temp_air_c: NDArray[np.float64]
    wind_speed_m_s: NDArray[np.float64]
    notes: tuple[str, ...] = ()
    year_of_month: tuple[int, ...] = ()


def bridge_gaps(weather: Weather, file: str) -> Weather:
    """Draw a straight line across short gaps of temperature and wind, and say so.

    Parameters
    ----------
    weather : Weather
        As read; a value that is no number, or implausible and one of ``MISSING_CODES``, is missing.
    file : str
        The file's name, for the note.

    Returns
    -------
    Weather
        With gaps of up to ``LONGEST_GAP_H`` hours filled. Longer ones, and all of irradiance, which a
        line would invent, are left as no number, for ``check_values`` to refuse.
    """
    columns, notes = {}, []
    for name, (low, high) in PLAUSIBLE.items():
        values = getattr(weather, name)
        coded = np.isin(values, MISSING_CODES) & ((values < low) | (values > high))
        missing = ~np.isfinite(values) | coded
        if not missing.any():
            continue
        values = np.where(missing, np.nan, values)
        if name in ("temp_air_c", "wind_speed_m_s") and _longest_run(missing) <= LONGEST_GAP_H:
            there = np.flatnonzero(~missing)
            values = np.interp(np.arange(values.size), there, values[there], period=values.size)
            notes.append(f"{file}: {name} was missing in {missing.sum()} hours; bridged by straight lines")
        columns[name] = values
    return replace(weather, notes=(*weather.notes, *notes), **columns) if columns else weather


def _longest_run(missing: NDArray[np.bool_]) -> int:
    change = np.flatnonzero(np.diff(np.concatenate([[0], missing.astype(int), [0]])))
    return int((change[1::2] - change[::2]).max())


def check_values(weather: Weather, file: str) -> None:
    """Refuse a year that has holes, or holds what no sky can do.

    Parameters
    ----------
    weather : Weather
        As read.
    file : str
        The file's name, for the message.

    Raises
    ------
    WeatherError
        A value is missing, or outside what is plausible.
    """
    problems = []
    for name, (low, high) in ON_EARTH.items():
        value = getattr(weather, name)
        if not low <= value <= high:
            problems.append(f"{file}: {name} is {value:g}, must lie between {low:g} and {high:g}")
    for column, (low, high) in PLAUSIBLE.items():
        values = getattr(weather, column)
        missing = np.flatnonzero(~np.isfinite(values))
        wrong = np.flatnonzero((values < low) | (values > high))
        if missing.size:
            problems.append(
                f"{file}: {column} is missing in {missing.size} hours, first in hour {missing[0] + 1} of the year"
            )
        elif wrong.size:
            problems.append(
                f"{file}: {column} is {values[wrong[0]]:g} in hour {wrong[0] + 1} of the year,"
                f" must lie between {low:g} and {high:g}"
            )
    if problems:
        raise WeatherError(*problems)


def on_timeline(weather: Weather, timeline: Timeline, file: str) -> Weather:
    """Turn the file's clock into the site's standard time.

    A file whose clock differs from the site's by whole hours is turned around the year's end, so
    that each value keeps its instant; the sun's position is computed from that instant.

    Parameters
    ----------
    weather : Weather
        In the file's own clock.
    timeline : Timeline
        In the site's standard time.
    file : str
        The file's name, for the message.

    Returns
    -------
    Weather
        With one value for each step of the timeline.

    Raises
    ------
    WeatherError
        The two clocks do not differ by whole hours, or differ by more than ``MOST_APART_H``.
    """
    ahead_h = timeline.utc_offset_h - weather.utc_offset_h
    if ahead_h == 0:
        return weather
    if abs(ahead_h) > MOST_APART_H:
        raise WeatherError(
            f"{file}: its clock is UTC{weather.utc_offset_h:+g} h, the standard time of {timeline.zone} is"
            f" UTC{timeline.utc_offset_h:+g} h: that is another part of the world"
        )
    if ahead_h != round(ahead_h):
        raise WeatherError(
            f"{file}: its clock is UTC{weather.utc_offset_h:+g} h, the standard time of {timeline.zone} is"
            f" UTC{timeline.utc_offset_h:+g} h: they must differ by whole hours"
        )
    columns = {name: np.roll(getattr(weather, name), round(ahead_h)) for name in PLAUSIBLE}
    note = (
        f"{file}: its clock is UTC{weather.utc_offset_h:+g} h, the site's standard time"
        f" UTC{timeline.utc_offset_h:+g} h; moved by {ahead_h:+g} h"
    )
    return replace(weather, utc_offset_h=timeline.utc_offset_h, notes=(*weather.notes, note), **columns)
