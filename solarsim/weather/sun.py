"""The sun's position in each step of a year: place and steps in, angles for the sun-up part out."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import pandas as pd

#: Standard refraction lifts the sun by 0.57 deg at the horizon, and its disc has a radius of 0.27 deg.
HORIZON_DEG = -0.83


class Somewhere(Protocol):
    """Anything with a position: a place of the scenario, or weather that was read."""

    @property
    def latitude_deg(self) -> float:
        """North is positive [deg]."""

    @property
    def longitude_deg(self) -> float:
        """East is positive [deg]."""

    @property
    def elevation_m(self) -> float:
        """Above sea level [m]."""


@dataclass(frozen=True, eq=False)
class SunUp:
    """The sun's position in the steps in which it is up, one entry for each of those.

    Attributes
    ----------
    up : array of bool
        Whether the sun is up in any part of the step; one entry for each step of the year.
    share : array of float
        The part of the step with the sun up, 0-1.
    instant : pandas.DatetimeIndex
        For which the position holds, UTC: the middle of the part of the step with the sun up.
    apparent_zenith_deg : array of float
        With refraction [deg].
    azimuth_deg : array of float
        Clockwise from north [deg].
    """

    up: NDArray[np.bool_]
    share: NDArray[np.float64]
    instant: "pd.DatetimeIndex"
    apparent_zenith_deg: NDArray[np.float64]
    azimuth_deg: NDArray[np.float64]


def sun_up(place: Somewhere, utc_start: NDArray[np.datetime64], step_h: float) -> SunUp:
    """Compute the sun's position at the middle of the sun-up part of each step.

    Sunrise and sunset within a step are interpolated between the sun's elevations at the step's
    ends; against the exact algorithm that is good to two minutes at 40 deg of latitude, four at 60.

    Parameters
    ----------
    place : Somewhere
        Where.
    utc_start : array of datetime64[s]
        Start of each step, UTC.
    step_h : float
        Length of a step [h].

    Returns
    -------
    SunUp
        NREL's solar position algorithm (Reda & Andreas, NREL/TP-560-34302, 2008) through pvlib.
    """
    import pandas as pd
    from pvlib import solarposition

    step_s = round(step_h * 3600)
    # Sunrise and sunset need a fast, coarse position (0.01 deg); the flux needs the exact one.
    edges = np.concatenate([utc_start, utc_start + np.timedelta64(step_s, "s")])
    elevation = elevation_deg(place, edges) - HORIZON_DEG
    before, after = elevation[: utc_start.size], elevation[utc_start.size :]

    up = (before > 0) | (after > 0)
    start, before, after = utc_start[up], before[up], after[up]
    crossing = np.divide(before, before - after, out=np.zeros(start.size), where=before * after < 0)
    first = np.where(before < 0, crossing, 0.0)
    last = np.where(after < 0, crossing, 1.0)
    middle = start + np.round((first + last) / 2 * step_s).astype("timedelta64[s]")

    instant = pd.DatetimeIndex(middle, tz="UTC")
    exact = solarposition.get_solarposition(
        instant, place.latitude_deg, place.longitude_deg, altitude=place.elevation_m, method="nrel_numpy"
    )
    return SunUp(
        up=up,
        share=last - first,
        instant=instant,
        apparent_zenith_deg=exact["apparent_zenith"].to_numpy(),
        azimuth_deg=exact["azimuth"].to_numpy(),
    )


def elevation_deg(place: Somewhere, utc: NDArray[np.datetime64]) -> NDArray[np.float64]:
    """Compute the sun's elevation, fast and to 0.01 deg, without refraction.

    Parameters
    ----------
    place : Somewhere
        Where.
    utc : array of datetime64[s]
        When.

    Returns
    -------
    array of float
        Above the horizon [deg]; pvlib's ephemeris.
    """
    import pandas as pd
    from pvlib import solarposition

    when = pd.DatetimeIndex(utc, tz="UTC")
    sun = solarposition.ephemeris(when, place.latitude_deg, place.longitude_deg)
    return np.asarray(sun["elevation"].to_numpy(), np.float64)
