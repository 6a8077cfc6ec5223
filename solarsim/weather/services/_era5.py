"""ERA5 of the Copernicus Climate Data Store: a place and a year in, hours of UTC out.

The whole Earth from 1940, in cells of 0.25 degrees; a free key, and its license accepted once in the browser. Sums of
radiation are of the hour that ends at the label, all else is of that instant (pvlib's documentation). Never tried
against the live service.
"""

from typing import Any, NamedTuple

import numpy as np

from solarsim.weather.services._utc_year import Floats as _Floats
from solarsim.weather.services._utc_year import columns_at, hours_of
from solarsim.weather.sun import Somewhere, sun_up

# The long names of wind are from memory; all others are pvlib's.
_VARIABLES = [
    "ghi",
    "bhi",
    "temp_air",
    "temp_dew",
    "pressure",
    "10m_u_component_of_wind",
    "10m_v_component_of_wind",
]
_LOWEST_SUN = float(np.cos(np.radians(88.0)))  # below it a cosine divides by nothing; the light counts as diffuse
_SOLAR_CONSTANT_W_M2 = 1361.0  # Kopp & Lean, Geophysical Research Letters 38 (2011)
_HOUR = np.timedelta64(1, "h")


class Cell(NamedTuple):
    """Where the answer is of."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float


def hours_from_era5(
    latitude_deg: float, longitude_deg: float, year: int, *, key: str, **how: Any
) -> tuple[dict[str, _Floats], tuple[float, float, float]]:
    """Return a year's columns and the cell's latitude, longitude [deg] and elevation [m].

    Direct irradiance comes on the horizontal; it is divided by the cosine of the sun's zenith at the middle of the
    sun-up part of each hour, so that GHI = DHI + DNI cos(zenith) holds there. Humidity is of air temperature and dew
    point (Magnus, coefficients of Alduchov & Eskridge, J. Applied Meteorology 35, 1996, from memory). The data have no
    elevation: it is that at which a standard atmosphere has the year's mean pressure, good to about 100 m.
    """
    from pvlib import atmosphere, iotools

    table, facts = iotools.get_era5(
        latitude_deg, longitude_deg, f"{year}-01-01", f"{year + 1}-01-01", _VARIABLES, key, **how
    )
    starts = hours_of(year)
    before, after = columns_at(table, starts), columns_at(table, starts + _HOUR)
    cell = Cell(
        float(facts["latitude"]), float(facts["longitude"]), float(atmosphere.pres2alt(np.nanmean(before["pressure"])))
    )
    dni, dhi = direct_and_diffuse(after["ghi"], after["bhi"], cell, starts)
    found = {
        "ghi_w_m2": after["ghi"],
        "dni_w_m2": dni,
        "dhi_w_m2": dhi,
        "temp_air_c": (before["temp_air"] + after["temp_air"]) / 2,
        "wind_speed_m_s": (np.hypot(before["u10"], before["v10"]) + np.hypot(after["u10"], after["v10"])) / 2,
        "relative_humidity": (_humidity(before) + _humidity(after)) / 2,
    }
    return found, cell


def direct_and_diffuse(
    ghi: _Floats, horizontal: _Floats, place: Somewhere, starts: np.ndarray[Any, np.dtype[np.datetime64]]
) -> tuple[_Floats, _Floats]:
    """Split hourly global irradiance by its direct part on the horizontal [W/m2]; ``starts`` is of each hour, UTC.

    Direct light of a sun below 2 degrees, and what would pass the solar constant, is counted as diffuse.
    """
    sun = sun_up(place, starts.astype("datetime64[s]"), 1.0)
    cosine = np.cos(np.radians(sun.apparent_zenith_deg))
    high = cosine > _LOWEST_SUN
    beam = np.divide(horizontal[sun.up], cosine, out=np.zeros(cosine.size), where=high)
    dni = np.zeros(ghi.size)
    dni[sun.up] = np.clip(beam, 0.0, _SOLAR_CONSTANT_W_M2 * sun.share)
    level = np.zeros(ghi.size)
    level[sun.up] = dni[sun.up] * cosine
    return dni, np.asarray(np.maximum(ghi - level, 0.0), np.float64)


def _humidity(instants: dict[str, _Floats]) -> _Floats:
    """Return relative humidity, 0 to 1, from air temperature and dew point [C]."""
    dew, air = instants["temp_dew"], instants["temp_air"]
    exponent = 17.625 * dew / (243.04 + dew) - 17.625 * air / (243.04 + air)
    return np.asarray(np.clip(np.exp(exponent), 0.0, 1.0), np.float64)
