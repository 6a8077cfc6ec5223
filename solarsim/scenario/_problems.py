"""What is wrong with a scenario, in its user's words: validation errors in, one line for each problem out."""

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date, time
from math import isfinite
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from solarsim.errors import key_of, nearest, nearest_name
from solarsim.fields import likely_unit
from solarsim.scenario._schema import field_at, keys_at, models_at
from solarsim.scenario._written_units import currency_of, dimension_of
from solarsim.units import number_from

_NO_UNITS = ("1", "1/C", "1/h", "text", "table", "year", "month", "day")
_LIMITS = {"ge": "at least", "gt": "above", "le": "at most", "lt": "below"}
_PLAIN_WORDS = {
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "bool_type": "must be true or false",
    "string_type": "must be text in quotes",
    "finite_number": "must be a finite number",
    "tuple_type": "must be a list",
    "model_type": "must be a table",
    "model_attributes_type": "must be a table",
    "dict_type": "must be a table",
    "string_too_short": "must not be empty",
    "date_type": "must be a date, for example 2026-07-04",
    "date_parsing": "must be a date, for example 2026-07-04",
    "date_from_datetime_parsing": "must be a date, for example 2026-07-04",
    **dict.fromkeys(
        ("datetime_type", "datetime_parsing", "datetime_from_date_parsing"),
        "must be a date and a time, for example 2026-07-04T18:00:00",
    ),
}


def problem_lines(root: type[BaseModel], details: Sequence[ErrorDetails], content: Mapping[str, Any]) -> list[str]:
    """Return validation errors of tables by key, value and what is allowed; a misspelled key is not also missing."""
    misspelled = {
        (*detail["loc"][:-1], nearest_name(str(detail["loc"][-1]), _keys_beside(root, detail["loc"], content)))
        for detail in details
        if detail["type"] == "extra_forbidden"
    }
    alike = Counter(filter(None, map(_rule_of_list, details)))
    lines: list[str] = []
    for detail in details:
        if detail["type"] == "missing" and detail["loc"] in misspelled:
            continue
        rule = _rule_of_list(detail)
        found = _lines(root, detail, content)
        if rule is not None and alike[rule] != 1:
            more, alike[rule] = alike[rule] - 1, 0  # the first of them stands for all
            found = [f"{line} (and {more} more of this list)" for line in found if more > 0]
        lines += found
    return lines


def _rule_of_list(detail: ErrorDetails) -> tuple[object, ...] | None:
    """Return what numbers of one list have in common that break the same rule; None for all other mistakes."""
    where = detail["loc"]
    if not where or not isinstance(where[-1], int) or not any(limit in detail.get("ctx", {}) for limit in _LIMITS):
        return None
    return (*where[: 1 + max(n for n, part in enumerate(where) if isinstance(part, str))], detail["type"])


def _keys_beside(root: type[BaseModel], where: Sequence[int | str], content: Any) -> list[str]:
    return keys_at(root, _without_kinds(where[:-1], content), content)


def _lines(root: type[BaseModel], detail: ErrorDetails, content: Mapping[str, Any]) -> list[str]:
    where, kind, context = detail["loc"], detail["type"], detail.get("ctx", {})
    key = key_of(_without_kinds(where, content))
    value = _value_at(content, _without_kinds(where, content))
    if kind == "union_tag_not_found":
        tag = context["discriminator"].strip("'")
        near = nearest_name(tag, list(value)) if isinstance(value, Mapping) else None
        return [f"{key}.{tag}: is missing" + (f"; is {near!r} misspelled?" if near else "")]
    if kind == "union_tag_invalid":
        return [
            f"{key}.{context['discriminator'].strip(chr(39))}: {context['tag']!r} is not known"
            + nearest(context["tag"], _literals(context["expected_tags"]))
        ]
    if kind == "missing":
        return [f"{key}: is missing"]
    if kind == "default_factory_not_called":
        return []  # what it needs is wrong, and reported already
    if kind == "extra_forbidden":
        return [f"{key}: unknown key" + nearest(str(where[-1]), _keys_beside(root, where, content))]
    if kind == "literal_error":
        return [f"{key}: {value!r} is not known" + nearest(str(value), _literals(context["expected"]))]
    if kind == "value_error":
        return [f"{key}: {_shown(value)}{problem}" if key else problem for problem in str(context["error"]).split("\n")]
    for limit, words in _LIMITS.items():
        if limit in context:
            declared = _declared_at(root, _without_kinds(where, content), content)
            unit, usual = _unit_and_usual(declared)
            shown = "" if unit in _NO_UNITS or unit.startswith("currency") else f" {unit}"
            meant = _meant(value, unit, float(context[limit]), usual, upper=limit in ("le", "lt"))
            is_ = _converted(value, declared, content, shown)
            return [f"{key}: {_shown(value)}{is_}must be {words} {context[limit]:g}{shown}{meant}"]
    if kind in ("too_short", "too_long"):
        bound = int(context.get("min_length", context.get("max_length", 0)))
        words = "at least" if kind == "too_short" else "at most"
        count = len(value) if isinstance(value, list) else 0
        if kind == "too_short" and count >= bound:
            return []  # only those without an error were counted, and the errors are reported already
        return [f"{key}: has {count} entries, must have {words} {bound}"]
    if kind == "string_too_long":
        return [f"{key}: {value!r} must have at most {context['max_length']} characters"]
    if kind == "string_pattern_mismatch":
        return [f"{key}: {value!r} must be three capital letters, for example 'USD'"]
    if kind in ("float_type", "int_type") and isinstance(value, str):
        declared = _declared_at(root, _without_kinds(where, content), content)
        return [f"{key}: {_shown(value)}{_no_number(value, declared, content) or _PLAIN_WORDS[kind]}"]
    return [f"{key}: {_shown(value)}{_PLAIN_WORDS.get(kind, detail['msg'])}"]


