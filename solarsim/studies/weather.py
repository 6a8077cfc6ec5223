"""A year of weather told by month: what a file or a scenario's weather holds, and whether its clock is right."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from solarsim.scenario.model import Scenario
from solarsim.scenario.site import MONTH_DAYS, WeatherFile
from solarsim.weather.label_check import label_offset_min
from solarsim.weather.read import read_weather
from solarsim.weather.source import years_of_weather
from solarsim.weather.sun import elevation_deg
from solarsim.weather.typical_year import Weather

_MONTH = np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24)
_STEP = np.timedelta64(3600, "s")


@dataclass(frozen=True, eq=False)
class Sky:
    """One year of weather, its sums, and what its sun says of its clock.

    Attributes
    ----------
    source : str
        The file, or what the year was made from.
    weather : Weather
        The hours.
    monthly : dict of str to array of float
        Twelve values for each key of ``glossary_studies.SKY`` that is told by month.
    annual : dict of str to float
        The same keys for the year.
    label_offset_min : int or None
        How far the sun stands from where the clock says [min]; None where too few hours have direct sun.
    solar_noon_h : float
        Mean clock time at which the sun is highest, from the longitude and the clock's offset [h].
    sun_elevation_deg : array of float
        In the middle of each hour [deg].
    """

    source: str
    weather: Weather
    monthly: dict[str, NDArray[np.float64]]
    annual: dict[str, float]
    label_offset_min: int | None
    solar_noon_h: float
    sun_elevation_deg: NDArray[np.float64]


def skies_of(scenario: Scenario) -> tuple[Sky, ...]:
    """Tell every year of weather that a scenario names.

    Parameters
    ----------
    scenario : Scenario
        Its weather, on its site's clock.

    Returns
    -------
    tuple of Sky
        The one that runs take first.

    Raises
    ------
    WeatherError
        See ``years_of_weather``.
    """
    years = years_of_weather(scenario, scenario.site.timeline(1.0))
    names = scenario.weather.files or ("monthly means",)
    return tuple(sky_of(weather, name) for weather, name in zip(years, names, strict=True))


def sky_of_file(path: Path, kind: Literal["tmy3", "tm2", "epw"]) -> Sky:
    """Tell a weather file that states its own place.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    kind : str
        ``tmy3``, ``tm2`` or ``epw``.

    Returns
    -------
    Sky
        In the file's own clock.

    Raises
    ------
    WeatherError
        See ``read_weather``.
    """
    return sky_of(read_weather(path, WeatherFile(file=str(path), format=kind)), str(path))


def sky_of(weather: Weather, source: str) -> Sky:
    """Sum a year of weather by month.

    Parameters
    ----------
    weather : Weather
        One year.
    source : str
        The file, or what the year was made from.

    Returns
    -------
    Sky
        Its months and its year.
    """
    monthly = {}
    for key in ("ghi", "dni", "dhi"):
        monthly[f"{key}_kwh_m2"] = np.bincount(_MONTH, getattr(weather, f"{key}_w_m2")) / 1000
    edges = np.flatnonzero(np.diff(_MONTH, prepend=-1))
    hours = np.diff(np.append(edges, _MONTH.size))
    monthly["temp_mean_c"] = np.add.reduceat(weather.temp_air_c, edges) / hours
    monthly["temp_min_c"] = np.minimum.reduceat(weather.temp_air_c, edges)
    monthly["temp_max_c"] = np.maximum.reduceat(weather.temp_air_c, edges)
    monthly["wind_speed_m_s"] = np.add.reduceat(weather.wind_speed_m_s, edges) / hours
    annual = {key: float(values.sum()) for key, values in monthly.items() if key.endswith("_kwh_m2")}
    annual |= {
        "temp_mean_c": float(weather.temp_air_c.mean()),
        "temp_min_c": float(weather.temp_air_c.min()),
        "temp_max_c": float(weather.temp_air_c.max()),
        "wind_speed_m_s": float(weather.wind_speed_m_s.mean()),
    }
    # A year without a leap day, for the same days that the label check takes.
    first = np.datetime64("2001-01-01T00:30:00") - np.timedelta64(round(weather.utc_offset_h * 3600), "s")
    return Sky(
        source=source,
        weather=weather,
        monthly=monthly,
        annual=annual,
        label_offset_min=label_offset_min(weather),
        solar_noon_h=(12.0 + weather.utc_offset_h - weather.longitude_deg / 15) % 24,
        sun_elevation_deg=elevation_deg(weather, first + np.arange(_MONTH.size) * _STEP),
    )
