"""The keys of a scenario: a model class and a place in, the tables that may be there and their keys out."""

from collections.abc import Mapping, Sequence
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
    for model in models:
        for name, field in model.model_fields.items():
            if key == (field.alias or name):
                return field
    return None


def models_at(root: type[BaseModel], where: Sequence[int | str], content: Any) -> list[type[BaseModel]]:
    """Return the models that the table at a place may be of, told apart by the kind that is written there."""
    models = [root]
    for part in where:
        content = _inner(content, part)
        if isinstance(part, str):
            field = field_at(models, part)
            models = [] if field is None else models_in(field.annotation)
        models = of_kind(models, content)
    return models


def keys_at(root: type[BaseModel], where: Sequence[int | str], content: Any) -> list[str]:
    """Return the keys that are allowed in the table at a place."""
    models = models_at(root, where, content)
    return list(dict.fromkeys(field.alias or name for each in models for name, field in each.model_fields.items()))


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


def _words(field: FieldInfo) -> tuple[Any, ...]:
    return get_args(field.annotation)


def _inner(content: Any, part: int | str) -> Any:
    try:
        return content[part]
    except (KeyError, IndexError, TypeError):
        return None
