"""The keys of a scenario: a model class and a place in, the tables that may be there and their keys out."""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

_TAGS = ("kind", "format")  # the keys that tell tables of several kinds apart


def models_in(annotation: Any) -> list[type[BaseModel]]:
    """Return the models of tables that an annotation allows."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for inner in get_args(annotation) for model in models_in(inner)]


def is_list(annotation: Any) -> bool:
    """Return whether an annotation allows a list."""
    return get_origin(annotation) is tuple or any(is_list(inner) for inner in get_args(annotation))


def field_at(models: Sequence[type[BaseModel]], key: str) -> FieldInfo | None:
    """Return the field of the first model that has a key."""
    return next((_fields(model)[key] for model in models if key in _fields(model)), None)


def models_at(root: type[BaseModel], where: Sequence[int | str], content: Any) -> list[type[BaseModel]]:
    """Return the models that the table at a place may be of, told apart by the kind that is written there."""
    models = [root]
    for part in where:
        content = _inner(content, part)
        if isinstance(part, str):
            models = next((list(_tables(model)[part]) for model in models if part in _tables(model)), [])
        models = of_kind(models, content)
    return models


def keys_at(root: type[BaseModel], where: Sequence[int | str], content: Any) -> list[str]:
    """Return the keys that are allowed in the table at a place."""
    models = models_at(root, where, content)
    return list(dict.fromkeys(key for each in models for key in _fields(each)))


def of_kind(models: list[type[BaseModel]], table: Any) -> list[type[BaseModel]]:
    """Return the models that a table may be of, told apart by the kind that is written in it."""
    if not isinstance(table, Mapping):
        return models
    for tag in _TAGS:
        fitting = [
            each for each in models if tag in each.model_fields and table.get(tag) in _words(each.model_fields[tag])
        ]
        if fitting:
            return fitting
    return models


@cache
def _fields(model: type[BaseModel]) -> dict[str, FieldInfo]:
    """Return the fields of a model by the keys that they are written as."""
    return {field.alias or name: field for name, field in model.model_fields.items()}


@cache
def _tables(model: type[BaseModel]) -> dict[str, tuple[type[BaseModel], ...]]:
    """Return the models that the table at each key may be of; none where it is no table."""
    return {key: tuple(models_in(field.annotation)) for key, field in _fields(model).items()}


def _words(field: FieldInfo) -> tuple[Any, ...]:
    return get_args(field.annotation)


def _inner(content: Any, part: int | str) -> Any:
    try:
        return content[part]
    except (KeyError, IndexError, TypeError):
        return None
