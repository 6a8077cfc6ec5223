"""The keys that a scenario may have, as they are declared: for the guide, and as a JSON Schema for editors."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from pydantic import BaseModel

from solarsim.scenario._schema import is_list, models_in
from solarsim.scenario._written_units import dimension_of
from solarsim.scenario.model import Scenario
from solarsim.units import text_pattern, written_forms

SCHEMA_FILE = "solarsim.schema.json"
_LIMITS = {
    "exclusiveMinimum": "above {}",
    "minimum": "at least {}",
    "exclusiveMaximum": "below {}",
    "maximum": "at most {}",
}


@dataclass(frozen=True)
class Key:
    """One key of a scenario.

    Attributes
    ----------
    path : str
        Dotted, ``*`` for every item of a list.
    meaning, unit : str
        As declared.
    allowed : str
        Its range or the words that it may be; empty where there is none.
    written : str
        How else than as a plain number it may be written; empty where there is no other way.
    usual : str
        The range of most homes, beyond which a note follows; empty where none is declared.
    required : bool
        Whether its table needs it.
    default : object
        What holds where it is left out; None for none of it, or for what another key decides.
    """

    path: str
    meaning: str
    unit: str
    allowed: str
    written: str
    usual: str
    required: bool
    default: object

    @property
    def name(self) -> str:
        """The last part of the path."""
        return self.path.rpartition(".")[2]


def all_keys() -> list[Key]:
    """Return every key of a scenario, in the order of its tables.

    Returns
    -------
    list of Key
        Each path once; of tables of several kinds the first that has the key.

    Examples
    --------
    >>> next(key.unit for key in all_keys() if key.path == "inverter.ac_kw")
    'kW'
    """
    found: dict[str, Key] = {}
    for key in _keys_of(Scenario, ""):
        found.setdefault(key.path, key)
    return list(found.values())


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema of a scenario, which editors of TOML read; it accepts all that the reader accepts.

    Returns
    -------
    dict
        Draft 2020-12. What tables must agree on is left to the reader.
    """
    schema = Scenario.model_json_schema(by_alias=True)
    plan = schema["properties"]["rate_plan"]
    schema["properties"]["rate_plan"] = {
        "anyOf": [{"$ref": plan.pop("$ref")}, {"type": "string"}],  # its tables, or the name of its own file
        **plan,
    }
    _without_formats(schema)
    _with_texts(schema)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "A solarsim scenario"}


def schema_text() -> str:
    """Return the JSON Schema as text.

    Returns
    -------
    str
        With a line break at its end.
    """
    return json.dumps(json_schema(), indent=1) + "\n"


def _without_formats(schema: Any) -> None:
    """Remove the formats of dates: TOML has dates of its own, which editors hand over in forms of their own."""
    for inner in schema.values() if isinstance(schema, dict) else schema if isinstance(schema, list) else ():
        _without_formats(inner)
    if isinstance(schema, dict) and isinstance(schema.get("format"), str):
        del schema["format"]


def _with_texts(schema: Any) -> None:
    """Allow a text in place of every number that may be written with a unit."""
    if isinstance(schema, dict):
        if "unit" in schema and (pattern := text_pattern(_dimension_shown(schema))):
            _number_or_text(schema, pattern)
        schema.pop("dimension", None)
    for inner in schema.values() if isinstance(schema, dict) else schema if isinstance(schema, list) else ():
        _with_texts(inner)


def _dimension_shown(schema: Mapping[str, Any]) -> str:
    text = json.dumps(schema)
    if schema["unit"] == "1" and '"type": "number"' not in text:
        return ""  # a count
    return str(schema.get("dimension", schema["unit"]))


def _number_or_text(schema: dict[str, Any], pattern: str) -> None:
    """Put a choice of a number or a text in place of each number within one key's schema."""
    for name in ("anyOf", "items", "additionalProperties"):
        inner = schema.get(name)
        for each in inner if isinstance(inner, list) else (inner,):
            if isinstance(each, dict):
                _number_or_text(each, pattern)
    if schema.get("type") in ("number", "integer"):
        number = {key: schema.pop(key) for key in ("type", *_LIMITS, "enum", "multipleOf") if key in schema}
        schema["anyOf"] = [number, {"type": "string", "pattern": pattern}]


def _keys_of(model: type[BaseModel], before: str) -> Iterator[Key]:
    properties = _properties(model)
    for name, declared in model.model_fields.items():
        key = declared.alias or name
        extra = declared.json_schema_extra
        unit = str(extra["unit"]) if isinstance(extra, dict) else ""
        default = None if declared.is_required() else declared.default
        yield Key(
            f"{before}{key}",
            declared.description or "",
            unit,
            _allowed(properties[key]),
            written_forms(dimension_of(declared) or ""),
            _usual(extra, unit),
            declared.is_required(),
            None if isinstance(default, BaseModel) or default == () or declared.default_factory else default,
        )
        for inner in models_in(declared.annotation):
            yield from _keys_of(inner, f"{before}{key}.*." if is_list(declared.annotation) else f"{before}{key}.")


@cache
def _properties(model: type[BaseModel]) -> dict[str, Any]:
    shown = model.model_json_schema(by_alias=True)
    return dict(shown.get("properties") or shown["$defs"][model.__name__]["properties"])


def _allowed(schema: dict[str, Any]) -> str:
    """Return the range or the words of a value, from its part of the JSON Schema."""
    for inner in (schema, *schema.get("anyOf", ())):
        if "enum" in inner or "const" in inner:
            return ", ".join(map(str, inner.get("enum", [inner.get("const")])))
        limits = [words.format(f"{inner[limit]:g}") for limit, words in _LIMITS.items() if limit in inner]
        if limits:
            return " and ".join(limits)
        count = inner.get("minItems")
        items = inner.get("items", inner.get("additionalProperties", {}))
        each = _allowed(items) if items else ""
        if inner.get("type") == "array" and count and count == inner.get("maxItems"):
            return f"{count} values" + (f", each {each}" if each else "")
        if each and items.get("type") in ("number", "integer"):
            return f"each {each}"
    return ""


def _usual(extra: Any, unit: str) -> str:
    if not isinstance(extra, dict) or "usual" not in extra:
        return ""
    low, high = extra["usual"]
    dollars = " US dollars, or as much in the plan's currency" if unit.startswith("currency") else ""
    return f"usually {low:g} to {high:g}{dollars}"
