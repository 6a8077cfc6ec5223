"""Where something is written: a scenario in, the number of a line of its file out."""

import tomllib
from typing import Any

from solarsim.errors import ScenarioError
from solarsim.scenario._tables import text_of_file
from solarsim.scenario.model import Scenario


def window_line(scenario: Scenario, strategy: str, window: int) -> int | None:
    """Return the line of a scenario's own file in which a window of a strategy begins.

    Parameters
    ----------
    scenario : Scenario
        Read from a file.
    strategy : str
        Name of the strategy.
    window : int
        Index of the window, from 0; -1 for the strategy itself.

    Returns
    -------
    int or None
        From 1; None where there is no file, or the strategy there is another one.
    """
    file = scenario.read_from
    if file is None:
        return None
    try:
        text = text_of_file(file)
    except ScenarioError:  # removed since
        return None
    used = [each for each in scenario.tables["strategies"] if each["name"] == strategy]
    written = [each for each in _strategies(text) or [] if each.get("name") == strategy]
    return _line_of(text, strategy, window) if used == written else None


def _line_of(text: str, strategy: str, window: int) -> int | None:
    """Return the line of TOML text in which a window begins; -1 is the strategy itself."""
    lines = text.split("\n")
    names = [each.get("name") for each in _strategies(text) or []]
    if strategy not in names:
        return None
    place = names.index(strategy)
    for number, line in enumerate(lines, start=1):
        # Only a line that opens a table can begin a strategy or a window.
        if not ("[" in line or "{" in line):
            continue
        found = _strategies("\n".join(lines[:number]))
        if found is not None and len(found) > place and len(found[place].get("windows", ())) > window:
            return number
    return None


def _strategies(text: str) -> list[dict[str, Any]] | None:
    """Return the strategies in the beginning of a file, its open list closed; None where it is no TOML."""
    for end in ("", "]", "\n]", "}]"):
        try:
            return list(tomllib.loads(text + end).get("strategies", []))
        except (ValueError, TypeError, RecursionError):
            continue
    return None
