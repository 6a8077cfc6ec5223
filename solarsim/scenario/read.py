"""Reading a scenario or a rate plan: a TOML file in, a frozen model or one line for each problem out."""

import json
import os
import tomllib
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from solarsim.errors import ScenarioError, file_bytes, key_of
from solarsim.scenario.csv_columns import numbers_from_csv
from solarsim.scenario.model import Scenario, disagreements
from solarsim.scenario.problems import problem_lines
from solarsim.scenario.rate_plan.rate_plan import RatePlan

_TOML_HINT = "; a number has a decimal point, text stands in quotes, true and false are small, a path has / and no \\"
_DATES = (  # the places where a date may stand
    ("site", "holidays", "dates"),
    ("rate_plan", "holidays", "dates"),
    ("load", "meter", "until"),
    ("outages", "events"),
)


def packaged_folder(name: str) -> Path:
    """Find ``scenarios`` or ``weather_samples``: inside the installed package, or in a checkout.

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
    """Find the demo home that runs where no scenario is named."""
    return packaged_folder("scenarios") / "greensboro.toml"


def starter_files(path: Path) -> dict[Path, bytes]:
    """Give what a scenario of one's own begins with: the annotated demo, and its weather beside it.

    Parameters
    ----------
    path : pathlib.Path
        Where the scenario is to stand.

    Returns
    -------
    dict of pathlib.Path to bytes
        The content of each file.
    """
    demo = demo_scenario_path()
    text, beside = demo.read_text(encoding="utf-8"), {}
    for file in read_scenario(demo).weather.files:
        weather = demo.parent / file
        text = text.replace(file, weather.name)
        beside[path.parent / weather.name] = weather.read_bytes()
    return {path: text.encode(), **beside}


def read_scenario(path: str | Path | None = None) -> Scenario:
    """Read and check a scenario file.

    Parameters
    ----------
    path : str or pathlib.Path, optional
        A TOML file; the packaged demo where it is left out.

    Returns
    -------
    Scenario
        Validated and frozen.

    Raises
    ------
    ScenarioError
        The file cannot be read, is not TOML, or holds wrong keys or values; one line for each
        problem.
    """
    # pathlib's own expanduser raises where there is no such person; this one leaves the name alone
    path = demo_scenario_path() if path is None else Path(os.path.expanduser(path))
    return scenario_from(_tables_of(path), path)


def read_rate_plan(path: str | Path) -> RatePlan:
    """Read and check a file that holds one rate plan.

    Parameters
    ----------
    path : str or pathlib.Path
        A TOML file with the keys of a scenario's table ``rate_plan``.

    Returns
    -------
    Rate plan
        Validated and frozen, with its file of hourly prices where it names one.

    Raises
    ------
    ScenarioError
        The file cannot be read, is not TOML, or holds wrong keys or values; one line for each
        problem.
    """
    path = Path(os.path.expanduser(path))
    content = {"rate_plan": _tables_of(path)}
    if "rate_plan" in content["rate_plan"]:
        raise ScenarioError(f"{path}: is a scenario; a rate plan file holds the keys of its table 'rate_plan' alone")
    lines = _misplaced_dates(content)
    rate_plan = None
    try:
        rate_plan = TypeAdapter(RatePlan).validate_json(json.dumps(content["rate_plan"], default=str))
    except ValidationError as error:
        details = error.errors(include_url=False)
        for detail in details:
            detail["loc"] = ("rate_plan", *detail["loc"])
        lines += problem_lines(details, content)
    if rate_plan is None or lines:
        raise ScenarioError(*(f"{path}: {line}" for line in _in_own_file(lines)))
    _read_hourly_prices(rate_plan, path)
    return rate_plan


def ready_rate_plans() -> list[Path]:
    """List the ready-made rate plan files that come with the program."""
    return sorted((packaged_folder("scenarios") / "rate_plans").glob("*.toml"))


def _tables_of(path: Path) -> dict[str, Any]:
    try:
        text = file_bytes(path, ScenarioError).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ScenarioError(f"{path}: is not UTF-8 text (byte {error.start})") from None
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ScenarioError(f"{path}: is not valid TOML: it is nested too deep") from None
    except ValueError as error:  # bad syntax, or a number of thousands of digits
        raise ScenarioError(f"{path}: is not valid TOML: {error}{_TOML_HINT}") from None


def _in_own_file(lines: list[str]) -> list[str]:
    """Name a rate plan's keys as its own file does: without the scenario's key before them."""
    return [line[len("rate_plan") :].lstrip(".: ") for line in lines]


def _read_hourly_prices(rate_plan: RatePlan, path: Path) -> None:
    if rate_plan.export.file is None:
        return
    file = path.parent / os.path.expanduser(rate_plan.export.file)
    try:
        text = file_bytes(file, ScenarioError).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ScenarioError(f"{file}: is not UTF-8 text (byte {error.start})") from None
    prices = numbers_from_csv(text, file, ("export_price",), ScenarioError)["export_price"]
    if prices.size != 8760:
        raise ScenarioError(f"{file}: has {prices.size} rows, must have 8760: one for each hour of a year")
    if abs(prices).max() > 1000.0:
        row = int(abs(prices).argmax())
        raise ScenarioError(
            f"{file}: export_price is {prices[row]:g} in row {row + 1}, must be between -1000 and 1000 a kWh"
        )
    rate_plan.export._hourly = tuple(prices.tolist())


def scenario_from(content: Mapping[str, Any], path: Path) -> Scenario:
    """Check the tables of a scenario.

    Parameters
    ----------
    content : mapping
        As TOML gives it.
    path : pathlib.Path
        The scenario file: it stands in messages, and its folder is where other files are looked for.

    Returns
    -------
    Scenario
        Validated and frozen.

    Raises
    ------
    ScenarioError
        Keys or values are wrong; one line for each problem.
    """
    if "rates" in content and "site" not in content:
        raise ScenarioError(
            f'{path}: is a rate plan file; name it in a scenario (rate plan = "{path.name}"), or with plans --rate_plan'
        )
    told: list[str] = []
    plan = content.get("rate_plan")
    if isinstance(plan, str):
        file = path.parent / os.path.expanduser(plan)
        try:
            read_rate_plan(file)
            content = {**content, "rate_plan": _tables_of(file)}
        except ScenarioError as error:
            told += error.problems
    else:
        file = path
    lines = _misplaced_dates(content)
    try:
        # Through JSON, because strict validation then takes TOML's lists for tuples, and nothing else.
        scenario = Scenario.model_validate_json(json.dumps(content, default=str))
    except ValidationError as error:
        details = error.errors(include_url=False)
        if told:
            details = [detail for detail in details if detail["loc"][:1] != ("rate_plan",)]
        lines += problem_lines(details, content)
        if any(detail["loc"] for detail in error.errors(include_url=False)):
            lines += disagreements(_good_parts(content))
    if lines or told:
        raise ScenarioError(*(f"{path}: {line}" for line in lines), *told)
    scenario._path = path
    _read_hourly_prices(scenario.rate_plan, file)
    return scenario


def _misplaced_dates(content: Mapping[str, Any]) -> list[str]:
    return [
        f"{key_of(where)}: {day} must be text in quotes"
        for where, day in _dates_in(content, ())
        if not any(tuple(where[: len(place)]) == place for place in _DATES)
    ]


def _dates_in(content: Any, where: tuple[int | str, ...]) -> Iterator[tuple[tuple[int | str, ...], date]]:
    if isinstance(content, date):
        yield where, content
    elif isinstance(content, Mapping | list):
        for key, each in content.items() if isinstance(content, Mapping) else enumerate(content):
            yield from _dates_in(each, (*where, key))


def _good_parts(content: Mapping[str, Any]) -> dict[str, Any]:
    """Validate table by table: what is wrong in one must not hide what others disagree on."""
    parts = {}
    for key, field in Scenario.model_fields.items():
        if key not in content and not field.is_required():
            parts[key] = field.default
        elif content.get(key) is not None and field.annotation is not None:
            try:
                parts[key] = TypeAdapter[Any](field.annotation).validate_json(json.dumps(content[key], default=str))
            except ValidationError:
                continue
    return parts
