"""Reading a scenario: a TOML file in, a frozen ``Scenario`` or one line for each problem out."""

import json
import os
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, time
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from solarsim.scenario.errors import ScenarioError, file_bytes, nearest, nearest_name
from solarsim.scenario.model import Scenario, disagreements

_PLAIN_WORDS = {
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "bool_type": "must be true or false",
    "string_type": "must be text in quotes",
    "finite_number": "must be a finite number",
    "tuple_type": "must be a list",
    "model_type": "must be a table",
    "model_attributes_type": "must be a table",
    "dict_type": "must be a table",
    "string_too_short": "must not be empty",
    "date_type": "must be a date, for example 2026-07-04",
    "date_parsing": "must be a date, for example 2026-07-04",
    "date_from_datetime_parsing": "must be a date, for example 2026-07-04",
}
_TOML_HINT = "; a number has a decimal point, text stands in quotes, true and false are small, a path has / and no \\"
_DATES = ("site", "holidays", "dates")  # the one place where a date may stand


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
    weather = demo.parent / read_scenario(demo).weather.file
    text = demo.read_text(encoding="utf-8").replace(f"../weather_samples/{weather.name}", weather.name)
    return {path: text.encode(), path.parent / weather.name: weather.read_bytes()}


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
    try:
        text = file_bytes(path, ScenarioError).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ScenarioError(f"{path}: is not UTF-8 text (byte {error.start})") from None
    try:
        content = tomllib.loads(text)
    except RecursionError:
        raise ScenarioError(f"{path}: is not valid TOML: it is nested too deep") from None
    except ValueError as error:  # bad syntax, or a number of thousands of digits
        raise ScenarioError(f"{path}: is not valid TOML: {error}{_TOML_HINT}") from None
    return scenario_from(content, path)


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
    lines = [
        f"{_key(where)}: {day} must be text in quotes"
        for where, day in _dates_in(content, ())
        if tuple(where[:3]) != _DATES
    ]
    try:
        # Through JSON, because strict validation then takes TOML's lists for tuples, and nothing else.
        scenario = Scenario.model_validate_json(json.dumps(content, default=str))
    except ValidationError as error:
        details = error.errors(include_url=False)
        misspelled = {_meant(detail["loc"]) for detail in details if detail["type"] == "extra_forbidden"}
        for detail in details:
            if detail["type"] != "missing" or detail["loc"] not in misspelled:
                lines += _lines(detail, content)
        if any(detail["loc"] for detail in details):
            lines += disagreements(_good_parts(content))
    if lines:
        raise ScenarioError(*(f"{path}: {line}" for line in lines))
    scenario._path = path
    return scenario


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
        if content.get(key) is not None and field.annotation is not None:
            try:
                parts[key] = TypeAdapter[Any](field.annotation).validate_json(json.dumps(content[key], default=str))
            except ValidationError:
                continue
    return parts


def _meant(where: tuple[int | str, ...]) -> tuple[int | str, ...]:
    return (*where[:-1], nearest_name(str(where[-1]), _keys_at(where[:-1])) or "")


def _lines(detail: ErrorDetails, content: Mapping[str, Any]) -> list[str]:
    where, kind, context = detail["loc"], detail["type"], detail.get("ctx", {})
    key = _key(_without_kinds(where, content))
    value = _value_at(content, _without_kinds(where, content))
    if kind == "union_tag_not_found":
        return [f"{key}.kind: is missing"]
    if kind == "union_tag_invalid":
        return [
            f"{key}.kind: {context['tag']!r} is not known"
            + nearest(context["tag"], _literals(context["expected_tags"]))
        ]
    if kind == "missing":
        return [f"{key}: is missing"]
    if kind == "default_factory_not_called":
        return []  # what it needs is wrong, and told already
    if kind == "extra_forbidden":
        return [f"{key}: unknown key" + nearest(str(where[-1]), _keys_at(where[:-1]))]
    if kind == "literal_error":
        return [f"{key}: {value!r} is not known" + nearest(str(value), _literals(context["expected"]))]
    if kind == "value_error":
        return [f"{key}: {_shown(value)}{problem}" if key else problem for problem in str(context["error"]).split("\n")]
    for limit, words in (("ge", "at least"), ("gt", "above"), ("le", "at most"), ("lt", "below")):
        if limit in context:
            share = "; a share: 0.2 is 20 %" if words == "at most" and context[limit] == 1 else ""
            return [f"{key}: {_shown(value)}must be {words} {context[limit]:g}{share}"]
    if kind in ("too_short", "too_long"):
        bound = int(context.get("min_length", context.get("max_length", 0)))
        words = "at least" if kind == "too_short" else "at most"
        count = len(value) if isinstance(value, list) else 0
        if kind == "too_short" and count >= bound:
            return []  # only those without an error were counted, and the errors are told already
        return [f"{key}: has {count} entries, must have {words} {bound}"]
    if kind == "string_too_long":
        return [f"{key}: {value!r} must have at most {context['max_length']} characters"]
    if kind == "string_pattern_mismatch":
        return [f"{key}: {value!r} must be three capital letters, for example 'USD'"]
    return [f"{key}: {_shown(value)}{_PLAIN_WORDS.get(kind, detail['msg'])}"]


def _key(where: Sequence[int | str]) -> str:
    parts: list[str] = []
    for part in where:
        if isinstance(part, int):
            parts[-1] += f"[{part + 1}]"
        else:
            parts.append(part)
    return ".".join(parts)


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return f"{value} ".lower()  # as TOML writes it
    if isinstance(value, date | time):
        return f"{value.isoformat()} "
    return f"{value!r} " if isinstance(value, str | int | float) else ""


def _literals(expected: str) -> list[str]:
    return [word.strip(" '") for word in expected.replace(" or ", ", ").split(",")]


def _value_at(content: Any, where: Sequence[int | str]) -> object:
    for part in where:
        try:
            content = content[part]
        except (KeyError, IndexError, TypeError):
            return None
    return content


def _keys_at(where: Sequence[int | str]) -> list[str]:
    """Name the keys that are allowed in the table at a place of the scenario."""
    model: type[BaseModel] = Scenario
    kinds: dict[str, type[BaseModel]] = {}
    for part in where:
        if part in kinds:
            model, kinds = kinds[str(part)], {}
        elif isinstance(part, str):
            annotation = model.model_fields[_field_of(model, part)].annotation
            model, kinds = _model_in(annotation) or model, _kinds_in(annotation)
    return [field.alias or name for name, field in model.model_fields.items()]


def _field_of(model: type[BaseModel], key: str) -> str:
    return next(name for name, field in model.model_fields.items() if key in (name, field.alias))


def _without_kinds(where: Sequence[int | str], content: Any) -> list[int | str]:
    """Leave out what pydantic puts into a place behind the number of a table that has a kind: the kind."""
    plain: list[int | str] = []
    for before, part in zip(("", *where), where, strict=False):
        table = _value_at(content, plain)
        if not (isinstance(before, int) and isinstance(table, Mapping) and table.get("kind") == part):
            plain.append(part)
    return plain


def _kinds_in(annotation: Any) -> dict[str, type[BaseModel]]:
    """Name the models of tables that a key ``kind`` tells apart."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        field = annotation.model_fields.get("kind")
        return {} if field is None else {get_args(field.annotation)[0]: annotation}
    return {kind: model for inner in get_args(annotation) for kind, model in _kinds_in(inner).items()}


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in get_args(annotation):
        found = _model_in(inner)
        if found is not None:
            return found
    return None
