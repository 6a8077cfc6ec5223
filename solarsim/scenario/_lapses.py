"""What goes with what is removed: tables before and after changes in; what lapses is taken out of them, and told."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from solarsim.scenario._dotted import PAIR, RefusedError, Step, index_of, steps_of, text_of

_IDLE_INVERTER = {"ac_kw": 1.0, "standby_w": 0.0, "efficiency": {"constant": 1.0}, "inputs": [{"max_kw": 1.0}]}
_NO_SYSTEM = {"name": "no system", "surplus_to": "grid", "battery_serves_load": False, "reserve": 0.0}
_OF_A_SYSTEM = (
    "wiring",
    "arrays",
    "modules",
    "ac_inverters",
    "battery",
    "generator",
    "costs",
    "life",
    "production_log",
    "size",
)


#: How the note begins that says what was left out with the system.
NO_SYSTEM = "no system:"
Left = dict[str, list[int]]
_LISTS = ("arrays", "battery.bank")


def lists_of(tables: Mapping[str, Any]) -> Iterator[tuple[str, list[Any]]]:
    """Yield the lists whose entries may be removed one by one, by their key."""
    battery = tables.get("battery")
    found = (tables.get("arrays"), battery.get("bank") if isinstance(battery, dict) else None)
    for key, rows in zip(_LISTS, found, strict=True):
        if isinstance(rows, list):
            yield key, rows


def lapsed(
    before: Mapping[str, Any], tables: dict[str, Any], removed: set[str], left: Left, values: Iterable[Any]
) -> tuple[str, ...]:
    """Take out of changed tables what lapses with what they no longer have; return what a person should know of it.

    ``removed`` has the keys that were removed, ``left`` for each of the lists which of its entries are left, ``values``
    are those of the changes: where one is 0, entries of nothing go, too.
    """
    if any(value == 0 for value in values if not isinstance(value, bool | Mapping | list | tuple)):
        removed = removed | _without_empty_entries(tables, left)
    _leave_out_of_arrays(before, tables)
    if "system" in removed:
        return tuple(_leave_grid_alone(tables))
    notes = list(_lapse_battery(tables)) if "battery" in removed else []
    return (*notes, *_follow(before, tables, left))


def _without_empty_entries(tables: dict[str, Any], left: Left) -> set[str]:
    """Remove arrays and battery strings of which a change left none; return ``battery`` where none of its own are."""
    if isinstance(tables.get("arrays"), list):
        tables["arrays"] = _some(tables["arrays"], left["arrays"], "strings", "modules_in_series")
    battery = tables.get("battery")
    bank = battery.get("bank") if isinstance(battery, dict) else None
    if not isinstance(battery, dict) or (not isinstance(bank, list) and battery.get("capacity_kwh") != 0):
        return set()
    rows = _some(bank, left["battery.bank"], "strings") if isinstance(bank, list) else []
    if rows:
        tables["battery"] = battery if rows is bank else {**battery, "bank": rows}
        return set()
    del tables["battery"]
    return {"battery"}


def _some(rows: list[Any], left: list[int], *counts: str) -> list[Any]:
    """Return the entries that are not of nothing, the list itself where that is all; ``left`` then has these only."""
    kept = [place for place, each in enumerate(rows) if not _is_empty(each, *counts)]
    if len(kept) == len(rows):
        return rows
    left[:] = [left[place] for place in kept]
    return [rows[place] for place in kept]


def _is_empty(entry: Any, *counts: str) -> bool:
    return isinstance(entry, dict) and any(entry.get(count) == 0 for count in counts)


def _lapse_battery(tables: dict[str, Any]) -> Iterable[str]:
    """Remove what only a battery needs, and yield what that was."""
    arrangement = _table(tables, "arrangement")
    if arrangement.get("kind") == "hybrid":
        tables["arrangement"] = {**arrangement, "kind": "grid_tied"}
        yield "no battery: the arrangement is grid_tied, since nothing carries the home through an outage"
    life = tables.get("life")
    if not isinstance(life, dict):
        return
    if "battery_fade_per_year" in life:
        tables["life"] = life = _without(life, "battery_fade_per_year")
        yield "no battery: life.battery_fade_per_year is left out"
    if "battery_fade_per_year" in _table(life, "uncertainty"):
        tables["life"] = {**life, "uncertainty": _without(life["uncertainty"], "battery_fade_per_year")}
        yield "no battery: life.uncertainty.battery_fade_per_year is left out"


def _follow(before: Mapping[str, Any], tables: dict[str, Any], left: Left) -> Iterator[str]:
    """Renumber the keys that axes and dated changes have for entries that moved up; leave out those of what is gone."""
    moved = {key: left.get(key, []) for key, rows in lists_of(before) if len(left.get(key, [])) < len(rows)}
    if not moved and ("battery" in tables or "battery" not in before):
        return
    names = [each.get("name") for each in _tables_in(tables.get("arrays"))]
    gone = [each.get("name") for each in _tables_in(before.get("arrays")) if each.get("name") not in names]

    def now(key: str) -> str | None:
        """Return what a key is now; None where it leads to what is gone."""
        return _key_now(key, moved, gone, "battery" in tables)

    size, life = tables.get("size"), tables.get("life")
    if isinstance(size, dict) and _all_have(size.get("axes"), "key", str):
        axes = [{**axis, "key": now(axis["key"])} for axis in size["axes"]]
        for axis, key in ((old["key"], new["key"]) for old, new in zip(size["axes"], axes, strict=True)):
            if key is None:
                yield f"size.axes: {axis} is left out: it is not there any more"
        tables["size"] = {**size, "axes": [axis for axis in axes if axis["key"] is not None]}
    if isinstance(life, dict) and _all_have(life.get("changes"), "set", list):
        changes = [{**each, "set": list(filter(None, map(_in_pair(now), each["set"])))} for each in life["changes"]]
        for each in changes:
            if not each["set"]:
                yield f"life.changes: {each.get('name')!r} is left out: what it changes is not there any more"
        tables["life"] = {**life, "changes": [each for each in changes if each["set"]]}


def _all_have(rows: Any, key: str, kind: type) -> bool:
    """Return whether a list is of tables that all have a key of a kind; what is not is refused when all is checked."""
    return isinstance(rows, list) and all(isinstance(row, dict) and isinstance(row.get(key), kind) for row in rows)


def _in_pair(now: Callable[[str], str | None]) -> Callable[[str], str | None]:
    """Return what does to KEY=VALUE what ``now`` does to a key."""

    def changed(text: str) -> str | None:
        pair = PAIR.fullmatch(str(text))
        key = None if pair is None else now(pair[1].strip())
        return text if pair is None else None if key is None else f"{key}={pair[2].strip()}"

    return changed


def _key_now(key: str, moved: Left, gone: list[Any], has_battery: bool) -> str | None:
    """Return a key after entries of lists have gone; None where what it leads to has gone."""
    try:
        steps = steps_of(key)
    except RefusedError:
        return key
    words = [step.text for step in steps]
    if words[0] == "battery" and not has_battery:
        return None
    where = next((each for each in moved if words[: each.count(".") + 1] == each.split(".")), None)
    place = 0 if where is None else where.count(".") + 1
    if where is None or len(steps) <= place:
        return key
    index = index_of(steps[place])
    if index is None:
        return None if where == "arrays" and words[place] in gone else key
    if index not in moved[where]:
        return None
    steps[place] = Step(f"{moved[where].index(index)}", False)
    return text_of(steps)


def _without(table: Mapping[str, Any], key: str) -> dict[str, Any]:
    return {each: value for each, value in table.items() if each != key}


def _leave_out_of_arrays(before: Mapping[str, Any], tables: dict[str, Any]) -> None:
    """Remove circuits and costs of arrays that a change removed; what names no array before either stays wrong."""
    names, kept = ([each.get("name") for each in _tables_in(of.get("arrays"))] for of in (before, tables))
    gone = [name for name in names if name not in kept]
    for key, lists in (("wiring", ("pv",)), ("costs", ("parts", "labor"))) if gone else ():
        for name in lists:
            rows = _table(tables, key).get(name)
            left = [each for each in rows if not _is_of(each, gone)] if isinstance(rows, list) else rows
            if left != rows:
                tables[key] = {**tables[key], name: left}


def _is_of(entry: Any, arrays: list[Any]) -> bool:
    """Return whether an entry of a list is for one of some arrays."""
    return isinstance(entry, dict) and entry.get("array") in arrays


def _table(tables: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    """Return a table; an empty one where there is none, or something else: that is refused when all is checked."""
    found = tables.get(key)
    return found if isinstance(found, dict) else {}


def _tables_in(value: Any) -> list[dict[str, Any]]:
    """Return the tables of a list, right or wrong."""
    return [each for each in value if isinstance(each, dict)] if isinstance(value, list) else []


def _leave_grid_alone(tables: dict[str, Any]) -> Iterable[str]:
    """Remove the system, and yield what that was; an inverter stays as a table, with nothing on it and no standby."""
    gone = [key for key in _OF_A_SYSTEM if tables.pop(key, None) is not None]
    yield f"{NO_SYSTEM} {', '.join(['inverter', 'strategies', *gone])} are left out"
    arrangement = _table(tables, "arrangement")
    if arrangement.get("kind") == "off_grid":  # the same home on the grid
        del tables["arrangement"]
        tables.pop("outages", None)
    elif arrangement:
        tables["arrangement"] = {"kind": "grid_tied"}
    tables["inverter"] = dict(_IDLE_INVERTER)
    tables.setdefault("production", {"transposition": "hay_davies"})
    tables.setdefault("losses", {})
    tables["strategies"] = [dict(_NO_SYSTEM)]
    if "export_limit_kw" in _table(tables, "grid"):
        tables["grid"] = _without(tables["grid"], "export_limit_kw")
    if tables.get("grid") == {}:
        del tables["grid"]
