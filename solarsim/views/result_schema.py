"""What a command prints with --json, as a JSON Schema: its name in; the schema, made from its result's fields, out."""

import dataclasses
import json
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from importlib import import_module
from importlib.util import find_spec
from inspect import get_annotations
from pkgutil import iter_modules
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin

import numpy as np

from solarsim.errors import OutputError
from solarsim.results import Fact, Result, computed

#: Views of what a command prints with an option, beside the view of its own name.
_OF_OPTIONS: Mapping[str, tuple[str, ...]] = {"flows": ("explain",), "weather": ("weather_get",)}
#: Views of a result that its command prints as a part of another.
_OF_PARTS = ("ladder",)
_PLAIN: tuple[tuple[tuple[type, ...], dict[str, str]], ...] = (  # the first that fits
    ((bool, np.bool_), {"type": "boolean"}),
    ((int, np.integer), {"type": "integer"}),
    ((float, np.floating, Decimal), {"type": "number"}),
    ((str,), {"type": "string"}),
    ((date,), {"type": "string"}),
    ((NoneType,), {"type": "null"}),
)


def schema_of(command: str) -> dict[str, Any]:
    """Return the JSON Schema of what a command prints with ``--json``.

    Parameters
    ----------
    command : str
        Its name.

    Returns
    -------
    dict
        Draft 2020-12. Each key has its meaning as ``description`` and its ``unit``; no other keys are allowed.

    Raises
    ------
    OutputError
        No command of this name prints JSON.

    Examples
    --------
    >>> schema_of("compare")["properties"]["currency"]
    {'type': 'string', 'description': 'ISO 4217 code of all money', 'unit': 'text'}
    """
    if not _is_command(command):
        known = commands_with_json()
        near = get_close_matches(command, known, n=1)
        nearest = f"; nearest: {near[0]}" if near else ""
        raise OutputError(f"--of {command}: no such command prints JSON{nearest}; they are: {', '.join(known)}")
    defined: dict[str, dict[str, Any]] = {}
    forms = [
        _object_of(result, defined, beside=getattr(import_module(f"solarsim.views.{view}"), "BESIDE", {}))
        for view in (command, *_OF_OPTIONS.get(command, ()))
        if (result := _result_of(view)) is not None
    ]
    whole = forms[0] if len(forms) == 1 else {"anyOf": forms}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"What solarsim {command} --json prints",
        **whole,
        "$defs": dict(sorted(defined.items())),
    }


def commands_with_json() -> list[str]:
    """Return the commands that print JSON.

    Returns
    -------
    list of str
        Their names, in the order of the alphabet.
    """
    from solarsim import views

    names = sorted(module.name for module in iter_modules(views.__path__))
    return [name for name in names if _is_command(name)]


def result_schema_text(command: str) -> str:
    """Return the JSON Schema of a command's result as text.

    Parameters
    ----------
    command : str
        Its name.

    Returns
    -------
    str
        With a line break at its end.

    Raises
    ------
    OutputError
        See ``schema_of``.
    """
    return json.dumps(schema_of(command), indent=1) + "\n"


def _is_command(name: str) -> bool:
    """Return whether a view is that of a command with JSON, not that of an option or of a part."""
    of_others = (*_OF_PARTS, *(view for views in _OF_OPTIONS.values() for view in views))
    return name not in of_others and _result_of(name) is not None


def _result_of(view: str) -> type[Result] | None:
    """Return the kind of result that a view shows; None where there is no such view."""
    if not view.isidentifier() or find_spec(f"solarsim.views.{view}") is None:
        return None
    page = getattr(import_module(f"solarsim.views.{view}"), "page", None)
    result = get_annotations(page).get("result") if page is not None else None
    return result if isinstance(result, type) and issubclass(result, Result) else None


def _object_of(
    kind: type[Result],
    defined: dict[str, dict[str, Any]],
    without: tuple[str, ...] = (),
    beside: Mapping[str, type[Result]] | None = None,
) -> dict[str, Any]:
    """Return the schema of a result's record; what it is made of is added to what is defined."""
    parts = {name: part for name, part in _parts_of(kind).items() if name not in without}
    keys = {
        name: {**_of_type(annotation, defined, left_out), "description": what.meaning, "unit": what.unit}
        for name, (what, annotation, left_out) in parts.items()
    }
    further = {name: _of_type(inner, defined) for name, inner in (beside or {}).items()}
    doc = (kind.__doc__ or "").strip().splitlines()[0]
    return {
        "description": doc,
        "type": "object",
        "properties": {**keys, **further},
        "required": list(keys),
        "additionalProperties": False,
    }


def _parts_of(kind: type[Result]) -> dict[str, tuple[Fact, Any, tuple[str, ...]]]:
    """Return fact, annotation and the keys left out of every declared field, in the order of the record."""
    fields = {field.name: field for field in dataclasses.fields(kind)}  # type: ignore[arg-type]  # a dataclass
    parts = {}
    for name, what in kind.facts().items():
        if name in fields:
            parts[name] = (what, fields[name].type, fields[name].metadata["without"])
            continue
        made = getattr(kind, name, None)  # a property, else what the class computes for names of its own
        function: Any = made.fget if isinstance(made, computed) else vars(kind)["__getattr__"]
        parts[name] = (what, get_annotations(function)["return"], ())
    return parts


def _of_type(annotation: Any, defined: dict[str, dict[str, Any]], without: tuple[str, ...] = ()) -> dict[str, Any]:
    """Return the schema of what ``results.plain`` makes of a value of a type."""
    if annotation is Any:
        return {}
    kind, inner = get_origin(annotation), get_args(annotation)
    if kind in (Union, UnionType):
        return _one_of([_of_type(each, defined, without) for each in inner])
    if kind is Literal:
        return {"enum": list(inner)}
    if kind is np.ndarray:
        return {"type": "array", "items": _of_type(get_args(inner[1])[0], defined)}
    if isinstance(kind, type) and issubclass(kind, Mapping):
        return {"type": "object", "additionalProperties": _of_type(inner[1], defined)}
    if kind in (tuple, list):
        return _list_of(inner, defined)
    return _of_class(annotation, defined, without)


def _of_class(kind: Any, defined: dict[str, dict[str, Any]], without: tuple[str, ...]) -> dict[str, Any]:
    """Return the schema of a plain type, or a reference to that of a result."""
    if isinstance(kind, type) and issubclass(kind, Result):
        name = kind.__name__ + "".join(f"_without_{key}" for key in without)
        if name not in defined:
            defined[name] = {}  # it may hold results of its own kind
            defined[name] = _object_of(kind, defined, without)
        return {"$ref": f"#/$defs/{name}"}
    for kinds, schema in _PLAIN:
        if isinstance(kind, type) and issubclass(kind, kinds):
            return dict(schema)
    raise TypeError(f"{kind}: no schema for such a field")


def _list_of(inner: tuple[Any, ...], defined: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """Return the schema of a list: of any length, or of one item for each type."""
    if len(inner) == 1 or inner[1:] == (...,):
        return {"type": "array", "items": _of_type(inner[0], defined)}
    items = [_of_type(each, defined) for each in inner]
    return {"type": "array", "prefixItems": items, "minItems": len(items), "maxItems": len(items)}


def _one_of(schemas: list[dict[str, Any]]) -> dict[str, Any]:
    """Return a schema that allows any of some; plain types share one line."""
    if all(list(each) == ["type"] for each in schemas):
        return {"type": [each["type"] for each in schemas]}
    return {"anyOf": schemas}
