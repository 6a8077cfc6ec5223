"""Plane-of-array irradiance: weather, sun and shade in, irradiance on the glass and through it out.

Sky models: Driesse, Jensen & Perez (2024), Hay & Davies (1980), both through pvlib.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from pvlib import iam, irradiance

from solarsim.production._shade import Shade
from solarsim.production._sun import Sun
from solarsim.scenario.roof.roof import Array
from solarsim.weather.typical_year import Weather

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PlaneIrradiance:
    """Irradiance on a tilted plane, mean of each step in which the sun is up.

    Attributes
    ----------
    incident_w_m2 : array of float
        On the glass [W/m2]: it heats the cells.
    effective_w_m2 : array of float
        Through the glass [W/m2]: it makes power.
    shaded_w_m2 : dict of str to array of float
        On the glass without any shade, ``open``, then after each shade in order [W/m2].
    """

    incident_w_m2: Floats
    effective_w_m2: Floats
    shaded_w_m2: dict[str, Floats] = field(default_factory=dict)


def plane_irradiance(
    array: Array, weather: Weather, sun: Sun, model: str, albedo: float, shades: dict[str, Shade] | None = None
) -> PlaneIrradiance:
    """Return the irradiance on an array's plane and through its glass, in steps with the sun up."""
    # Incidence losses follow the physical glass model (De Soto et al. 2006) for the beam, integrated over sky and
    # ground for the diffuse parts (Marion 2017). The albedo columns of weather files are not used: they are often 0.
    # The back of bifacial modules is left out.
    dni, dhi = weather.dni_w_m2[sun.up], weather.dhi_w_m2[sun.up]
    dni_extra = irradiance.get_extra_radiation(sun.instant).to_numpy()
    plane = (array.tilt_deg, array.azimuth_deg)
    parts = irradiance.get_total_irradiance(
        *plane,
        sun.apparent_zenith_deg,
        sun.azimuth_deg,
        dni,
        weather.ghi_w_m2[sun.up],
        dhi,
        dni_extra=dni_extra,
        albedo=albedo,
        model=model,
    )
    aoi = irradiance.aoi(*plane, sun.apparent_zenith_deg, sun.azimuth_deg)
    through = iam.marion_diffuse("physical", array.tilt_deg)
    sky, ground = np.nan_to_num(parts["poa_sky_diffuse"]), parts["poa_ground_diffuse"]
    direct = parts["poa_direct"]
    open_w_m2 = direct + sky + ground
    shaded = {"open": open_w_m2}
    if shades:
        transpose = {"perez-driesse": irradiance.perez_driesse, "haydavies": irradiance.haydavies}[model]
        skies = transpose(*plane, dhi, dni, dni_extra, sun.apparent_zenith_deg, sun.azimuth_deg, return_components=True)
        ring = np.clip(np.nan_to_num(skies["poa_circumsolar"]), 0.0, sky)
        rest = sky - ring
        for cause, shade in shades.items():
            direct, ring, rest = direct * shade.beam, ring * shade.beam, rest * shade.sky
            shaded[cause] = direct + ring + rest + ground
        sky = ring + rest
    effective = direct * iam.physical(aoi) + sky * through["sky"] + ground * through["ground"]
    return PlaneIrradiance(
        incident_w_m2=direct + sky + ground, effective_w_m2=np.maximum(effective, 0.0), shaded_w_m2=shaded
    )
