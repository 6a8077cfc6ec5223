"""Where the sun stands in each step: place and timeline in, angles for the sun-up part out."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pvlib import solarposition

from solarsim.scenario.timeline import Timeline
from solarsim.weather.typical_year import Weather

# Standard refraction lifts the sun by 0.57 deg at the horizon, and its disc has a radius of 0.27 deg.
_HORIZON_DEG = -0.83


@dataclass(frozen=True, eq=False)
class Sun:
    """The sun's position in the steps in which it is up, one entry for each of those.

    Attributes
    ----------
    up : array of bool
        Whether the sun is up in any part of the step; one entry for each step of the year.
    instant : pandas.DatetimeIndex
        For which the position holds, UTC: the middle of the part of the step with the sun up.
    apparent_zenith_deg : array of float
        With refraction [deg].
    azimuth_deg : array of float
        Clockwise from north [deg].
    """

    up: NDArray[np.bool_]
    instant: pd.DatetimeIndex
    apparent_zenith_deg: NDArray[np.float64]
    azimuth_deg: NDArray[np.float64]


def sun_over(weather: Weather, timeline: Timeline) -> Sun:
    """Compute the sun's position at the middle of the sun-up part of each step.

    Sunrise and sunset within a step are interpolated between the sun's elevations at the step's
    ends; against the exact algorithm that is good to two minutes at 40 deg of latitude, four at 60.

    Parameters
    ----------
    weather : Weather
        Gives the place.
    timeline : Timeline
        The year.

    Returns
    -------
    Sun
        NREL's solar position algorithm (Reda & Andreas, NREL/TP-560-34302, 2008) through pvlib.
    """
    step_s = round(timeline.step_h * 3600)
    start = timeline.utc_start
    # Sunrise and sunset need a fast, coarse position (0.01 deg); the flux needs the exact one.
    edges = pd.DatetimeIndex(np.concatenate([start, start + np.timedelta64(step_s, "s")]), tz="UTC")
    coarse = solarposition.ephemeris(edges, weather.latitude_deg, weather.longitude_deg)
    elevation = coarse["elevation"].to_numpy() - _HORIZON_DEG
    before, after = elevation[: start.size], elevation[start.size :]

    up = (before > 0) | (after > 0)
    start, before, after = start[up], before[up], after[up]
    crossing = np.divide(before, before - after, out=np.zeros(start.size), where=before * after < 0)
    first = np.where(before < 0, crossing, 0.0)
    last = np.where(after < 0, crossing, 1.0)
    middle = start + np.round((first + last) / 2 * step_s).astype("timedelta64[s]")

    instant = pd.DatetimeIndex(middle, tz="UTC")
    exact = solarposition.get_solarposition(
        instant, weather.latitude_deg, weather.longitude_deg, altitude=weather.elevation_m, method="nrel_numpy"
    )
    return Sun(
        up=up,
        instant=instant,
        apparent_zenith_deg=exact["apparent_zenith"].to_numpy(),
        azimuth_deg=exact["azimuth"].to_numpy(),
    )
