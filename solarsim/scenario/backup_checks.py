"""What the tables about outages and the rest must agree on: tables in, one line for each problem out."""

from collections.abc import Iterator, Mapping
from typing import Any

from solarsim.scenario.backup import Arrangement
from solarsim.scenario.battery import Battery


def backup_problems(parts: Mapping[str, Any]) -> Iterator[str]:
    """Find what arrangement, generator and outages do not agree on with the rest.

    Parameters
    ----------
    parts : mapping
        Validated tables of a scenario by key; some may be missing.

    Yields
    ------
    str
        One line for each problem.
    """
    arrangement, battery = parts.get("arrangement"), parts.get("battery")
    generator, outages, load = parts.get("generator"), parts.get("outages"), parts.get("load")
    if arrangement is None:
        for key, table in (("generator", generator), ("outages", outages)):
            if table is not None:
                yield f"{key}: says nothing without [arrangement], which tells how the home stands to the grid"
        return
    yield from _battery_problems(arrangement, battery)
    critical = load is None or load.critical_share or any(part.critical for part in load.parts or ())
    if arrangement.backed_up == "critical" and not critical:
        yield (
            "arrangement: backed_up = 'critical', but nothing is: mark load.parts as critical or give"
            " load.critical_share"
        )
    inverter = parts.get("inverter")
    if arrangement.motor is not None and inverter is not None and inverter.surge_kw is None:
        yield "arrangement.motor: whether it starts depends on inverter.surge_kw, which is missing"
    if generator is not None:
        if arrangement.kind == "grid_tied":
            yield "generator: cannot come in at a grid_tied home: its inverter stops with the grid"
        if battery is not None and generator.start_at < battery.hard_minimum:
            yield (
                f"generator.start_at: {generator.start_at} is below battery.hard_minimum {battery.hard_minimum}, so it"
                " would never start"
            )
    if outages is not None and outages.events and arrangement.grid == "none":
        yield "outages.events: this home has no grid that could fail"


def _battery_problems(arrangement: Arrangement, battery: Battery | None) -> Iterator[str]:
    if arrangement.kind == "grid_tied" and battery is not None and battery.kwh > 0.0:
        yield "arrangement: a grid_tied home has no battery; leave [battery] out, or make it hybrid"
    if arrangement.kind != "grid_tied" and (battery is None or battery.kwh == 0.0):
        yield f"arrangement: kind {arrangement.kind!r} needs a [battery]"
    if battery is not None and arrangement.grid_from is not None and arrangement.grid_from < battery.hard_minimum:
        yield (
            f"arrangement.grid_from: {arrangement.grid_from} is below battery.hard_minimum {battery.hard_minimum}, so"
            " the home would never turn to the grid"
        )
