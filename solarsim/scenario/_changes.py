"""Changes to a scenario: dotted keys with values in, new raw tables out. Nothing is validated here but the keys."""

import copy
import json
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from pydantic import BaseModel

from solarsim.errors import ScenarioError, nearest, ordinal
from solarsim.scenario._dotted import PAIR, RefusedError, Step, index_of, steps_of
from solarsim.scenario._lapses import lapsed, lists_of
from solarsim.scenario._schema import field_at, is_list, keys_at, models_at, models_in
from solarsim.scenario._written_units import currency_of, in_own_unit

_GONE = object()  # stands for what is removed until all changes are made, so that indexes stay what they were
_CHANGE = re.compile(r"""(?:"(?:[^"\\]|\\.)*"|'[^']*'|[^;"'])+""")


def changes_from(texts: Iterable[str]) -> dict[str, Any]:
    """Read changes as the command line writes them: ``KEY=VALUE``, the value as TOML, else as text."""
    changes: dict[str, Any] = {}
    for text in texts:
        pair = PAIR.fullmatch(text)
        if pair is None or not pair[1].strip():
            raise ScenarioError(f"--set {text}: must be KEY=VALUE, for example --set inverter.ac_kw=8")
        key = pair[1].strip()
        if key in changes:
            raise ScenarioError(f"--set {key}: appears twice")
        changes[key] = value_from(pair[2].strip())
    return changes


def axes_from(texts: Iterable[str]) -> dict[str, list[Any]]:
    """Read axes as the command line writes them: ``KEY=VALUE,VALUE``, each value as for ``changes_from``."""
    axes: dict[str, list[Any]] = {}
    for text in texts:
        pair = PAIR.fullmatch(text)
        if pair is None or not pair[1].strip():
            raise ScenarioError(
                f"--axis {text}: must be KEY=VALUE,VALUE,... for example --axis battery.bank.0.strings=0,1,2"
            )
        key, values = pair[1].strip(), pair[2].strip()
        if key in axes:
            raise ScenarioError(f"--axis {key}: appears twice")
        try:
            axes[key] = tomllib.loads(f"values = [{values}]")["values"]
        except ValueError:
            axes[key] = [value_from(each.strip()) for each in values.split(",")] if values else []
    return axes


def variant_from(text: str) -> dict[str, Any]:
    """Read one variant of a home: changes with ``;`` from one to the next, outside quotes."""
    return changes_from(each.strip() for each in _CHANGE.findall(text) if each.strip())


def value_at(model: BaseModel, path: str) -> Any:
    """Return what a validated scenario has at a path; None where there is nothing."""
    here: Any = model
    for step in steps_of(path):
        if isinstance(here, tuple):
            named = [each for each in here if getattr(each, "name", None) == step.text]
            index = index_of(step) or 0
            here = named[0] if named else here[index] if index < len(here) else None
        elif isinstance(here, Mapping):
            here = here.get(step.text)
        else:
            here = getattr(here, step.text, None)
    return here


def plain_value(root: type[BaseModel], tables: Mapping[str, Any], path: str, value: Any) -> Any:
    """Return a value that may be written with a unit as a number in the unit of the key at a path."""
    models, declared = [root], None
    for step in steps_of(path) if isinstance(value, str) else ():
        found = field_at(models, step.text)
        if found is not None:  # else an entry of a list
            declared, models = found, models_in(found.annotation)
    return value if declared is None else in_own_unit(declared, value, currency_of(tables))


def value_from(text: str) -> Any:
    """Read a value as the command line and a table of homes write it: as TOML, else as text; ``none`` removes."""
    if text == "none":
        return None
    try:
        found = tomllib.loads(f"value = {text}")
    except ValueError:
        return text
    return found["value"] if len(found) == 1 else text


