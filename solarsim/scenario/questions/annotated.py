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
    "life", "size", "arrangement", "outages", "strategies",
)  # fmt: skip
_ENTRIES = ("arrays", "strategies", "rate_plan.rates", "load.parts", "life.uncertainty")
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
    "load.parts.*.charger_kw": "a common home charger",
    "load.parts.*.battery_kwh": "a common car",
    "load.parts.*.plugged_in": "every night",
    "load.parts.*.base_c": "a common house",
    "load.parts.*.points": "a common unit; its datasheet decides",
    "load.parts.*.max_kw": "what the design load needs",
    "load.parts.*.backup": "as most have",
    "life.years": "modules are commonly warranted for this long",
    "life.money": "as loans and quotes are",
    "life.discount_rate": "write what your money would earn elsewhere",
    "life.panel_degradation_per_year": "a common module; its warranty states it",
    "life.load_growth_per_year": "none; write what will change, such as a car",
    "life.price_growth": "write the growth that you expect of your utility's prices",
    "life.uncertainty": "common spreads",
    "life.uncertainty.lifetimes": "more are more exact, and take longer",
    "life.uncertainty.seed": "any",
    "arrangement.transfer_seconds": "a common hybrid",
    "outages.frequency": "all months alike",
    "strategies.*.reserve": "a first choice",
}
_HEAD = (
    'Written by "solarsim new" from answers. What no question asked is marked "assumed" (common practice, no source):'
    ' replace it with the values of your datasheets. "solarsim guide KEY" explains any key.',
    'Not asked: {not_asked}; see "solarsim guide".',
    "This is a calculation, not a design: local code and licensed professionals decide what may be built.",
)
#: Tables that a command needs, or is better with.
_FOR_COMMANDS = {
    "costs": "savings and all commands about money",
    "life": "life, offers, risk and size",
    "wiring": "wiring",
    "plans": "plans",
    "size": "size",
}
#: What to change in a key, above it.
_HINTS = {
    "costs.parts": (
        "A fixed price stays the same when the hardware changes, so size has no price for a further module or battery.",
        "To give it one, split the price by what the parts count:",
        '  { name = "modules", per = "module", unit_price = PRICE, of = "modules" }',
        '  { name = "battery", per = "battery_kwh", unit_price = PRICE, of = "cells" }',
        "A part that will be replaced needs life_years and replacement_price: solarsim guide costs",
    )
}


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
    not_asked = ", ".join(f"[{name}] for {command}" for name, command in _FOR_COMMANDS.items() if name not in tables)
    lines = [line for each in _HEAD for line in _above(each.format(not_asked=not_asked))] + [""]
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
        if path not in explained:
            yield from (f"# {each}" for each in _HINTS.get(path, ()))
        line = f"{key} = {_toml(value)}"
        yield from _beside(line, "" if path in explained else _comment(path))
        explained.add(path)


def _comment(path: str) -> str:
    """Return what a key was assumed from, and what it means."""
    meaning = "" if path == "load.parts.*.kind" else _meanings().get(path, "")
    above = [path.rsplit(".", up)[0] for up in range(path.count(".") + 1)]
    reason = next((_ASSUMED[each] for each in above if each in _ASSUMED), "")
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
        yield from _above(comment)
        yield line


def _above(comment: str) -> list[str]:
    """Return the lines of a comment of its own."""
    return [f"# {each}" for each in textwrap.wrap(comment, _WIDE - 2)]


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
