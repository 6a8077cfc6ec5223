"""Monthly means for tests: those of a year that was read, and a scenario that is made from them."""

from typing import Any

import numpy as np

from solarsim.scenario.model import Scenario
from solarsim.scenario.site import MONTH_DAYS
from solarsim.weather.typical_year import Weather
from tests.builders import scenario

DAYS = np.array(MONTH_DAYS)
MONTH = np.repeat(np.arange(12), DAYS * 24)


def means_of(weather: Weather, seed: int = 1, **changes: Any) -> dict[str, Any]:
    """Give the table ``weather`` of a scenario that knows only a year's monthly means; None removes a key."""
    table: dict[str, Any] = {
        "format": "monthly",
        "place": {key: getattr(weather, key) for key in ("latitude_deg", "longitude_deg", "elevation_m")},
        "ghi_kwh_m2": (np.bincount(MONTH, weather.ghi_w_m2) / 1000).tolist(),
        "temp_air_c": (np.bincount(MONTH, weather.temp_air_c) / (DAYS * 24)).tolist(),
        "wind_speed_m_s": (np.bincount(MONTH, weather.wind_speed_m_s) / (DAYS * 24)).tolist(),
        "seed": seed,
    }
    return {key: value for key, value in {**table, **changes}.items() if value is not None}


def home_of(table: dict[str, Any], zone: str = "America/New_York") -> Scenario:
    """Give the plain home under that weather."""
    return scenario(weather=table, site__time_zone=zone)
