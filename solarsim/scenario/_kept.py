"""Changed scenarios at little cost: a validated scenario and changed tables in; the scenario of these out."""

import json
from collections.abc import Mapping
from functools import cache
from typing import Any, TypeVar

from pydantic import ValidationError, create_model

from solarsim.fields import Frozen
from solarsim.scenario._tables import Origin, misplaced_dates
from solarsim.scenario._written_units import plain_numbers

_S = TypeVar("_S", bound=Frozen)


def with_tables_kept(before: _S, tables: Mapping[str, Any], origin: Origin) -> _S | None:
    """Return the scenario of changed tables, those that are the same as ``tables`` not validated again.

    A table is validated by itself, from its raw content, the folder and the file: where its raw content is the very
    object that it was, so is the result. What tables must agree on is checked again for all of them. None where
    anything is wrong, or the rate plan differs, which may name files: then all is validated anew, and reported.
    """
    kind = type(before)
    now = {key: table for key, table in origin.tables.items() if key in kind.model_fields}
    same = {key for key, table in now.items() if tables.get(key) is table}
    if "rate_plan" in now.keys() - same:
        return None
    parts: dict[str, Any] = {key: getattr(before, key) for key in same}
    context: dict[str, Any] = {"origin": origin, "prices": None, "on_step": same if "site" in same else ()}
    plan = getattr(before, "rate_plan", None)
    currency = None if plan is None else plan.currency
    try:
        for key in now.keys() - same:
            content = {key: now[key]}
            if misplaced_dates(content):
                return None
            numbers = json.dumps(plain_numbers(kind, content, currency), default=str)
            only = _only(kind, key).model_validate_json(numbers, context=context)
            parts[key] = getattr(only, key)
        return kind.model_validate({key: parts[key] for key in now}, context=context)
    except ValidationError:
        return None


@cache
def _only(kind: type[Frozen], key: str) -> type[Frozen]:
    """Return a model of one table of a scenario."""
    declared = kind.model_fields[key]
    table: dict[str, Any] = {key: (declared.annotation, declared)}
    return create_model(f"{kind.__name__}_{key}", __base__=Frozen, **table)
