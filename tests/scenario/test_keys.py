"""Every key is declared with meaning, unit and range, and the schema for editors accepts what the reader accepts."""

import json
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from solarsim.scenario.keys import all_keys, json_schema
from solarsim.scenario.read import packaged_folder
from tests.builders import READY_PLANS, content

SCENARIOS = sorted(packaged_folder("scenarios").glob("*.toml"))
VALIDATOR = jsonschema.Draft202012Validator(json_schema())


# Their validators know the values that are allowed, and say why others are not.
BY_VALIDATOR = {"step_minutes", "reading_day", "system_factor", "dec_feb", "mar_may", "jun_aug", "sep_nov"}


def numbers(schema: Any, model: str = "", path: str = "") -> Iterator[tuple[str, dict[str, Any], str]]:
    """Yield every number of a schema: the table that has it, its part of the schema, its key."""
    if not isinstance(schema, dict):
        return
    if schema.get("type") in ("number", "integer"):
        yield model, schema, path
    for name, inner in schema.get("$defs", {}).items():
        yield from numbers(inner, name)
    for name, inner in schema.get("properties", {}).items():
        yield from numbers(inner, model, name)
    for inner in (schema.get("items"), schema.get("additionalProperties"), *schema.get("anyOf", ())):
        yield from numbers(inner, model, path)


def as_editors_see_it(tables: Any) -> Any:
    return json.loads(json.dumps(tables, default=lambda day: day.isoformat()))


def test_every_key_has_a_meaning_and_a_unit() -> None:
    keys = all_keys()
    assert len(keys) > 450
    assert [key.path for key in keys if not key.meaning or not key.unit] == []
    assert [key.path for key in keys if key.meaning[0].isupper() and key.meaning.endswith(".")] == []


def test_ranges_come_from_the_declaration() -> None:
    keys = {key.path: key for key in all_keys()}
    assert keys["strategies.*.reserve"].allowed == "at least 0 and at most 1"
    assert keys["battery.chemistry"].allowed == "lfp, nmc, flooded_lead_acid, sealed_lead_acid"
    assert keys["load.monthly_kwh"].allowed == "12 values, each at least 0 and at most 150000"
    assert (keys["strategies.*.solar_ceiling"].default, keys["battery.heater"].required) == (1.0, False)


def test_every_number_has_a_range_with_two_ends() -> None:
    """An open range lets a watt pass for a kilowatt, and 1e308 into the arithmetic."""
    open_ended = []
    for model, number, path in numbers(json_schema()):
        low = any(key in number for key in ("minimum", "exclusiveMinimum"))
        high = any(key in number for key in ("maximum", "exclusiveMaximum"))
        if not (low and high) and "enum" not in number and path not in BY_VALIDATOR:
            open_ended.append((model, path))
    assert open_ended == []


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_schema_accepts_the_examples(path: Path) -> None:
    tables = as_editors_see_it(tomllib.loads(path.read_text()))
    assert [error.message for error in VALIDATOR.iter_errors(tables)] == []


@pytest.mark.parametrize("path", READY_PLANS, ids=lambda path: path.stem)
def test_schema_accepts_a_rate_plan_by_its_tables_and_by_its_file(path: Path) -> None:
    for plan in (as_editors_see_it(tomllib.loads(path.read_text())), path.name):
        assert [error.message for error in VALIDATOR.iter_errors(content(rate_plan=plan))] == []


@pytest.mark.parametrize(
    "changes",
    [
        {"battery__low_cutof": 0.1},
        {"strategies__0__reserve": 7.0},
        {"battery__capacity_kwh": -5.0},
        {"inverter__ac_kw": None},
        {"weather__format": "cvs"},
        {"outages": {"events": 3}},
    ],
)
def test_schema_refuses_what_the_reader_refuses(changes: dict[str, Any]) -> None:
    assert not VALIDATOR.is_valid(content(**changes))


def test_schema_takes_dates_as_toml_has_them() -> None:
    tables = content(outages={"events": [{"from": "2026-01-14T18:00:00", "hours": 5}]})
    assert VALIDATOR.is_valid(tables)