def changed_tables(
    root: type[BaseModel],
    tables: Mapping[str, Any],
    changes: Mapping[str, Any],
    rate_plan_tables: Callable[[str], Mapping[str, Any]],
) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Return the tables with all changes made, and what lapsed with what was removed.

    A table that no change reaches is the very object that it was.
    """
    new: dict[str, Any] = dict(tables)
    problems = []
    removed, reached = set(), set()
    for path, value in changes.items():
        try:
            steps = steps_of(path)
            if [step.text for step in steps] == ["system"]:
                if value is not None:
                    raise RefusedError("can only be removed: system = none")
                removed.add("system")
                continue
            table = steps[0].text
            if table not in reached and table in new:
                new[table] = copy.deepcopy(new[table])
            reached.add(table)
            if table == "rate_plan" and len(steps) > 1 and isinstance(new.get("rate_plan"), str):
                new["rate_plan"] = copy.deepcopy(dict(rate_plan_tables(new["rate_plan"])))
            if value is None:
                removed.add(path.strip())
            _set(root, new, (), steps, _GONE if value is None else raw(value))
        except RefusedError as error:
            problems.append(f"{path}: {error}")
    if problems:
        raise ScenarioError(*problems)
    left = {where: [place for place, each in enumerate(rows) if each is not _GONE] for where, rows in lists_of(new)}
    new = {key: _pruned(table) if key in reached else table for key, table in new.items() if table is not _GONE}
    return new, lapsed(tables, new, removed, left, changes.values())


def raw(value: Any) -> Any:
    """Return a value as TOML would give it: models as tables, tuples as lists, numpy's numbers as plain ones."""
    if isinstance(value, BaseModel):
        return json.loads(value.model_dump_json(by_alias=True, exclude_unset=True))
    if isinstance(value, Mapping):
        return {str(key): raw(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [raw(inner) for inner in value]
    return value.item() if hasattr(value, "item") else value


def _set(root: type[BaseModel], tables: Any, where: tuple[int | str, ...], steps: list[Step], value: Any) -> None:
    """Set the value at the steps that are left, from the table or list at a place on."""
    here = tables
    for part in where:
        here = here[part]
    step, *rest = steps
    if isinstance(here, list):
        for index in _items(here, step, bool(rest)):
            if rest:
                _set(root, tables, (*where, index), rest, value)
            else:
                here[index] = value
        return
    if not isinstance(here, dict):
        raise RefusedError(f"leads into {here!r}, which is not a table")
    models = models_at(root, where, tables)
    if models and step.text not in keys_at(root, where, tables):
        raise RefusedError(f"unknown key {step.text!r}{nearest(step.text, keys_at(root, where, tables))}")
    if not rest:
        here[step.text] = value
        return
    if here.get(step.text, _GONE) is _GONE:
        field = field_at(models, step.text)
        if field is not None and not models_in(field.annotation) and not _holds_keys(field.annotation):
            raise RefusedError(f"{step.text} is a value, it has no key {rest[0].text!r}")
        here[step.text] = [] if field is not None and is_list(field.annotation) else {}
    _set(root, tables, (*where, step.text), rest, value)


def _holds_keys(annotation: Any) -> bool:
    return "dict[" in str(annotation) or is_list(annotation)


def _items(items: list[Any], step: Step, may_add: bool) -> list[int]:
    """Return the indexes that a step names; one past the end adds a table."""
    if step.text == "*" and not step.quoted:
        if not items:
            raise RefusedError("* means every entry, and there is none")
        return [index for index, item in enumerate(items) if item is not _GONE]
    index = index_of(step)
    if index is not None:
        if index == len(items) and may_add:
            items.append({})
        if index >= len(items) or items[index] is _GONE:
            raise RefusedError(_not_there(index, len(items)))
        return [index]
    names = {item["name"]: index for index, item in enumerate(items) if isinstance(item, dict) and "name" in item}
    if step.text not in names:
        raise RefusedError(f"no entry is named {step.text!r}" + (nearest(step.text, map(str, names)) if names else ""))
    return [names[step.text]]


def _not_there(index: int, count: int) -> str:
    if count == 0:
        return "the list is empty"
    last = f" to {count - 1} (the {ordinal(count)})" if count > 1 else ""
    return f"entry {index} (the {ordinal(index + 1)}) is not there; known: 0 (the 1st){last}"


def _pruned(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _pruned(inner) for key, inner in value.items() if inner is not _GONE}
    if isinstance(value, list):
        return [_pruned(inner) for inner in value if inner is not _GONE]
    return value
