"""Parts of a house and plain weather for tests: tables that say only what a test is about."""

import json
from typing import Any

import numpy as np
from hypothesis import strategies as st
from numpy.typing import ArrayLike
from pydantic import TypeAdapter

from solarsim.scenario.load.appliances import HousePart, HouseParts
from solarsim.weather.typical_year import HOURS, Weather
from tests.draws import windows

PARTS: dict[str, dict[str, Any]] = {
    "appliance": {"power_w": 100, "always_duty": 0.5},
    "shape": {"annual_kwh": 2000, "shape": "evenings"},
    "electric_car": {
        "km_per_day": {"weekday": 40, "weekend": 40},
        "kwh_per_km": 0.18,
        "charging_efficiency": 0.9,
        "charger_kw": 4,
        "battery_kwh": 60,
        "plugged_in": [{"from": "18:00", "to": "07:00"}],
    },
    "heat_pump": {
        "ua_kw_per_k": 0.2,
        "base_c": 18,
        "points": [{"at_c": -7, "cop": 2.6}, {"at_c": 7, "cop": 4.0}],
        "max_kw": 3,
        "backup": False,
    },
    "air_conditioner": {
        "ua_kw_per_k": 0.2,
        "base_c": 22,
        "points": [{"at_c": 35, "cop": 3.0}, {"at_c": 27, "cop": 4.6}],
        "max_kw": 3,
    },
    "water_heater": {
        "liters_per_day": 200,
        "water_use": "morning_and_evening",
        "inlet_c": 10,
        "set_c": 55,
        "efficiency": 1.0,
        "heater_kw": 3,
    },
    "well_pump": {"liters_per_day": 1000, "water_use": "even", "head_m": 50, "efficiency": 0.5, "power_w": 750},
}


def table(kind: str, /, **changes: Any) -> dict[str, Any]:
    """Give a plain part of a kind with keys replaced; None removes a key."""
    whole = {"kind": kind, "name": kind.replace("_", " "), "critical": False, **PARTS[kind], **changes}
    return {key: value for key, value in whole.items() if value is not None}


def parts(*tables: object) -> tuple[HousePart, ...]:
    """Validate tables as a scenario's ``load.parts``, through JSON as a scenario file is."""
    return TypeAdapter[tuple[HousePart, ...]](HouseParts).validate_json(json.dumps(tables))


def part(kind: str, /, **changes: Any) -> Any:
    """Validate one plain part with keys replaced."""
    return parts(table(kind, **changes))[0]


def weather(temp_air_c: ArrayLike = 10.0, ghi_w_m2: ArrayLike = 0.0) -> Weather:
    """Give a year of which only temperature and sun matter, constant or hour by hour."""
    nothing = np.zeros(HOURS)
    return Weather(
        place="nowhere",
        latitude_deg=36.0,
        longitude_deg=-80.0,
        elevation_m=0.0,
        utc_offset_h=-5.0,
        ghi_w_m2=np.broadcast_to(np.asarray(ghi_w_m2, np.float64), HOURS),
        dni_w_m2=nothing,
        dhi_w_m2=nothing,
        temp_air_c=np.broadcast_to(np.asarray(temp_air_c, np.float64), HOURS),
        wind_speed_m_s=nothing,
    )


def steps(low: float, high: float) -> st.SearchStrategy[float]:
    """Draw one of 21 even steps between two numbers."""
    return st.integers(0, 20).map(lambda step: round(low + (high - low) * step / 20, 6))


def some(key: str, values: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    """Draw a table with the key, or without."""
    return st.fixed_dictionaries({}, optional={key: values})


def _holds(window: dict[str, Any]) -> bool:
    """Whether some day of a year with holidays is in it: months may have none."""
    return window.get("days") != ["holiday"] or "months" not in window


@st.composite
def tables(draw: st.DrawFn) -> dict[str, Any]:
    """Draw one part of any kind, in ranges in which its limits bind in some draws and not in others."""
    kind = draw(st.sampled_from(sorted(PARTS)))
    when = st.lists(windows().filter(_holds), min_size=1, max_size=2)
    changes: dict[str, Any] = {"critical": draw(st.booleans())}
    if kind == "appliance":
        changes |= {"power_w": draw(steps(10, 3000)), "always_duty": draw(steps(0, 1))}
    elif kind == "shape":
        changes |= {"annual_kwh": draw(steps(0, 9000)), "shape": draw(st.sampled_from(["evenings", "home_all_day"]))}
    elif kind == "electric_car":
        changes |= {
            "km_per_day": {"weekday": draw(steps(0, 400)), "weekend": draw(steps(0, 400))},
            "charger_kw": draw(steps(0.5, 11)),
            "battery_kwh": draw(steps(10, 90)),
            "plugged_in": [{"from": f"{draw(st.integers(12, 23))}:00", "to": f"0{draw(st.integers(1, 9))}:00"}],
            **draw(some("waits_for", st.just([{"from": "23:00", "to": "05:00"}]))),
        }
    elif kind == "heat_pump":
        changes |= {"ua_kw_per_k": draw(steps(0.02, 0.6)), "max_kw": draw(steps(0.5, 8)), "backup": draw(st.booleans())}
    elif kind == "air_conditioner":
        changes |= {"ua_kw_per_k": draw(steps(0.02, 0.6)), "max_kw": draw(steps(0.5, 8)), "sun_m2": draw(steps(0, 6))}
    else:
        changes |= {
            "liters_per_day": draw(steps(0, 900)),
            "water_use": draw(st.sampled_from(["morning", "evening", "morning_and_evening", "even"])),
            **draw(some("windows", when)),
        }
    return table(kind, **changes)
