"""Values with units in the raw tables of a scenario: tables as written in, tables of plain numbers out."""

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
    return _table([root], tables, currency or currency_of(tables))


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
def _keys(model: type[BaseModel]) -> dict[str, _Key]:
    return {
        declared.alias or name: _Key(dimension_of(declared), tuple(models_in(declared.annotation)))
        for name, declared in model.model_fields.items()
    }


def _table(models: list[type[BaseModel]], table: Mapping[str, Any], currency: str | None) -> dict[str, Any]:
    found = dict(table)
    known = [_keys(model) for model in of_kind(models, table)]
    for name, value in table.items():
        key = next((keys[name] for keys in known if name in keys), None)
        if key is not None and isinstance(value, str | list | dict):
            found[name] = _value(key, value, currency)
    return found


def _value(key: _Key, value: Any, currency: str | None) -> Any:
    if isinstance(value, list):
        return [_value(key, each, currency) for each in value]
    if isinstance(value, Mapping):
        return _table(list(key.models), value, currency) if key.models else value
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
