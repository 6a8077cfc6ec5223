"""DC power of the roof: weather, sun and arrays in, kilowatts at each DC input out.

Every physical step is pvlib's; this file only names the models and strings them together.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from pvlib import iam, irradiance, pvsystem, temperature

from solarsim.production.offered import DcPower, limited
from solarsim.production.sun import Sun, sun_over
from solarsim.scenario.model import Scenario
from solarsim.scenario.system import Array, Losses
from solarsim.scenario.timeline import Timeline
from solarsim.weather.typical_year import Weather

TRANSPOSITION = {"perez_driesse": "perez-driesse", "hay_davies": "haydavies"}
# King et al., SAND2004-3535, table 1, as pvlib carries it.
MOUNTING = {"roof": "close_mount_glass_glass", "rack": "open_rack_glass_polymer"}


def dc_power(scenario: Scenario, weather: Weather, timeline: Timeline) -> DcPower:
    """Compute the DC power of every array and limit it at the inverter's inputs.

    Parameters
    ----------
    scenario : Scenario
        Arrays, losses, sky model, albedo and the inverter's inputs.
    weather : Weather
        On the timeline.
    timeline : Timeline
        The year.

    Returns
    -------
    DcPower
        One entry for each step.

    Notes
    -----
    Not modelled: voltage windows, snow, horizon, spectrum, module ageing beyond ``losses``.
    """
    power = np.zeros((len(scenario.inverter.inputs), len(timeline)))
    array_kw: dict[str, NDArray[np.float64]] = {}
    if scenario.arrays:
        sun = sun_over(weather, timeline)
        model, kept = TRANSPOSITION[scenario.production.transposition], share_kept(scenario.losses)
        for array in scenario.arrays:
            plane = plane_irradiance(array, weather, sun, model, scenario.site.albedo)
            array_kw[array.name] = np.zeros(len(timeline))
            array_kw[array.name][sun.up] = kept * power_of(array, plane, weather, sun)
            power[array.input - 1] += array_kw[array.name]
    limits = np.array([each.max_kw for each in scenario.inverter.inputs])
    return limited(array_kw, power, limits)


@dataclass(frozen=True, eq=False)
class PlaneIrradiance:
    """Irradiance on a tilted plane, mean of each step in which the sun is up.

    Attributes
    ----------
    incident_w_m2 : array of float
        On the glass [W/m2]: it heats the cells.
    effective_w_m2 : array of float
        Through the glass [W/m2]: it makes power.
    """

    incident_w_m2: NDArray[np.float64]
    effective_w_m2: NDArray[np.float64]


def plane_irradiance(array: Array, weather: Weather, sun: Sun, model: str, albedo: float) -> PlaneIrradiance:
    """Bring horizontal irradiance onto an array's plane and through its glass.

    Parameters
    ----------
    array : Array
        Tilt and azimuth.
    weather : Weather
        Irradiance [W/m2].
    sun : Sun
        Position.
    model : str
        pvlib's name of the sky-diffuse model: ``perez-driesse`` (Driesse, Jensen & Perez 2024) or
        ``haydavies`` (Hay & Davies 1980).
    albedo : float
        Of the ground, 0-1. Columns of weather files are not used: they are often 0.

    Returns
    -------
    PlaneIrradiance
        One entry for each step with the sun up. Incidence-angle losses follow the physical glass model (De Soto
        et al. 2006) for the beam, integrated over sky and ground for the diffuse parts (Marion 2017).
    """
    parts = irradiance.get_total_irradiance(
        array.tilt_deg,
        array.azimuth_deg,
        sun.apparent_zenith_deg,
        sun.azimuth_deg,
        weather.dni_w_m2[sun.up],
        weather.ghi_w_m2[sun.up],
        weather.dhi_w_m2[sun.up],
        dni_extra=irradiance.get_extra_radiation(sun.instant).to_numpy(),
        albedo=albedo,
        model=model,
    )
    aoi = irradiance.aoi(array.tilt_deg, array.azimuth_deg, sun.apparent_zenith_deg, sun.azimuth_deg)
    through = iam.marion_diffuse("physical", array.tilt_deg)
    sky, ground = np.nan_to_num(parts["poa_sky_diffuse"]), parts["poa_ground_diffuse"]
    direct = parts["poa_direct"]
    effective = direct * iam.physical(aoi) + sky * through["sky"] + ground * through["ground"]
    return PlaneIrradiance(incident_w_m2=direct + sky + ground, effective_w_m2=np.maximum(effective, 0.0))


def power_of(array: Array, plane: PlaneIrradiance, weather: Weather, sun: Sun) -> NDArray[np.float64]:
    """Compute an array's DC power from its rating, before losses.

    Parameters
    ----------
    array : Array
        Rating, temperature coefficient and mounting.
    plane : PlaneIrradiance
        On the array.
    weather : Weather
        Air temperature [C] and wind [m/s].
    sun : Sun
        Tells in which steps it is up.

    Returns
    -------
    array of float
        Power in the steps with the sun up [kW]:
        rating x effective irradiance / 1000 W/m2 x (1 + coefficient x (cell - 25 C)).
        Cell temperature after King et al. (SAND2004-3535, 2004).
    """
    parameters = temperature.TEMPERATURE_MODEL_PARAMETERS["sapm"][MOUNTING[array.mounting]]
    cell_c = temperature.sapm_cell(
        plane.incident_w_m2, weather.temp_air_c[sun.up], weather.wind_speed_m_s[sun.up], **parameters
    )
    kw = pvsystem.pvwatts_dc(plane.effective_w_m2, cell_c, array.kw, array.temperature_coefficient_per_c)
    return np.maximum(np.asarray(kw, np.float64), 0.0)


def share_kept(losses: Losses) -> float:
    """Multiply what each named loss leaves over.

    Parameters
    ----------
    losses : Losses
        Shares lost, 0-1.

    Returns
    -------
    float
        Share of the power that reaches the inverter, 0-1.
    """
    return float(np.prod([1.0 - share for share in losses.model_dump().values()]))