def _no_number(text: str, declared: FieldInfo | None, content: Mapping[str, Any]) -> str:
    """Return why a text is no number for a key; empty where it is one."""
    dimension = None if declared is None else dimension_of(declared)
    try:
        number_from(text, dimension or "text", currency_of(content))
    except ValueError as error:
        return str(error)
    return ""


def _converted(value: object, declared: FieldInfo | None, content: Mapping[str, Any], shown: str) -> str:
    """Return what a value with a unit is in the key's own unit; empty where it is a plain number."""
    dimension = None if declared is None else dimension_of(declared)
    if not isinstance(value, str) or dimension is None:
        return ""
    return f"({number_from(value, dimension, currency_of(content)):g}{shown}) "


def _declared_at(root: type[BaseModel], where: Sequence[int | str], content: Any) -> FieldInfo | None:
    """Return the declaration of the key at a place."""
    places = [number for number, part in enumerate(where) if isinstance(part, str)][-2:]
    tables = [(models_at(root, where[:place], content), str(where[place])) for place in reversed(places)]
    return next((each for models, key in tables if (each := field_at(models, key))), None)  # or a dict's own


def _unit_and_usual(declared: FieldInfo | None) -> tuple[str, tuple[float, float] | None]:
    """Return the unit of a key, and its usual range where one is declared."""
    extra = None if declared is None else declared.json_schema_extra
    if not isinstance(extra, dict):
        return "1", None
    usual: Any = extra.get("usual")
    return str(extra["unit"]), None if usual is None else (usual[0], usual[1])


def _meant(value: object, unit: str, limit: float, usual: tuple[float, float] | None, *, upper: bool) -> str:
    """Return in which unit a number beyond a limit would be credible."""
    if not isinstance(value, int | float) or not isfinite(value):
        return ""
    if unit.startswith("currency") or usual is None:  # what is usual in a currency is not known here
        usual = (min(limit, 0.0), max(limit, 0.0)) if upper or limit < 0 else (limit, 100.0 * limit)
    return likely_unit(float(value), unit, *usual)


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return f"{value} ".lower()  # as TOML writes it
    if isinstance(value, date | time):
        return f"{value.isoformat()} "
    return f"{value!r} " if isinstance(value, str | int | float) else ""


def _literals(expected: str) -> list[str]:
    return [word.strip(" '") for word in expected.replace(" or ", ", ").split(",")]


def _value_at(content: Any, where: Sequence[int | str]) -> object:
    for part in where:
        try:
            content = content[part]
        except (KeyError, IndexError, TypeError):
            return None
    return content


def _without_kinds(where: Sequence[int | str], content: Any) -> list[int | str]:
    """Leave out what pydantic puts into a place behind a table of several kinds: the table's kind or format."""
    plain: list[int | str] = []
    for before, part in zip(("", *where), where, strict=False):
        table = _value_at(content, plain)
        tag = "kind" if isinstance(before, int) else "format"
        told_apart = isinstance(before, int) or before == "weather"
        if not (told_apart and isinstance(table, Mapping) and table.get(tag) == part):
            plain.append(part)
    return plain
