"""A scenario before it is used: read it with every file that it names, and return what was found and what is missing.

Nothing is judged here a second time: files are read by the code that runs read them with, what a command needs is what
its study declares (``NEEDS``, and the part of a scenario that it takes), and defaults come from the keys' declarations.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isinf
from typing import Any

from solarsim.home import Home, home_from
from solarsim.ledger.prices import prices_from
from solarsim.ledger.purchase import purchase_from
from solarsim.results import Result, computed, fact
from solarsim.scenario.contents import defaults_in_use
from solarsim.scenario.model import BillScenario, LoadScenario, RoofScenario, Scenario, WeatherScenario
from solarsim.studies.check._commands import CommandNeeds, absent_tables, needs_of_commands
from solarsim.studies.check._found import FileFound, contents_of, files_found, tried
from solarsim.studies.load import LoadYear, load_year
from solarsim.studies.roof import roof
from solarsim.studies.weather import WeatherYears, weather_year


@dataclass(frozen=True, repr=False)
class Assumed(Result):
    """A key that is left out, and what holds in its place."""

    key: str = fact("key of the scenario; * stands for every entry of a list", "text")
    value: float | str | bool | None = fact("what holds; null: there is no such table", "any")
    unit: str = fact("unit of the value", "text")
    meaning: str = fact("what the key means", "text")


@dataclass(frozen=True, eq=False, repr=False)
class Check(Result):
    """What is in a scenario and its files, what is assumed, and what is missing for which command."""

    _rows = "commands"

    scenario: str = fact("name of the scenario", "text")
    problems: tuple[str, ...] = fact("what is wrong, one line each", "list")
    contents: tuple[str, ...] = fact("what the scenario describes, one line each", "list")
    files: tuple[FileFound, ...] = fact("each file that the scenario names", "table")
    assumed: tuple[Assumed, ...] = fact("each key that is left out and has a value all the same", "table")
    commands: tuple[CommandNeeds, ...] = fact("each command that reads a scenario", "table")
    notes: tuple[str, ...] = fact("what is unusual, repaired or doubtful", "list")

    @computed("whether no errors were found", "true or false")
    def valid(self) -> bool:
        return not self.problems


def check(scenario: WeatherScenario, problems: Sequence[str] = ()) -> Check:
    """Read everything that a scenario names, and return what was found, what is assumed and what is missing.

    Parameters
    ----------
    scenario : WeatherScenario
        A whole scenario, or the largest part of one that is valid.
    problems : sequence of str
        What was wrong with the rest, where only a part could be read. Tables that are not there are no mistake, but
        missing for some commands.

    Returns
    -------
    Check
        Wrong files are among its problems; nothing is raised for them.

    Examples
    --------
    >>> from solarsim import check, read_scenario
    >>> found = check(read_scenario("net_shed"))
    >>> found.valid, [each.command for each in found.commands if each.missing]
    (True, ['calibrate', 'outages'])
    """
    told = [each for each in problems if each not in absent_tables(scenario)]
    weather = tried(told, lambda: weather_year(scenario))
    load = tried(told, lambda: load_year(scenario)) if isinstance(scenario, LoadScenario) and weather else None
    home = None
    if isinstance(scenario, Scenario):
        if weather is not None and load is not None:
            home = tried(told, lambda: home_from(scenario, load.household))
        if scenario.costs is not None:
            tried(told, lambda: purchase_from(scenario))
    elif isinstance(scenario, RoofScenario):
        tried(told, lambda: roof(scenario))
    elif isinstance(scenario, BillScenario):
        tried(told, lambda: prices_from(scenario.rate_plan, scenario.site.timeline()))
    contents, notes = contents_of(scenario, weather, load, home), _notes(scenario, weather, load, home)
    files = tuple(files_found(scenario, weather, load, told))
    return Check(
        scenario=scenario.name,
        problems=tuple(dict.fromkeys(told)),
        contents=tuple(contents),
        files=files,
        assumed=tuple(_assumed(scenario)),
        commands=tuple(needs_of_commands(scenario)),
        notes=tuple(dict.fromkeys(notes)),
    )


def _notes(
    scenario: WeatherScenario, weather: WeatherYears | None, load: LoadYear | None, home: Home | None
) -> Iterator[str]:
    """Yield the notes of everything that was read."""
    yield from scenario.notes
    for each in (weather, load):
        yield from () if each is None else each.notes
    yield from () if home is None else home.notes()


def _assumed(scenario: WeatherScenario) -> Iterator[Assumed]:
    """Yield the defaults in use; a limit at infinity is none."""
    for each in defaults_in_use(scenario):
        value: Any = each.value
        if isinstance(value, float) and isinf(value):
            value = "no limit"
        elif not isinstance(value, float | int | str | None):
            value = ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)
        yield Assumed(each.key, value, each.unit, each.meaning)
