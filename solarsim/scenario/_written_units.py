"""Values with units in the raw tables of a scenario: tables as written in, tables of plain numbers out.

The factors are those of NIST Special Publication 811, in ``solarsim.units``.
"""

from collections.abc import Mapping
from functools import cache
from typing import Any, NamedTuple, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from solarsim.scenario._schema import models_in, of_kind
from solarsim.units import number_from


class _Key(NamedTuple):
    dimension: str | None  # None where it is no number
    models: tuple[type[BaseModel], ...]


def plain_numbers(root: type[BaseModel], tables: Mapping[str, Any], currency: str | None = None) -> dict[str, Any]:
    """Return tables in which every value with a unit is a number in its key's unit; what is wrong stays as it is.

    The currency is that of the rate plan among them, unless it is known already.
    """
    return _table((root,), tables, currency or currency_of(tables))


def currency_of(tables: Mapping[str, Any]) -> str | None:
    """Return the currency of a scenario's tables, where one is written."""
    plan = tables.get("rate_plan")
    currency = plan.get("currency") if isinstance(plan, Mapping) else None
    return currency if isinstance(currency, str) else None


def in_own_unit(declared: FieldInfo, value: Any, currency: str | None) -> Any:
    """Return a value of a key as a number in the key's unit, where it is written with a unit."""
    return _number(value, dimension_of(declared), currency)


def dimension_of(declared: FieldInfo) -> str | None:
    """Return the dimension of a key, or of each entry of its list; None where it is no number with a fraction."""
    extra = declared.json_schema_extra
    if not isinstance(extra, dict) or not _is_number(declared.annotation):
        return None
    unit = str(extra["unit"])
    if unit == "1" and not _is_number(declared.annotation, float):
        return None  # a count
    return str(extra.get("dimension", unit))


def _is_number(annotation: Any, *kinds: type) -> bool:
    return annotation in (kinds or (float, int)) or any(_is_number(each, *kinds) for each in get_args(annotation))


@cache
def _keys(models: tuple[type[BaseModel], ...]) -> dict[str, _Key]:
    """Return the keys that may hold a number or a table with numbers; of several models the first that has the key."""
    found: dict[str, _Key] = {}
    for model in models:
        for name, declared in model.model_fields.items():
            key = _Key(dimension_of(declared), tuple(models_in(declared.annotation)))
            if key.dimension is not None or key.models:
                found.setdefault(declared.alias or name, key)
    return found


def _table(models: tuple[type[BaseModel], ...], table: Mapping[str, Any], currency: str | None) -> dict[str, Any]:
    found = dict(table)
    known = _keys(models if len(models) == 1 else tuple(of_kind(list(models), table)))
    for name, value in table.items():
        if isinstance(value, str | list | dict) and name in known:
            found[name] = _value(known[name], value, currency)
    return found


def _value(key: _Key, value: Any, currency: str | None) -> Any:
    if isinstance(value, list):
        return [_value(key, each, currency) if isinstance(each, str | list | dict) else each for each in value]
    if isinstance(value, Mapping):
        return _table(key.models, value, currency) if key.models else value
    return _number(value, key.dimension, currency)


def _number(value: Any, dimension: str | None, currency: str | None) -> Any:
    """Return the number that a text with a unit means; anything else as it is."""
    if not isinstance(value, str) or dimension is None:
        return value
    try:
        number = number_from(value, dimension, currency)
    except ValueError:
        return value  # reported where all wrong values are
    return int(number) if number.is_integer() and abs(number) < 2**53 else number
