"""Homes to tune: the examples, and invented ones made of them; all prices are invented."""

import tomllib
from collections.abc import Callable
from functools import cache
from typing import Any

from solarsim.scenario.model import Scenario
from solarsim.scenario.read import packaged_folder, read_scenario

_SCENARIOS = packaged_folder("scenarios")
HOLD = {
    "name": "evenings only",
    "surplus_to": "battery",
    "battery_serves_load": False,
    "reserve": 0.2,
    "windows": [{"from": "17:00", "to": "22:00", "battery_serves_load": True}],
}
FIRST = {"name": "serve the home first", "surplus_to": "battery", "battery_serves_load": True, "reserve": 0.2}


def _plan(name: str) -> dict[str, Any]:
    return tomllib.loads((_SCENARIOS / "rate_plans" / f"{name}.toml").read_text())


def _rates(export: dict[str, Any], *rates: dict[str, Any]) -> dict[str, Any]:
    return {
        "name": "own (invented)",
        "currency": "USD",
        "customer_charge_per_month": 12.0,
        "export": export,
        "rates": list(rates),
    }


EXPENSIVE_EVENINGS = _rates(
    {"pay": "flat", "price": 0.03},
    {"name": "evening", "import_price": 0.48, "windows": [{"from": "16:00", "to": "21:00"}]},
    {"name": "night", "import_price": 0.11, "windows": [{"from": "00:00", "to": "06:00"}]},
    {"name": "day", "import_price": 0.19},
)
PEAK_SALES = _rates(
    {"pay": "by_rate"},
    {
        "name": "summer evening",
        "import_price": 0.39,
        "export_price": 0.33,
        "windows": [{"months": [6, 7, 8, 9], "from": "17:00", "to": "21:00"}],
    },
    {"name": "other hours", "import_price": 0.15, "export_price": 0.06},
)
NIGHT_CAR = {
    "load.parts": [
        {
            "kind": "electric_car",
            "name": "car",
            "critical": False,
            "in_bills": False,
            "km_per_day": {"weekday": 45.0, "weekend": 25.0},
            "kwh_per_km": 0.19,
            "charging_efficiency": 0.9,
            "charger_kw": 7.2,
            "battery_kwh": 60.0,
            "plugged_in": [{"from": "20:00", "to": "07:00"}],
        }
    ]
}


def _bank(ah: float, strings: int = 1) -> dict[str, Any]:
    return {"battery.bank": [{"cells_in_series": 16, "cell_ah": ah, "cell_v": 3.2, "strings": strings}]}


@cache
def _example(name: str) -> Scenario:
    return read_scenario(_SCENARIOS / f"{name}.toml")


def _of(name: str, **changes: Any) -> Callable[[], Scenario]:
    return lambda: _example(name).changed(changes) if changes else _example(name)


#: By name, each made when asked for.
HOMES: dict[str, Callable[[], Scenario]] = {
    "greensboro": _of("greensboro"),
    "miami": _of("miami"),
    "storm_coast": _of("storm_coast"),
    "ridge_farm": _of("ridge_farm"),
    "older_roof": _of("older_roof"),
    "sand_point": _of("sand_point"),
    "net_shed": _of("net_shed"),
    "6 kWh and expensive evenings": _of(
        "greensboro", **_bank(117.0), rate_plan=EXPENSIVE_EVENINGS, strategies=[FIRST, HOLD]
    ),
    "24 kWh that sells at the peak": _of("miami", **_bank(234.0, 2), rate_plan=PEAK_SALES, strategies=[FIRST, HOLD]),
    "12 kWh and zero export": _of(
        "greensboro",
        **_bank(234.0),
        **{"grid.export_limit_kw": 0.0},
        rate_plan=EXPENSIVE_EVENINGS,
        strategies=[FIRST, HOLD],
    ),
    "hourly export pay": _of("older_roof", rate_plan=_plan("hourly_net_billing"), strategies=[FIRST, HOLD]),
    "a car at night": _of("ridge_farm", **NIGHT_CAR),
    "cold cells": _of(
        "greensboro",
        **{"battery.place": "outdoor", "battery.room_c": None},
        **_bank(280.0),
        rate_plan=EXPENSIVE_EVENINGS,
        strategies=[FIRST, HOLD],
    ),
    "flat prices": _of("greensboro", rate_plan=_plan("flat"), strategies=[FIRST, HOLD]),
    "demand charge": _of("greensboro", rate_plan=_plan("demand"), strategies=[FIRST, HOLD]),
    "high evenings": _of("older_roof", rate_plan=_plan("evening_peak"), strategies=[FIRST, HOLD]),
    "three periods": _of("miami", rate_plan=_plan("three_periods"), strategies=[FIRST, HOLD]),
    "rising tiers": _of("ridge_farm", rate_plan=_plan("rising_tiers"), strategies=[FIRST, HOLD]),
    "net metering": _of("older_roof", rate_plan=_plan("net_metering"), strategies=[FIRST, HOLD]),
}
