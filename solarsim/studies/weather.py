"""A year of weather by month: a scenario or a weather file in; sums, and whether its clock is right, out."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from solarsim.results import Result, computed, fact
from solarsim.scenario.model import WeatherScenario
from solarsim.scenario.needs import Need
from solarsim.scenario.site import MONTH_DAYS, WeatherFile
from solarsim.weather.label_check import label_offset_min
from solarsim.weather.read import read_weather
from solarsim.weather.source import years_of_weather
from solarsim.weather.sun import elevation_deg
from solarsim.weather.typical_year import Weather

#: What the command needs beyond what every scenario has.
NEEDS: tuple[Need, ...] = ()

_MONTH = np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24)
_STEP = np.timedelta64(3600, "s")


@dataclass(frozen=True, eq=False, repr=False)
class WeatherSums(Result):
    """Sums and means of a month, or of the year."""

    month: int | None = fact("1 to 12; null: the year", "1")
    ghi_kwh_m2: float = fact("global horizontal irradiation", "kWh/m2")
    dni_kwh_m2: float = fact("direct normal irradiation", "kWh/m2")
    dhi_kwh_m2: float = fact("diffuse horizontal irradiation", "kWh/m2")
    temp_mean_c: float = fact("mean air temperature", "C")
    temp_min_c: float = fact("lowest hourly air temperature", "C")
    temp_max_c: float = fact("highest hourly air temperature", "C")
    wind_speed_m_s: float = fact("mean wind speed at 10 m", "m/s")
    year_of_month: int | None = fact("calendar year the month was taken from; null where the file has none", "1")


@dataclass(frozen=True, eq=False, repr=False)
class Place(Result):
    """Where a year of weather was measured, and by which clock."""

    name: str = fact("name of the station or site", "text")
    latitude_deg: float = fact("north is positive", "deg")
    longitude_deg: float = fact("east is positive", "deg")
    elevation_m: float = fact("above sea level", "m")
    utc_offset_h: float = fact("clock of the hours minus UTC", "h")


@dataclass(frozen=True, eq=False, repr=False)
class YearOfWeather(Result):
    """One year of weather, its sums, and what the sun says of its clock."""

    _rows = "months"

    weather: Weather  # the hours
    sun_elevation_deg: NDArray[np.float64]  # in the middle of each hour
    source: str = fact("the file, or what the year was made from", "text")
    place: Place = fact("where and by which clock", "record")
    annual: WeatherSums = fact("of the year", "record")
    months: tuple[WeatherSums, ...] = fact("of each month", "table")
    label_offset_min: int | None = fact(
        "how far the irradiance is off the sun's position by the clock; null where too few hours have direct sun", "min"
    )
    solar_noon_h: float = fact("mean clock time of solar noon, from longitude and time zone", "h")
    notes: tuple[str, ...] = fact("what was repaired in the file, or is doubtful about it", "list")


@dataclass(frozen=True, eq=False, repr=False)
class WeatherYears(Result):
    """All years of weather of a scenario, or one file."""

    _rows = "years"

    scenario: str | None = fact("name of the scenario; null of a file alone", "text")
    years: tuple[YearOfWeather, ...] = fact("each year; simulations use the first", "table")

    @computed("what a reader should know: the notes of all years", "list")
    def notes(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(note for year in self.years for note in year.notes))


def weather_year(scenario: WeatherScenario) -> WeatherYears:
    """Return every year of weather that a scenario names.

    Parameters
    ----------
    scenario : WeatherScenario
        Its weather, on its site's clock.

    Returns
    -------
    WeatherYears
        The one that simulations use first.

    Raises
    ------
    WeatherError
        See ``years_of_weather``.

    Examples
    --------
    >>> import solarsim
    >>> found = solarsim.weather_year(solarsim.read_scenario())
    >>> round(found.years[0].annual.ghi_kwh_m2, 1)
    1566.2
    """
    years = years_of_weather(scenario, scenario.site.timeline(1.0))
    names = scenario.weather.files or ("monthly means",)
    return WeatherYears(
        scenario.name, tuple(year_of_weather(weather, name) for weather, name in zip(years, names, strict=True))
    )


def weather_file_year(path: Path, kind: Literal["tmy3", "tm2", "epw", "psm", "pvgis"]) -> WeatherYears:
    """Return the year of a weather file that states its own place.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    kind : str
        ``tmy3``, ``tm2``, ``epw``, ``psm`` or ``pvgis``.

    Returns
    -------
    WeatherYears
        One year, by the file's own clock.

    Raises
    ------
    WeatherError
        See ``read_weather``.
    """
    return WeatherYears(
        None, (year_of_weather(read_weather(path, WeatherFile(file=str(path), format=kind)), str(path)),)
    )


def year_of_weather(weather: Weather, source: str) -> YearOfWeather:
    """Sum a year of weather by month and check its clock.

    Parameters
    ----------
    weather : Weather
        Hour by hour.
    source : str
        What it is from.

    Returns
    -------
    YearOfWeather
        By its own clock.
    """
    # A year without a leap day, with the days that the label check uses.
    first = np.datetime64("2001-01-01T00:30:00") - np.timedelta64(round(weather.utc_offset_h * 3600), "s")
    years = weather.year_of_month
    return YearOfWeather(
        weather=weather,
        sun_elevation_deg=elevation_deg(weather, first + np.arange(_MONTH.size) * _STEP),
        source=source,
        place=Place(
            weather.place, weather.latitude_deg, weather.longitude_deg, weather.elevation_m, weather.utc_offset_h
        ),
        annual=_sums(weather, np.ones(_MONTH.size, np.bool_), None, None),
        months=tuple(
            _sums(weather, np.equal(_MONTH, place), place + 1, years[place] if years else None) for place in range(12)
        ),
        label_offset_min=label_offset_min(weather),
        solar_noon_h=(12.0 + weather.utc_offset_h - weather.longitude_deg / 15) % 24,
        notes=tuple(weather.notes),
    )


def _sums(weather: Weather, hours: NDArray[np.bool_], month: int | None, year: int | None) -> WeatherSums:
    """Return the sums and means of some hours."""
    temp_c = weather.temp_air_c[hours]
    return WeatherSums(
        month=month,
        ghi_kwh_m2=float(weather.ghi_w_m2[hours].sum()) / 1000,
        dni_kwh_m2=float(weather.dni_w_m2[hours].sum()) / 1000,
        dhi_kwh_m2=float(weather.dhi_w_m2[hours].sum()) / 1000,
        temp_mean_c=float(temp_c.mean()),
        temp_min_c=float(temp_c.min()),
        temp_max_c=float(temp_c.max()),
        wind_speed_m_s=float(weather.wind_speed_m_s[hours].mean()),
        year_of_month=year,
    )
