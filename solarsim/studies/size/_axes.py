"""Designs: axes in; every combination of their values, as changes to the home as written, out, one after the other."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from math import prod
from typing import Any

from solarsim.errors import ScenarioError
from solarsim.scenario.model import Scenario

MOST_DESIGNS = 100_000
Axes = Mapping[str, Sequence[Any]]
Changes = dict[str, Any]


def axes_of(scenario: Scenario, axes: Axes | None) -> dict[str, tuple[Any, ...]]:
    """Return the axes that were asked for, else those of the table ``size``; refuse what is no axis."""
    if axes is None:
        written = () if scenario.size is None else scenario.size.axes
        axes = {axis.key: tuple(None if value == "none" else value for value in axis.values) for axis in written}
    found = {key: tuple(scenario.plain_value(key, value) for value in values) for key, values in axes.items()}
    problems = [problem for key, values in found.items() for problem in _problems(scenario, key, values)]
    if problems:
        raise ScenarioError(*problems)
    return found


def _problems(scenario: Scenario, key: str, values: tuple[Any, ...]) -> list[str]:
    """Return what is wrong with one axis."""
    if not values:
        return [f"axis {key}: has no values; give at least two"]
    if len(values) == 1:
        return [f"axis {key}: has one value, {values[0]}; give at least two, or use --set {key}={values[0]}"]
    repeated = next((value for place, value in enumerate(values) if value in values[:place]), None)
    if repeated is not None:
        return [f"axis {key}: has the value {repeated} twice"]
    refused = {value: told for value in values if (told := _refused(scenario, key, value)) is not None}
    if len(refused) == len(values):
        return [f"axis {key}: none of its values is possible: {refused[values[-1]]}"]
    return [f"axis {key}: {told}" for told in refused.values() if _is_of(told, key)]


def _refused(scenario: Scenario, key: str, value: Any) -> str | None:
    """Return why a home with one value of an axis cannot be; None where it can."""
    try:
        scenario.changed({key: value})
    except ScenarioError as error:
        return error.problems[0].removeprefix(scenario.problem(""))
    return None


def _is_of(problem: str, key: str) -> bool:
    """Return whether a problem is with the value of a key itself, not with what it is combined with."""
    where, _, told = problem.partition(": ")
    names = (key.partition(".")[0], key.rpartition(".")[2])
    return " must " in told and (where.partition(".")[0], where.rpartition(".")[2]) == names


def count_of(axes: Axes) -> int:
    """Return the number of combinations."""
    return prod(len(values) for values in axes.values()) if axes else 0


def changes_of(axes: Axes) -> Iterator[Changes]:
    """Yield the changes of every combination; the last axis varies fastest."""
    if axes:
        yield from (dict(zip(axes, values, strict=True)) for values in product(*axes.values()))


def written_values(scenario: Scenario, keys: Sequence[str]) -> Changes:
    """Return what the home as written has at the keys of the axes; a key that is not written is None."""
    return {key: scenario.value(key) for key in keys}
