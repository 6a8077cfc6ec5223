"""The next step: a home as written in; one more and one fewer of each thing that can be purchased, as changes, out."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from solarsim.scenario.model import Scenario
from solarsim.studies.life.life import settings_of
from solarsim.studies.life.stages import changes_within


@dataclass(frozen=True)
class Step:
    """One step from a home."""

    name: str
    more: bool
    changes: dict[str, Any]


def steps_from(scenario: Scenario) -> list[Step]:
    """Return one more and one fewer of each: module, string, battery string or unit, inverter size."""
    return [*_array_steps(scenario), *_battery_steps(scenario), *_inverter_steps(scenario)]


def missing_steps(scenario: Scenario) -> Iterator[str]:
    """Yield which steps cannot be made, with the key that they would need."""
    battery, size = scenario.battery_in_use, scenario.size
    if battery is not None and battery.capacity_kwh is not None and (size is None or size.battery_unit_kwh is None):
        yield "battery: one more unit (size.battery_unit_kwh, the energy of one unit, is not given)"
    if not inverter_sizes(scenario):
        yield "inverter: another size (costs.inverters has no sizes with prices)"


def later_notes(scenario: Scenario) -> Iterator[str]:
    """Yield the dated changes of what steps change, too: a step may then only bring a purchase forward."""
    kinds = {_kind(key) for step in steps_from(scenario) for key in step.changes}
    for change in changes_within(settings_of(scenario)):
        same = [key for key in change.changes if _kind(key) in kinds]
        if same:
            yield (
                f"life.changes: {change.name!r} changes {', '.join(same)} in year {change.year}: a step of the same"
                " kind may only bring that purchase forward, and its payback includes what is not paid then"
            )


def _kind(key: str) -> tuple[str, str]:
    """Return the table of a key and its last part."""
    return key.partition(".")[0], key.rpartition(".")[2]


def with_inverter(scenario: Scenario, changes: Mapping[str, Any], sizes: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Return changes with the other keys that belong to the inverter size that they name, of ``inverter_sizes``."""
    rating = scenario.plain_value("inverter.ac_kw", changes.get("inverter.ac_kw"))
    own = next((each for each in sizes if each["inverter.ac_kw"] == rating), {})
    return {**changes, **{key: value for key, value in own.items() if key not in changes}}


def inverter_sizes(scenario: Scenario) -> list[dict[str, Any]]:
    """Return the inverters that have a price, each as changes, by rising rating."""
    sizes = () if scenario.costs is None else scenario.costs.inverters
    tables = scenario.tables.get("costs", {}).get("inverters", [])
    found = [
        {key: scenario.plain_value(key, table[key.removeprefix("inverter.")]) for key in size.changes}
        for size, table in zip(sizes, tables, strict=True)
    ]
    return sorted(found, key=lambda each: float(each["inverter.ac_kw"]))


def _array_steps(scenario: Scenario) -> Iterator[Step]:
    for array in scenario.arrays:
        for key, noun, count in (
            ("modules_in_series", "module" if array.strings == 1 else "module in each string", array.modules_in_series),
            ("strings", f"string of {array.modules_in_series} modules", array.strings),
        ):
            path = f"arrays.{_quoted(array.name)}.{key}"
            yield Step(f"{array.name}: one more {noun}", True, {path: count + 1})
            if key == "strings" or count > 1:
                yield Step(f"{array.name}: one fewer {noun}", False, {path: count - 1})


def _battery_steps(scenario: Scenario) -> Iterator[Step]:
    battery, size = scenario.battery_in_use, scenario.size
    if battery is None:
        return
    for place, row in enumerate(battery.bank or ()):
        path, noun = f"battery.bank.{place}.strings", f"string of {row.cells_in_series} cells, {row.cell_ah:g} Ah"
        yield Step(f"battery: one more {noun}", True, {path: row.strings + 1})
        yield Step(f"battery: one fewer {noun}", False, {path: row.strings - 1})
    unit_kwh = None if size is None else size.battery_unit_kwh
    if battery.capacity_kwh is not None and unit_kwh is not None:
        path, noun, now = "battery.capacity_kwh", f"unit of {unit_kwh:g} kWh", battery.capacity_kwh
        yield Step(f"battery: one more {noun}", True, {path: round(now + unit_kwh, 6)})
        yield Step(f"battery: one fewer {noun}", False, {path: max(0.0, round(now - unit_kwh, 6)) or 0})


def _inverter_steps(scenario: Scenario) -> Iterator[Step]:
    """Yield the next larger and the next smaller inverter that has a price."""
    now, sizes = scenario.inverter.ac_kw, inverter_sizes(scenario)
    larger = [each for each in sizes if each["inverter.ac_kw"] > now]
    smaller = [each for each in sizes if each["inverter.ac_kw"] < now]
    if larger:
        yield Step(f"inverter: {larger[0]['inverter.ac_kw']:g} kW instead of {now:g} kW", True, larger[0])
    if smaller:
        yield Step(f"inverter: {smaller[-1]['inverter.ac_kw']:g} kW instead of {now:g} kW", False, smaller[-1])


def _quoted(name: str) -> str:
    """Return a name as a part of a dotted key."""
    plain = all(each.isalnum() or each in "_-" for each in name) and not name.isdecimal()
    return name if plain else in_quotes(name)


def in_quotes(text: str) -> str:
    """Return text as TOML writes it."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
