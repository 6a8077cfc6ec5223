"""Small scenarios and homes for tests: plain tables that say only what a test is about."""

import copy
from collections.abc import Mapping
from math import inf
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.engine.records import (
    GRID_ALONE,
    Cells,
    Conditions,
    Curve,
    Dispatch,
    Inputs,
    Limits,
    Orders,
    Switching,
    cells_at_ease,
)
from solarsim.scenario._tables import Origin
from solarsim.scenario.model import Scenario, _scenario_from
from solarsim.scenario.read import packaged_folder
from solarsim.scenario.site import Site

#: The rate plan files that come with the examples.
READY_PLANS = sorted((packaged_folder("scenarios") / "rate_plans").glob("*.toml"))
PLAIN: dict[str, Any] = {
    "name": "plain home",
    "site": {"name": "plain place", "time_zone": "America/New_York", "calendar_year": 2026, "albedo": 0.2},
    "weather": {"file": str(packaged_folder("weather_samples") / "723170TYA.CSV"), "format": "tmy3"},
    "production": {"transposition": "hay_davies"},
    "losses": {},
    "arrays": [
        {
            "name": "roof",
            "tilt_deg": 30.0,
            "azimuth_deg": 180.0,
            "modules_in_series": 10,
            "strings": 1,
            "module_w": 400.0,
            "temperature_coefficient_per_c": -0.004,
            "mounting": "rack",
            "input": 1,
        }
    ],
    "inverter": {
        "ac_kw": 5.0,
        "standby_w": 40.0,
        "efficiency": {"peak": 0.976, "weighted": 0.970, "weights": "cec"},
        "inputs": [{"max_kw": 5.0}],
    },
    "battery": {
        "capacity_kwh": 10.0,
        "round_trip_efficiency": 0.90,
        "low_cutoff": 0.10,
        "self_discharge_per_month": 0.02,
        "max_charge_kw": 5.0,
        "max_discharge_kw": 5.0,
    },
    "load": {"monthly_kwh": [600.0] * 12, "shape": "evenings"},
    "rate_plan": {
        "name": "flat",
        "currency": "USD",
        "customer_charge_per_month": 10.0,
        "export": {"pay": "none"},
        "rates": [{"name": "all hours", "import_price": 0.20}],
    },
    "strategies": [{"name": "home first", "surplus_to": "battery", "battery_serves_load": True, "reserve": 0.10}],
}


def content(**changes: Any) -> dict[str, Any]:
    """Give the plain home's tables with keys replaced; a key is a dotted path, None removes it."""
    tables = copy.deepcopy(PLAIN)
    for path, value in changes.items():
        *parents, last = path.split("__")
        table: Any = tables
        for parent in parents:
            table = table[int(parent)] if parent.isdecimal() else table.setdefault(parent, {})
        if value is None:
            del table[last]
        else:
            table[last] = value
    return tables


def scenario(folder: Path = Path(), /, **changes: Any) -> Scenario:
    """Validate the plain home with keys replaced."""
    return _scenario_from(Origin(content(**changes), folder, folder / "plain.toml"), Scenario)


def timeline(zone: str = "America/New_York", year: int = 2026, **site: Any) -> Timeline:
    """Lay out a year in a zone."""
    return Site(name="here", time_zone=zone, calendar_year=year, albedo=0.2, **site).timeline()


LOSSLESS = Curve(rated_kw=5.0, k0_kw=0.0, k1=0.0, k2=0.0)


def limits(**changes: Any) -> Limits:
    """Give a lossless 5 kW inverter with a lossless 10 kWh battery, with fields replaced."""
    plain = Limits(
        step_h=1.0,
        curve=LOSSLESS,
        standby_kw=0.0,
        capacity_kwh=10.0,
        minimum_kwh=1.0,
        one_way=1.0,
        kept=1.0,
        charge_kw=3.0,
        discharge_kw=3.0,
    )
    return plain._replace(**changes)


def conditions(hardware: Limits, pv_kw: float, load_kw: float, **changes: Any) -> Conditions:
    """Return sun and load of a step whose cells are neither cold nor hot, with fields replaced."""
    return Conditions(pv_kw, 0.0, load_kw, hardware.charge_kw, hardware.discharge_kw, 0.0)._replace(**changes)


def inputs_of(
    hardware: Limits,
    dispatch: Dispatch,
    pv_kw: NDArray[np.float64],
    load_kw: NDArray[np.float64],
    cells: Cells | None = None,
    switching: Switching = GRID_ALONE,
) -> Inputs:
    """Return a year's inputs without solar power on the AC side; cells left out are neither cold nor hot."""
    cells = cells_at_ease(hardware, pv_kw.size) if cells is None else cells
    return Inputs(hardware, dispatch, switching, cells, pv_kw, np.zeros_like(pv_kw), load_kw)


def orders(**changes: Any) -> Orders:
    """Give the rule "home first, battery first, nothing else", with fields replaced."""
    plain = Orders(
        surplus_to_battery=True,
        serves_load=True,
        reserve=0.2,
        ceiling=1.0,
        charge_to=0.0,
        sell_to=1.0,
        import_cap_kw=inf,
        export_limit_kw=inf,
        bias_kw=0.0,
        grid_charge_kw=inf,
        discharge_limit_kw=inf,
        sell_limit_kw=inf,
        backed_up_only=False,
        off_grid_floor=0.0,
        grid=True,
        backed_kw=inf,
        generator_kw=0.0,
        generator_charge_kw=0.0,
    )
    return plain._replace(**changes)


def named(columns: Mapping[str, NDArray[np.float64]], *names: str) -> list[NDArray[np.float64]]:
    """Pick columns by name."""
    return [columns[name] for name in names]
