"""Reading a scenario or a rate plan: a TOML file, its text or its tables in, a frozen model out."""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar, overload

from solarsim.errors import ScenarioError, nearest
from solarsim.scenario._changes import axes_from, changes_from, value_from, variant_from
from solarsim.scenario._tables import Origin, tables_of_file, tables_of_text
from solarsim.scenario.model import Scenario, WeatherScenario, _changed_origin, _rate_plan_from, _scenario_from
from solarsim.scenario.rate_plan.rate_plan import RatePlan

__all__ = [
    "axes_from",
    "changes_from",
    "demo_scenario_path",
    "packaged_folder",
    "read_rate_plan",
    "read_scenario",
    "scenario_from_text",
    "scenario_path",
    "value_from",
    "variant_from",
]

_S = TypeVar("_S", bound=WeatherScenario)


def packaged_folder(name: str) -> Path:
    """Return the folder ``scenarios`` or ``weather_samples``: inside the installed package, or in a checkout.

    Parameters
    ----------
    name : str
        The folder's name.

    Returns
    -------
    pathlib.Path
        The folder.
    """
    package = Path(__file__).resolve().parent.parent
    installed = package / "packaged" / name
    return installed if installed.is_dir() else package.parent / name


def demo_scenario_path() -> Path:
    """Return the path of the demo home that runs where no scenario is named."""
    return packaged_folder("scenarios") / "greensboro.toml"


@overload
def read_scenario(
    source: str | Path | Mapping[str, Any] | None = None,
    *,
    folder: str | Path | None = None,
    changes: Mapping[str, Any] | None = None,
) -> Scenario: ...
@overload
def read_scenario(
    source: str | Path | Mapping[str, Any] | None = None,
    *,
    folder: str | Path | None = None,
    changes: Mapping[str, Any] | None = None,
    kind: type[_S],
) -> _S: ...
def read_scenario(
    source: str | Path | Mapping[str, Any] | None = None,
    *,
    folder: str | Path | None = None,
    changes: Mapping[str, Any] | None = None,
    kind: type[WeatherScenario] = Scenario,
) -> WeatherScenario:
    """Read and check a scenario.

    Parameters
    ----------
    source : str, pathlib.Path or mapping, optional
        A TOML file, the name of a packaged example (``miami``), TOML text (with a line break in it), or its tables
        as a dict; the packaged demo where it is left out.
    folder : str or pathlib.Path, optional
        What paths in the scenario are relative to: the file's own folder, or the current folder for text and tables.
    changes : mapping of str to object, optional
        Made to the tables before they are checked, so that they may also mend what is wrong in the file; see
        ``Scenario.changed``.
    kind : type
        ``Scenario``, or one of its parts, which needs fewer tables and leaves the others aside: ``WeatherScenario``,
        ``LoadScenario``, ``BillScenario``, ``RoofScenario``.

    Returns
    -------
    Scenario
        Validated and frozen, of that kind.

    Raises
    ------
    ScenarioError
        The file cannot be read, is not TOML, or holds wrong keys or values; one line for each problem.
    """
    base = Path() if folder is None else Path(os.path.expanduser(folder))
    if isinstance(source, Mapping):
        origin = Origin(source, base)
    elif isinstance(source, str) and "\n" in source:
        origin = Origin(tables_of_text(source), base)
    else:
        path = demo_scenario_path() if source is None else scenario_path(source)
        origin = Origin(tables_of_file(path), path.parent if folder is None else base, path)
    return _scenario_from(_changed_origin(origin, changes) if changes else origin, kind)


def scenario_from_text(text: str, path: Path) -> Scenario:
    """Return the scenario of a file whose text is known already.

    Parameters
    ----------
    text : str
        TOML.
    path : pathlib.Path
        The file, for messages; other files are relative to its folder.

    Returns
    -------
    Scenario
        As ``read_scenario`` returns it.

    Raises
    ------
    ScenarioError
        The text is not TOML, or holds wrong keys or values; one line for each problem.
    """
    return _scenario_from(Origin(tables_of_text(text, f"{path}: "), path.parent, path), Scenario)


def scenario_path(source: str | Path) -> Path:
    """Return the file of a scenario.

    Parameters
    ----------
    source : str or pathlib.Path
        A path, or the name of a packaged example where no file has that name.

    Returns
    -------
    pathlib.Path
        The file; it need not exist.

    Raises
    ------
    ScenarioError
        A bare name is neither a file nor a packaged example.
    """
    # pathlib's own expanduser raises where there is no such person; this one leaves the name alone
    path = Path(os.path.expanduser(source))
    if path.parent != Path() or path.suffix or path.exists():
        return path
    examples = {each.stem: each for each in packaged_folder("scenarios").glob("*.toml")}
    if path.name not in examples:
        raise ScenarioError(f"{path}: is neither a file nor a packaged example{nearest(path.name, sorted(examples))}")
    return examples[path.name]


def read_rate_plan(path: str | Path) -> RatePlan:
    """Read and check a file that holds one rate plan.

    Parameters
    ----------
    path : str or pathlib.Path
        A TOML file with the keys of a scenario's table ``rate_plan``.

    Returns
    -------
    RatePlan
        Validated and frozen, with its file of hourly prices where it names one.

    Raises
    ------
    ScenarioError
        The file cannot be read, is not TOML, or holds wrong keys or values; one line for each
        problem.
    """
    path = Path(os.path.expanduser(path))
    tables = Origin(folder=path.parent).rate_plan_tables(path.name)
    return _rate_plan_from(Origin(tables, path.parent, path))
