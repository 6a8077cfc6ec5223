"""A typical year of weather: what every reader returns, in a fixed clock, labeled by the start of each hour."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

HOURS = 8760
#: Wider than any surface station has recorded; what is outside is a missing-value code or a wrong unit.
PLAUSIBLE = {
    "ghi_w_m2": (0.0, 1500.0),
    "dni_w_m2": (0.0, 1500.0),
    "dhi_w_m2": (0.0, 1000.0),
    "temp_air_c": (-90.0, 65.0),
    "wind_speed_m_s": (0.0, 90.0),
}


@dataclass(frozen=True, eq=False)
class Weather:
    """One year of weather at one place, hour by hour or step by step.

    Attributes
    ----------
    place : str
        The station's name.
    latitude_deg, longitude_deg : float
        North and east positive [deg].
    elevation_m : float
        Above sea level [m].
    utc_offset_h : float
        Clock of the rows minus UTC [h].
    ghi_w_m2, dni_w_m2, dhi_w_m2 : arrays of float
        Global horizontal, direct normal and diffuse horizontal irradiance, mean of the hour or step [W/m2].
    temp_air_c : array of float
        Dry-bulb temperature [C].
    wind_speed_m_s : array of float
        At 10 m above ground [m/s].
    notes : tuple of str
        What was repaired in the file, or is doubtful.
    year_of_month : tuple of int
        The calendar year of each of the twelve months, where the file has it.
    """

    place: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    utc_offset_h: float
    ghi_w_m2: NDArray[np.float64]
    dni_w_m2: NDArray[np.float64]
    dhi_w_m2: NDArray[np.float64]
    temp_air_c: NDArray[np.float64]
    wind_speed_m_s: NDArray[np.float64]
    notes: tuple[str, ...] = ()
    year_of_month: tuple[int, ...] = ()
