"""Homes that lose the grid, for tests: the plain home with an arrangement, a steady load and no sun."""

from collections.abc import Mapping
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any

from solarsim.home import Home, home_from
from solarsim.scenario.model import Scenario
from solarsim.scenario.read import packaged_folder, read_scenario
from tests.builders import scenario

HYBRID: Mapping[str, Any] = {
    "kind": "hybrid",
    "backed_up": "all",
    "transfer": "automatic",
    "transfer_seconds": 0.0,
}
GENERATOR: Mapping[str, Any] = {
    "kw": 4.0,
    "start_at": 0.2,
    "stop_at": 0.6,
    "least_run_h": 2.0,
    "charge_kw": 3.0,
    "liters_per_h": 0.5,
    "liters_per_kwh": 0.3,
    "fuel_price": 2.0,
}
EVEN_MONTHS = [1.0] * 12


def event(start: str, hours: int) -> dict[str, Any]:
    """Write an outage."""
    return {"from": datetime.fromisoformat(start), "hours": hours}


def steady(folder: Path, load_kw: float = 0.5, **changes: Any) -> Home:
    """Give a home with a steady load, no standby, a lossless inverter, and no sun.

    Its battery holds 10 kWh down to 1 kWh, is full when the grid fails, and gives 81 % back of what it takes.
    """
    (folder / "load.csv").write_text("load_kw\n" + f"{load_kw}\n" * 8760, encoding="utf-8")
    # Kept full by the grid: what is stored is the same at every start.
    kept = {"name": "kept full", "surplus_to": "battery", "battery_serves_load": False, "reserve": 0.1}
    plain = {
        "load": {"file": str(folder / "load.csv")},
        "arrays": [],
        "inverter__standby_w": 0.0,
        "inverter__efficiency": {"constant": 1.0},
        "battery__self_discharge_per_month": 0.0,
        "battery__round_trip_efficiency": 0.81,
        "battery__max_charge_kw": 9.0,
        "strategies": [{**kept, "charge_from_grid_to": 1.0}],
        "arrangement": dict(HYBRID),
    }
    return home_from(scenario(folder, **{**plain, **changes}))


@cache
def storm() -> Scenario:
    """Read the storm coast's scenario."""
    return read_scenario(packaged_folder("scenarios") / "storm_coast.toml")


@cache
def storm_home() -> Home:
    """Compute it once for each worker."""
    return home_from(storm())
