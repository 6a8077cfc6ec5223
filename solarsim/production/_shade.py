"""Shade: horizon and near obstacles in, the share of beam and sky that passes out.

Beam and the bright ring around the sun are blocked together. A horizon hides the part of an evenly bright sky that it
covers as the tilted plane sees it (isotropic view factor, as in Duffie & Beckman, Solar Engineering of Thermal
Processes, section 2.15). Light from the ground stays. A string that is shaded in part loses more than its share of
light (bypass diodes): that is not modeled.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from pvlib import irradiance

from solarsim.clock.timeline import Timeline
from solarsim.production._sun import Sun, SunWithin
from solarsim.scenario.roof.roof import NearShade
from solarsim.scenario.site import Horizon

_FINE_DEG = 1.0
_LEAST_WEIGHT = 1e-9
_SEA_DEG = -1.0  # a sun that is up is above a flat horizon, by refraction too


@dataclass(frozen=True, eq=False)
class Shade:
    """Shares of light that pass; arrays have one entry for each step with the sun up.

    Attributes
    ----------
    beam : array of float
        Share of the beam and of the ring around the sun, 0-1.
    sky : float
        Share of the rest of the sky's light, 0-1.
    """

    beam: NDArray[np.float64]
    sky: float


def behind_horizon(horizon: Horizon, within: SunWithin, tilt_deg: float, azimuth_deg: float) -> Shade:
    """Return the shares of beam and sky that a horizon lets pass; the sun counts as a point."""
    # Of the beam it is the part of the sun-up time in which the sun is above the line, each minute weighted by the
    # cosine of its angle of incidence: of a steady beam that is the part of the energy.
    line = horizon.elevation_at(within.azimuth_deg)
    clear = within.elevation_deg - np.where(line > 0.0, line, _SEA_DEG)
    zenith_deg = 90.0 - within.elevation_deg
    cosine = irradiance.aoi_projection(tilt_deg, azimuth_deg, zenith_deg, within.azimuth_deg)
    weight = np.maximum(cosine, _LEAST_WEIGHT)  # behind the plane all minutes count alike
    weight = weight[:, :-1] + weight[:, 1:]
    beam = (_share_above_0(clear) * weight).sum(axis=1) / weight.sum(axis=1)
    return Shade(beam=np.asarray(beam), sky=sky_share(horizon, tilt_deg, azimuth_deg))


def _share_above_0(edges: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the share of each straight line between neighboring points of a row that is above 0."""
    before, after = edges[:, :-1], edges[:, 1:]
    high, low = np.maximum(before, after), np.minimum(before, after)
    crossing = np.divide(high, high - low, out=np.zeros_like(high), where=high > low)
    return np.where(low >= 0.0, 1.0, np.where(high <= 0.0, 0.0, crossing))


def sky_share(horizon: Horizon, tilt_deg: float, azimuth_deg: float) -> float:
    """Return the share of an evenly bright sky's light that a plane still receives above the horizon."""
    height = np.arange(_FINE_DEG / 2, 90.0, _FINE_DEG)[:, None]
    around = np.arange(_FINE_DEG / 2, 360.0, _FINE_DEG)[None, :]
    tilt, up = np.radians(tilt_deg), np.radians(height)
    facing = np.sin(up) * np.cos(tilt) + np.cos(up) * np.sin(tilt) * np.cos(np.radians(around - azimuth_deg))
    seen = np.maximum(facing, 0.0) * np.cos(up)
    # A cell of the sky that the line cuts counts by the part above it.
    line = horizon.elevation_at(around)
    above = np.clip((height + _FINE_DEG / 2 - line) / _FINE_DEG, 0.0, 1.0)
    return float((seen * above).sum() / seen.sum())


def behind_things(near: NearShade, sun: Sun, timeline: Timeline) -> Shade:
    """Return the shares of beam and sky that near obstacles let pass, by month and hour in standard time."""
    standard = timeline.standard
    hour = (standard - standard.astype("datetime64[D]")).astype("timedelta64[h]").astype(np.int64)
    blocked = np.array(near.beam_blocked)[timeline.standard_month - 1, hour]
    return Shade(beam=1.0 - blocked[sun.up], sky=1.0 - near.sky_hidden)
