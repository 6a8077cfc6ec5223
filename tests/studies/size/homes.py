"""Homes to size: a flat price and constant efficiency, where closed forms hold."""

from functools import cache
from typing import Any

from solarsim.home import Home, home_from
from solarsim.scenario.model import Scenario
from solarsim.studies.size.homes import Homes
from solarsim.studies.size.size import Size, size
from tests.builders import scenario

BANK = "battery.bank.0.strings"
ROOF = "arrays.roof.modules_in_series"
COSTS: dict[str, Any] = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 5000.0}]}
LIFE: dict[str, Any] = {
    "years": 10,
    "money": "nominal",
    "discount_rate": 0.05,
    "panel_degradation_per_year": 0.0,
    "battery_fade_per_year": 0.0,
}
BATTERY: dict[str, Any] = {
    "bank": [{"cells_in_series": 16, "cell_ah": 100.0, "cell_v": 3.2}],
    "round_trip_efficiency": 0.9,
    "low_cutoff": 0.0,
    "self_discharge_per_month": 0.0,
    "max_charge_kw": 50.0,
    "max_discharge_kw": 50.0,
}
INVERTER: dict[str, Any] = {
    "ac_kw": 20.0,
    "standby_w": 0.0,
    "efficiency": {"constant": 0.96},
    "inputs": [{"max_kw": 50.0}],
}


def flat_home(export: dict[str, Any] | None = None, **changes: Any) -> Scenario:
    """Return a home with a flat price; ``export`` is how exports are paid, none if left out."""
    plan = {
        "name": "flat",
        "currency": "USD",
        "customer_charge_per_month": 10.0,
        "export": export or {"pay": "none"},
        "rates": [{"name": "all hours", "import_price": 0.20}],
    }
    first = {"name": "home first", "surplus_to": "battery", "battery_serves_load": True, "reserve": 0.0}
    tables = {"costs": COSTS, "life": LIFE, "battery": BATTERY, "inverter": INVERTER, "rate_plan": plan}
    return scenario(**{**tables, "strategies": [first], **changes})


@cache
def _homes() -> Homes:
    """Return the homes that share weather and load with the plain flat one."""
    return Homes(home_from(flat_home()))


def home_like(scenario: Scenario) -> Home:
    """Return the home of a flat one that was changed, its weather and load read once for all tests."""
    return _homes().of(scenario)


def sized(scenario: Scenario, axes: dict[str, Any] | None = None) -> Size:
    """Size a flat home."""
    return size(scenario, axes, home_like(scenario))
