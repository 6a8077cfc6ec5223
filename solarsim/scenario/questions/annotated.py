"""A scenario as an annotated file: raw tables in; TOML text with the meaning of each key beside it out."""

import json
import textwrap
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from solarsim.scenario.keys import all_keys

_WIDE, _COLUMN = 120, 38
#: Tables in the order of a file; what has several entries has a heading for each.
_ORDER = (
    "site", "weather", "production", "losses", "arrays", "battery", "inverter", "load", "grid", "rate_plan", "costs",
    "arrangement", "outages", "strategies",
)  # fmt: skip
_ENTRIES = ("arrays", "strategies", "rate_plan.rates", "load.parts")
#: What no question asks: keys, or all keys of a table, with what they were taken from (common practice, no source).
_ASSUMED = {
    "site.albedo": "grass",
    "weather.seed": "any",
    "production.transposition": "for hourly weather",
    "losses": "a clean, unshaded roof",
    "arrays.*.temperature_coefficient_per_c": "a common module; its datasheet decides",
    "inverter.standby_w": "a common hybrid; its datasheet decides",
    "inverter.efficiency": "a common hybrid; its datasheet decides",
    "inverter.inputs": "one for each array, wide enough for it",
    "inverter.battery_charge_kw": "the AC rating",
    "inverter.battery_discharge_kw": "the AC rating",
    "load.parts.*.kwh_per_km": "a common car",
    "load.parts.*.charging_efficiency": "a common car",
    "load.parts.*.charger_kw": "a common wall box",
    "load.parts.*.battery_kwh": "a common car",
    "load.parts.*.plugged_in": "every night",
    "load.parts.*.base_c": "a common house",
    "load.parts.*.points": "a common unit; its datasheet decides",
    "load.parts.*.max_kw": "what the design load needs",
    "load.parts.*.backup": "as most have",
    "arrangement.transfer_seconds": "a common hybrid",
    "outages.frequency": "all months alike",
    "strategies.*.reserve": "a first choice",
}
_HEAD = """\
# Written by "solarsim new" from answers. What no question asked is marked "assumed" (common practice, no source):
# replace it with the values of your datasheets. "solarsim guide KEY" explains any key.
# Not asked: [life] for life and risk, [wiring] for wiring, [plans] for plans, [size] for size; see "solarsim guide".
# This is a calculation, not a design: local code and licensed professionals decide what may be built."""


def annotated_text(tables: Mapping[str, Any]) -> str:
    """Return a scenario as text, with the meaning of each key from its own declaration.

    Parameters
    ----------
    tables : mapping
        Raw tables of a scenario, as the questions make them.

    Returns
    -------
    str
        TOML that holds exactly these tables.

    Raises
    ------
    RuntimeError
        A table is of a kind that no question makes.
    """
    explained: set[str] = set()
    lines = [*_HEAD.splitlines(), ""]
    lines += _keys({key: value for key, value in tables.items() if not isinstance(value, dict | list)}, "", explained)
    for name in sorted((key for key in tables if key in _ORDER), key=_ORDER.index):
        if isinstance(tables[name], dict | list):
            lines += _table(name, name, tables[name], explained)
    text = "\n".join(lines) + "\n"
    if tomllib.loads(text) != tables:
        raise RuntimeError("the text does not hold the tables")
    return text


def _table(name: str, path: str, value: Any, explained: set[str]) -> Iterator[str]:
    """Yield the lines of a table, or of each entry of a list of tables."""
    if isinstance(value, list):
        for each in value:
            yield from ("", f"[[{name}]]")
            yield from _keys(each, f"{path}.*.", explained)
        return
    below = {key: each for key, each in value.items() if f"{path}.{key}" in _ENTRIES}
    yield from ("", f"[{name}]")
    yield from _keys({key: each for key, each in value.items() if key not in below}, f"{path}.", explained)
    for key, each in below.items():
        yield from _table(f"{name}.{key}", f"{path}.{key}", each, explained)


def _keys(table: Mapping[str, Any], before: str, explained: set[str]) -> Iterator[str]:
    """Yield a line for each key, with its comment where the key comes for the first time."""
    for key, value in table.items():
        path = f"{before}{key}"
        line = f"{key} = {_toml(value)}"
        yield from _beside(line, "" if path in explained else _comment(path))
        explained.add(path)


def _comment(path: str) -> str:
    """Return what a key was assumed from, and what it means."""
    meaning = "" if path == "load.parts.*.kind" else _meanings().get(path, "")
    reason = _ASSUMED.get(path, _ASSUMED.get(path.partition(".")[0], ""))
    return "; ".join(part for part in (reason and f"assumed ({reason})", meaning) if part)


@cache
def _meanings() -> dict[str, str]:
    return {key.path: key.meaning for key in all_keys()}


def _beside(line: str, comment: str) -> Iterator[str]:
    """Yield a line with its comment beside it, or above it where the line is long."""
    if not comment:
        yield line
    elif len(line) < _COLUMN:
        first, *more = textwrap.wrap(comment, _WIDE - _COLUMN - 2)
        yield f"{line:<{_COLUMN}}# {first}"
        yield from (f"{'':<{_COLUMN}}# {each}" for each in more)
    else:
        yield from (f"# {each}" for each in textwrap.wrap(comment, _WIDE - 2))
        yield line


def _toml(value: Any) -> str:
    """Return a value as TOML on one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{key} = {_toml(each)}' for key, each in value.items())} }}"
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    return repr(int(value)) if isinstance(value, float) and value.is_integer() else repr(value)
