"""What the tables about outages and the rest must agree on: tables in, one line for each problem out."""

from collections.abc import Iterator, Mapping
from typing import Any

from solarsim.scenario.backup.backup import Arrangement, Generator
from solarsim.scenario.battery.battery import Battery
from solarsim.scenario.strategy import Strategy, StrategyWindow


def backup_problems(parts: Mapping[str, Any]) -> Iterator[str]:
    """Yield what arrangement, generator and outages do not agree on with the rest; wrong tables are missing."""
    arrangement, battery = parts.get("arrangement"), parts.get("battery")
    generator, load = parts.get("generator"), parts.get("load")
    if "arrangement" not in parts:
        return
    if battery is not None:
        yield from _strategy_problems(parts.get("strategies", ()), arrangement, battery, generator)
    if arrangement is None:
        for key, table in (("generator", generator), ("outages", parts.get("outages"))):
            if table is not None:
                yield f"{key}: has no effect without [arrangement], which states how the home is connected to the grid"
        return
    if "battery" in parts:
        yield from _battery_problems(arrangement, battery)
    critical = load is None or load.critical_share or any(part.critical for part in load.parts or ())
    if arrangement.critical_only and not critical:
        yield (
            "arrangement: backed_up = 'critical', but nothing is: mark load.parts as critical or give"
            " load.critical_share"
        )
    inverter = parts.get("inverter")
    if arrangement.motor is not None and arrangement.islands and inverter is not None and inverter.surge_kw is None:
        yield "arrangement.motor: whether it starts depends on inverter.surge_kw, which is missing"
    if generator is not None and battery is not None and generator.start_at < battery.low_cutoff:
        yield (
            f"generator.start_at: {generator.start_at} is below battery.low_cutoff {battery.low_cutoff}, so it"
            " would never start"
        )
    if (
        generator is not None
        and generator.tank_liters is not None
        and not arrangement.has_grid
        and not generator.refill
    ):
        yield (
            "generator.refill is missing: without a grid there is no outage to begin with a full tank; state when"
            " the tank is filled"
        )
    if generator is not None and battery is not None and (battery.restart_at or 0.0) > generator.stop_at:
        yield (
            f"battery.restart_at: {battery.restart_at} is above generator.stop_at {generator.stop_at}, so the generator"
            " would stop before the battery restarts"
        )


def _strategy_problems(
    strategies: tuple[Strategy, ...], arrangement: Arrangement | None, battery: Battery, generator: Generator | None
) -> Iterator[str]:
    starts = {} if generator is None else {"generator.start_at": generator.start_at}
    starts |= (
        {} if arrangement is None or arrangement.levels is None else {"arrangement.grid_from": arrangement.levels[0]}
    )
    for strategy in strategies:
        tables: tuple[Strategy | StrategyWindow, ...] = (strategy, *strategy.windows)
        if arrangement is None and any(each.load_served == "backed_up" for each in tables):
            yield (
                f"strategies: {strategy.name!r} has load_served = 'backed_up', which needs [arrangement]: it states"
                " what is backed up"
            )
        for floor in (each.off_grid_floor for each in tables if each.off_grid_floor):
            if floor < battery.low_cutoff:
                yield (
                    f"strategies: {strategy.name!r} has an off_grid_floor of {floor}, below the battery's low_cutoff"
                    f" {battery.low_cutoff}"
                )
            for key, level in starts.items():
                if floor > level:
                    yield f"strategies: {strategy.name!r} has an off_grid_floor of {floor}, above {key} {level}"


def _battery_problems(arrangement: Arrangement, battery: Battery | None) -> Iterator[str]:
    if arrangement.islands and (battery is None or battery.kwh == 0.0):
        yield f"arrangement: kind {arrangement.kind!r} needs a [battery]"
    if battery is not None and arrangement.levels is not None and arrangement.levels[0] < battery.low_cutoff:
        yield (
            f"arrangement.grid_from: {arrangement.levels[0]} is below battery.low_cutoff {battery.low_cutoff}, so"
            " the home would never turn to the grid"
        )
    restart_at = 0.0 if battery is None else battery.restart_at or 0.0
    if arrangement.levels is not None and restart_at > arrangement.levels[1]:
        yield (
            f"battery.restart_at: {restart_at} is above arrangement.grid_until {arrangement.levels[1]}, so the home"
            " would leave the grid before the battery restarts"
        )
