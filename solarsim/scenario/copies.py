"""A home in a folder of its own: raw tables in; tables with paths for that folder, and the files to copy, out."""

import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from solarsim.errors import ScenarioError, file_bytes, nearest
from solarsim.scenario._paths import with_paths
from solarsim.scenario.keys import SCHEMA_FILE, schema_text
from solarsim.scenario.model import Scenario
from solarsim.scenario.read import packaged_folder, read_scenario
from solarsim.scenario.write import text_with


def packaged_folders() -> tuple[Path, Path]:
    """Return the folders of the packaged homes and of the packaged weather.

    Returns
    -------
    tuple of pathlib.Path
        Of scenarios, with their rate plans, and of weather files.
    """
    return packaged_folder("scenarios"), packaged_folder("weather_samples")


def with_copies(
    tables: Mapping[str, Any], folder: Path, into: Path, copied: Sequence[Path]
) -> tuple[dict[str, Any], dict[Path, bytes]]:
    """Return a home's tables for another folder, with copies of the files that would not stay where they are.

    Parameters
    ----------
    tables : mapping
        Raw tables of a scenario.
    folder : pathlib.Path
        What paths in the tables are relative to.
    into : pathlib.Path
        The other folder.
    copied : sequence of pathlib.Path
        Folders whose files are copied, in the same folders below; all others are named where they are.

    Returns
    -------
    tuple
        The tables, and the content of each file to write.

    Raises
    ------
    ScenarioError
        A file cannot be read.
    """
    files: dict[Path, bytes] = {}

    def mend(name: str) -> str:
        path = (folder / os.path.expanduser(name)).resolve()
        for each in copied:
            if path.is_relative_to(each.resolve()):
                kept = path.relative_to(each.resolve())
                files[into / kept] = file_bytes(path, ScenarioError)
                return kept.as_posix()
        return Path(os.path.relpath(path, into.resolve())).as_posix()

    return with_paths(tables, mend), files


def example_named(name: str) -> Scenario:
    """Return a packaged home.

    Parameters
    ----------
    name : str
        As ``miami``.

    Returns
    -------
    Scenario
        As read from its file.

    Raises
    ------
    ScenarioError
        There is none of this name.
    """
    examples = {each.stem: each for each in packaged_folder("scenarios").glob("*.toml")}
    if name not in examples:
        raise ScenarioError(f"--example {name}: is no packaged home{nearest(name, sorted(examples))}")
    return read_scenario(examples[name])


def copy_of(example: Scenario, file: Path) -> dict[Path, bytes]:
    """Return a packaged home as files of one's own: with its comments, its weather, its rate plans and the schema.

    Parameters
    ----------
    example : Scenario
        As read from its file.
    file : pathlib.Path
        Where the scenario is to be.

    Returns
    -------
    dict of pathlib.Path to bytes
        The content of each file, the scenario first.

    Raises
    ------
    ScenarioError
        A file of the home cannot be read.
    """
    tables, files = with_copies(example.tables, example.file(""), file.parent, packaged_folders())
    return with_schema(text_with(tables, example.read_from), file, files)


def with_schema(text: str, file: Path, beside: Mapping[Path, bytes]) -> dict[Path, bytes]:
    """Return a scenario, the files beside it, and the schema of editors, which its first line names.

    Parameters
    ----------
    text : str
        TOML of the scenario.
    file : pathlib.Path
        Where it is to be.
    beside : mapping of pathlib.Path to bytes
        The content of the other files.

    Returns
    -------
    dict of pathlib.Path to bytes
        The content of all files, the scenario first.
    """
    line = f"#:schema ./{SCHEMA_FILE}\n"
    return {file: f"{line}{text}".encode(), **beside, file.parent / SCHEMA_FILE: schema_text().encode()}
