"""What is wrong with a scenario, in its user's words: validation errors in, one line for each problem out."""

from collections.abc import Mapping, Sequence
from datetime import date, time
from typing import Any, get_args

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from solarsim.errors import key_of, nearest, nearest_name
from solarsim.scenario.model import Scenario

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
}


def problem_lines(details: list[ErrorDetails], content: Mapping[str, Any]) -> list[str]:
    """Tell validation errors by key, value and what is allowed.

    Parameters
    ----------
    details : list of ErrorDetails
        As pydantic gives them, places counted from the scenario's own table.
    content : mapping
        The tables that were validated.

    Returns
    -------
    list of str
        A misspelled required key is told once, not also as missing.
    """
    misspelled = {_meant(detail["loc"]) for detail in details if detail["type"] == "extra_forbidden"}
    return [
        line
        for detail in details
        if detail["type"] != "missing" or detail["loc"] not in misspelled
        for line in _lines(detail, content)
    ]


def _meant(where: tuple[int | str, ...]) -> tuple[int | str, ...]:
    return (*where[:-1], nearest_name(str(where[-1]), _keys_at(where[:-1])) or "")


def _lines(detail: ErrorDetails, content: Mapping[str, Any]) -> list[str]:
    where, kind, context = detail["loc"], detail["type"], detail.get("ctx", {})
    key = key_of(_without_kinds(where, content))
    value = _value_at(content, _without_kinds(where, content))
    if kind == "union_tag_not_found":
        return [f"{key}.{context['discriminator'].strip(chr(39))}: is missing"]
    if kind == "union_tag_invalid":
        return [
            f"{key}.{context['discriminator'].strip(chr(39))}: {context['tag']!r} is not known"
            + nearest(context["tag"], _literals(context["expected_tags"]))
        ]
    if kind == "missing":
        return [f"{key}: is missing"]
    if kind == "default_factory_not_called":
        return []  # what it needs is wrong, and told already
    if kind == "extra_forbidden":
        return [f"{key}: unknown key" + nearest(str(where[-1]), _keys_at(where[:-1]))]
    if kind == "literal_error":
        return [f"{key}: {value!r} is not known" + nearest(str(value), _literals(context["expected"]))]
    if kind == "value_error":
        return [f"{key}: {_shown(value)}{problem}" if key else problem for problem in str(context["error"]).split("\n")]
    for limit, words in (("ge", "at least"), ("gt", "above"), ("le", "at most"), ("lt", "below")):
        if limit in context:
            share = "; a share: 0.2 is 20 %" if words == "at most" and context[limit] == 1 else ""
            return [f"{key}: {_shown(value)}must be {words} {context[limit]:g}{share}"]
    if kind in ("too_short", "too_long"):
        bound = int(context.get("min_length", context.get("max_length", 0)))
        words = "at least" if kind == "too_short" else "at most"
        count = len(value) if isinstance(value, list) else 0
        if kind == "too_short" and count >= bound:
            return []  # only those without an error were counted, and the errors are told already
        return [f"{key}: has {count} entries, must have {words} {bound}"]
    if kind == "string_too_long":
        return [f"{key}: {value!r} must have at most {context['max_length']} characters"]
    if kind == "string_pattern_mismatch":
        return [f"{key}: {value!r} must be three capital letters, for example 'USD'"]
    return [f"{key}: {_shown(value)}{_PLAIN_WORDS.get(kind, detail['msg'])}"]


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


def _keys_at(where: Sequence[int | str]) -> list[str]:
    """Name the keys that are allowed in the table at a place of the scenario."""
    model: type[BaseModel] = Scenario
    kinds: dict[str, type[BaseModel]] = {}
    for part in where:
        if part in kinds:
            model, kinds = kinds[str(part)], {}
        elif isinstance(part, str):
            annotation = model.model_fields[_field_of(model, part)].annotation
            model, kinds = _model_in(annotation) or model, _kinds_in(annotation)
    return [field.alias or name for name, field in model.model_fields.items()]


def _field_of(model: type[BaseModel], key: str) -> str:
    return next(name for name, field in model.model_fields.items() if key in (name, field.alias))


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


def _kinds_in(annotation: Any) -> dict[str, type[BaseModel]]:
    """Name the models of tables that a key ``kind`` or ``format`` tells apart."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        field = annotation.model_fields.get("kind", annotation.model_fields.get("format"))
        return {} if field is None else dict.fromkeys(get_args(field.annotation), annotation)
    return {kind: model for inner in get_args(annotation) for kind, model in _kinds_in(inner).items()}


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in get_args(annotation):
        found = _model_in(inner)
        if found is not None:
            return found
    return None
