"""What commands need: a scenario in; for each command what is missing, as its study declares it, out."""

from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType
from typing import get_args, get_type_hints

from solarsim import studies
from solarsim.results import Result, fact
from solarsim.scenario.model import Scenario, WeatherScenario
from solarsim.scenario.needs import missing


@dataclass(frozen=True, repr=False)
class CommandNeeds(Result):
    """What one command lacks."""

    command: str = fact("name of the command", "text")
    missing: tuple[str, ...] = fact("what to write before it can run; empty: it can", "list")


def needs_of_commands(scenario: WeatherScenario) -> Iterator[CommandNeeds]:
    """Yield what each command lacks: the tables of the part of a scenario that it takes, then what it needs."""
    for command, module in sorted(command_studies().items()):
        lacking = _absent_in(_part_of(module, command), scenario)
        needs = missing(scenario, module.NEEDS) if isinstance(scenario, Scenario) else ()
        yield CommandNeeds(command, (*lacking, *needs))


def absent_tables(scenario: WeatherScenario) -> list[str]:
    """Return the problem of each table that a whole scenario needs and that is not there."""
    return [scenario.problem(each) for each in _absent_in(Scenario, scenario)]


def _absent_in(part: type[WeatherScenario], scenario: WeatherScenario) -> list[str]:
    there = scenario.tables
    return [f"{name}: is missing" for name, key in part.model_fields.items() if key.is_required() and name not in there]


def command_studies() -> dict[str, ModuleType]:
    """Return the study of each command that reads a scenario: it declares ``NEEDS``.

    Returns
    -------
    dict of str to module
        By the command's name.
    """
    found = {}
    for each in iter_modules(studies.__path__, "solarsim.studies."):
        name = each.name.rpartition(".")[2]
        if name.startswith("_"):
            continue
        module = import_module(f"{each.name}.{name}" if each.ispkg else each.name)
        if hasattr(module, "NEEDS"):
            found[name] = module
    return found


def _part_of(module: ModuleType, command: str) -> type[WeatherScenario]:
    """Return the part of a scenario that a study takes, by the annotation of its first parameter."""
    study = getattr(module, command, None) or getattr(module, f"{command}_year")
    hint = next(iter(get_type_hints(study).values()))
    for each in (hint, *get_args(hint)):
        if isinstance(each, type) and issubclass(each, WeatherScenario):
            return each
    raise TypeError(f"{command}: takes no scenario")
