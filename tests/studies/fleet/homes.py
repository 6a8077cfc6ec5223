"""Small fleets for tests: files of plain homes and tables of homes."""

import csv
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from tests.cli.test_bad_scenarios import write_home

#: Two strategies, so that there is something to compare.
STRATEGIES = [
    {"name": "home first", "surplus_to": "battery", "battery_serves_load": True, "reserve": 0.1},
    {"name": "sell first", "surplus_to": "grid", "battery_serves_load": True, "reserve": 0.3},
]


def write_base(folder: Path, name: str = "plain.toml", **changes: Any) -> None:
    """Write the plain home with two strategies."""
    write_home(folder / name, strategies=STRATEGIES, **changes)


def write_homes(path: Path, rows: Iterable[Mapping[str, Any]]) -> Path:
    """Write a table of homes; a cell that a row lacks is empty."""
    rows = list(rows)
    names = list(dict.fromkeys(name for row in rows for name in row))
    with path.open("w", newline="") as file:
        writer = csv.DictWriter(file, names, restval="")
        writer.writeheader()
        writer.writerows(rows)
    return path


def some_homes(count: int, base: str = "plain.toml") -> list[dict[str, Any]]:
    """Return rows that differ in load, battery, roof and feeder."""
    return [
        {
            "id": f"home {number}",
            "scenario": base,
            "feeder": "AB"[number % 2],
            "load.monthly_kwh": [300 + 40 * (number % 7)] * 12,
            "battery.capacity_kwh": ["", 5, 15.5][number % 3],
            "arrays.roof.azimuth_deg": 160 + 20 * (number % 3),
        }
        for number in range(count)
    ]
