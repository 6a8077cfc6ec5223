"""Position of the sun in each step of the year: weather and timeline in, angles for the sun-up part out."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import solarposition

from solarsim.clock.timeline import Timeline
from solarsim.weather.sun import SunUp, sun_up
from solarsim.weather.typical_year import Weather

Sun = SunUp
_PIECES = 6


def sun_over(weather: Weather, timeline: Timeline) -> SunUp:
    """Return the sun's position over the place of the weather."""
    return sun_up(weather, timeline.utc_start, timeline.step_h)


@dataclass(frozen=True, eq=False)
class SunWithin:
    """The sun's path: one row for each step with the sun up, equidistant times from sunrise or start to sunset or end.

    Attributes
    ----------
    elevation_deg : array of float
        With refraction [deg].
    azimuth_deg : array of float
        Clockwise from north [deg].
    """

    elevation_deg: NDArray[np.float64]
    azimuth_deg: NDArray[np.float64]


def sun_within(weather: Weather, sun: SunUp, step_h: float) -> SunWithin:
    """Return the sun's path through the sun-up part of each step, good to 0.01 deg (pvlib's ephemeris)."""
    middle = sun.instant.tz_localize(None).to_numpy().astype("datetime64[s]")
    offset_s = np.linspace(-0.5, 0.5, _PIECES + 1)[None, :] * (sun.share * step_h * 3600.0)[:, None]
    when = middle[:, None] + np.round(offset_s).astype("timedelta64[s]")
    found = solarposition.ephemeris(
        pd.DatetimeIndex(when.ravel(), tz="UTC"), weather.latitude_deg, weather.longitude_deg
    )
    elevation, azimuth = (found[name].to_numpy().reshape(when.shape) for name in ("apparent_elevation", "azimuth"))
    return SunWithin(elevation, azimuth)
