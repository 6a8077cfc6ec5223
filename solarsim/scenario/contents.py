"""What a scenario names and what it leaves out: a validated scenario in, its files and the defaults in use out."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from solarsim.fields import names_files
from solarsim.scenario._schema import models_in
from solarsim.scenario.model import WeatherScenario


class NamedFile(NamedTuple):
    """A file that a scenario names: the key, and the name as it is written there."""

    key: str
    name: str


class Default(NamedTuple):
    """A key that is left out, with the value that holds then (None: there is no such table), and its declaration."""

    key: str
    value: Any
    meaning: str
    unit: str


def named_files(scenario: WeatherScenario) -> tuple[NamedFile, ...]:
    """Return the files that a scenario names.

    Parameters
    ----------
    scenario : WeatherScenario
        Or any part that holds more.

    Returns
    -------
    tuple of NamedFile
        In the order of the tables; a rate plan of its own file too.

    Examples
    --------
    >>> from solarsim import read_scenario
    >>> [file.key for file in named_files(read_scenario("miami"))][:2]
    ['weather.file', 'plans.files']
    """
    found = [NamedFile(key, name) for key, name in _files_in(scenario, "")]
    plan = scenario.tables.get("rate_plan")
    return (*found, NamedFile("rate_plan", plan)) if isinstance(plan, str) else tuple(found)


def defaults_in_use(scenario: WeatherScenario) -> tuple[Default, ...]:
    """Return the keys that are left out and have a value all the same, and the tables that are left out.

    Parameters
    ----------
    scenario : WeatherScenario
        Or any part that holds more.

    Returns
    -------
    tuple of Default
        Of tables that are there, and of the whole; entries of a list as ``*``, each key and value once.
    """
    found = {(each.key, str(each.value)): each for each in _defaults_of(scenario, "")}
    return tuple(found.values())


def _files_in(model: BaseModel, before: str) -> Iterator[tuple[str, str]]:
    for name, declared, value in _fields(model):
        key = f"{before}{declared.alias or name}"
        if names_files(declared):
            values = value if isinstance(value, tuple) else () if value is None else (value,)
            yield from ((key, each) for each in values)
        for inner, at in _models(value, key):
            yield from _files_in(inner, f"{at}.")


def _defaults_of(model: BaseModel, before: str) -> Iterator[Default]:
    for name, declared, value in _fields(model):
        key = f"{before}{declared.alias or name}"
        for inner, at in _models(value, key):
            yield from _defaults_of(inner, f"{at}.")
        if name in model.model_fields_set or isinstance(value, BaseModel) or declared.is_required():
            continue
        is_table = bool(models_in(declared.annotation))
        if (is_table and value in (None, ())) or (not is_table and value not in (None, (), "")):
            extra = declared.json_schema_extra
            unit = str(extra["unit"]) if isinstance(extra, dict) else ""
            yield Default(key, None if is_table else value, declared.description or "", unit)


def _fields(model: BaseModel) -> Iterator[tuple[str, FieldInfo, Any]]:
    for name, declared in type(model).model_fields.items():
        yield name, declared, getattr(model, name)


def _models(value: Any, key: str) -> Iterator[tuple[BaseModel, str]]:
    """Yield the tables of a value with their keys."""
    if isinstance(value, BaseModel):
        yield value, key
    for each in value if isinstance(value, tuple) else ():
        yield from _models(each, f"{key}.*")
