"""Real years by a local clock: years of UTC in, one ``Weather`` for each calendar year out."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.weather._repairs import by_clock
from solarsim.weather.read import checked_year
from solarsim.weather.services._utc_year import COLUMNS, UtcYear, hours_of
from solarsim.weather.services._utc_year import Floats as _Floats
from solarsim.weather.typical_year import PLAUSIBLE, Weather

_DECIMALS = 2  # finer than any service measures


class RealYear(NamedTuple):
    """A calendar year as it was."""

    year: int
    weather: Weather  # 29 February left out
    relative_humidity: _Floats  # of the same hours, 0 to 1; NaN where there is none


class Site(NamedTuple):
    """For whom the years are.

    Attributes
    ----------
    name : str
        Of the place.
    latitude_deg, longitude_deg : float
        North and east positive [deg].
    elevation_m : float
        Above sea level [m].
    utc_offset_h : float
        Clock of the years less UTC [h].
    """

    name: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    utc_offset_h: float


def years_by_clock(found: Sequence[UtcYear], site: Site, service: str) -> tuple[RealYear, ...]:
    """Cut years of UTC into years of a local clock, and check each as a file is checked.

    Parameters
    ----------
    found : sequence of UtcYear
        Years that follow each other.
    site : Site
        Place and clock. Hours of a clock that differs from UTC by a part of an hour are made of parts of two.
    service : str
        Its name, for notes.

    Returns
    -------
    tuple of RealYear
        One for each year. 29 February is left out. Where the clock needs hours before the first year or after the last,
        those of the same day a year later or earlier are used.

    Raises
    ------
    WeatherError
        See ``read_weather``.
    """
    whole_h = int(np.floor(site.utc_offset_h))
    columns = {name: np.concatenate([each.columns[name] for each in found]) for name in COLUMNS.values()}
    first, hours = hours_of(found[0].year)[0], columns["ghi_w_m2"].size
    years = []
    for each in found:
        local = hours_of(each.year)
        places = (local - np.timedelta64(whole_h, "h") - first).astype(np.int64)
        places = np.where(places < 0, places + local.size, places)
        places = np.where(places >= hours, places - local.size, places)
        cut = {name: values[places[_kept_days(local)]] for name, values in columns.items()}
        years.append(_checked(each.year, cut, site, float(whole_h), f"{service} {each.year}"))
    return tuple(years)


def _kept_days(local: NDArray[np.datetime64]) -> NDArray[np.bool_]:
    """Return which hours are not of 29 February."""
    month = local.astype("datetime64[M]")
    leap = (month.astype(np.int64) % 12 == 1) & ((local - month).astype("timedelta64[h]").astype(np.int64) >= 28 * 24)
    return np.asarray(~leap)


def _checked(year: int, columns: dict[str, _Floats], site: Site, whole_h: float, name: str) -> RealYear:
    humidity = columns["relative_humidity"]
    # Adding 0 makes a zero of a negative one.
    sky: dict[str, Any] = {each: columns[each].round(_DECIMALS) + 0.0 for each in PLAUSIBLE}
    weather = Weather(
        place=site.name,
        latitude_deg=site.latitude_deg,
        longitude_deg=site.longitude_deg,
        elevation_m=site.elevation_m,
        utc_offset_h=whole_h,
        year_of_month=(year,) * 12,
        **sky,
    )
    weather = checked_year(weather, name)
    part = site.utc_offset_h - whole_h
    if part:
        moved = by_clock(weather, site.utc_offset_h)
        rounded = {each: getattr(moved, each).round(_DECIMALS) + 0.0 for each in PLAUSIBLE}
        weather = replace(moved, **rounded)
        humidity = (1 - part) * humidity + part * np.roll(humidity, 1)
    return RealYear(year, weather, humidity)
