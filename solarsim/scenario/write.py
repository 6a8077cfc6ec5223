"""Writing a scenario: its tables as they now are in, the text of a file with the original's comments out."""

import os
import tomllib
from collections.abc import Mapping, MutableMapping, MutableSequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from solarsim.scenario._paths import with_paths
from solarsim.scenario._tables import text_of_file
from solarsim.scenario.model import Scenario

if TYPE_CHECKING:
    from tomlkit import TOMLDocument


def scenario_text(scenario: Scenario, folder: Path) -> str:
    """Return a whole scenario as the text of a file in a folder.

    Parameters
    ----------
    scenario : Scenario
        As read, or changed.
    folder : pathlib.Path
        Where the file is to be: relative paths are mended so that they lead to the same files from there.

    Returns
    -------
    str
        TOML; comments and layout are those of the file that the scenario was read from, where there was one.

    Raises
    ------
    ScenarioError
        The file that the scenario was read from can no longer be read.
    """
    tables = with_paths(scenario.tables, lambda name: _moved(name, scenario, folder))
    return text_with(tables, scenario.read_from)


def text_with(tables: Mapping[str, Any], file: Path | None) -> str:
    """Return tables as TOML.

    Parameters
    ----------
    tables : mapping
        Raw tables of a scenario.
    file : pathlib.Path or None
        The file whose comments and layout are kept.

    Returns
    -------
    str
        Holds exactly these tables.

    Raises
    ------
    ScenarioError
        The file can no longer be read.
    """
    import tomlkit

    document: TOMLDocument = tomlkit.parse("" if file is None else text_of_file(file))
    _bring_to(document, tables)
    text = str(tomlkit.dumps(document))
    if tomllib.loads(text) != tables:  # a layout that cannot be kept: the values count
        text = str(tomlkit.dumps(tables))
    return text


def _moved(name: str, scenario: Scenario, folder: Path) -> str:
    """Return a path that leads to the same file from another folder."""
    if Path(name).is_absolute() or name.startswith("~"):
        return name
    return Path(os.path.relpath(scenario.file(name).resolve(), folder.resolve())).as_posix()


def _bring_to(document: MutableMapping[str, Any], tables: Mapping[str, Any]) -> None:
    """Change a document so that it holds exactly these tables; what is right already stays as it is written."""
    for key in [key for key in document if key not in tables]:
        del document[key]
    for key, value in tables.items():
        here = document.get(key)
        if isinstance(here, MutableMapping) and isinstance(value, Mapping):
            _bring_to(here, value)
        elif isinstance(here, MutableSequence) and isinstance(value, list) and _are_tables(here, value):
            _bring_list_to(here, value)
        elif key not in document or here != value:
            document[key] = value


def _are_tables(here: MutableSequence[Any], value: list[Any]) -> bool:
    return bool(value) and all(isinstance(each, Mapping) for each in (*here, *value))


def _bring_list_to(here: MutableSequence[Any], value: list[Any]) -> None:
    """Change a list of tables: entries of the same name stay, so that their comments do."""
    names = [each.get("name") for each in value]
    if None not in names:
        for place in reversed(range(len(here))):
            if here[place].get("name") not in names:
                del here[place]
    while len(here) > len(value):
        del here[-1]
    for place, each in enumerate(value):
        if place < len(here):
            _bring_to(here[place], each)
        else:
            here.append(each)
