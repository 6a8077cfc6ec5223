"""The schema of what a command prints, made from its result's fields; ``tests/cli/command.py`` holds all JSON to it."""

import copy
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any, Literal

import jsonschema
import numpy as np
import pytest
from numpy.typing import NDArray
from typer.main import get_command

from solarsim.cli.app import app
from solarsim.errors import OutputError
from solarsim.results import Result, fact
from solarsim.studies.compare.compare import Comparison
from solarsim.views.json_text import to_json
from solarsim.views.result_schema import _object_of, commands_with_json, result_schema_text, schema_of
from tests.cli.command import run


def objects(schema: Any) -> Iterator[dict[str, Any]]:
    """Yield every part of a schema that has keys."""
    if isinstance(schema, dict):
        if "properties" in schema:
            yield schema
        for inner in schema.values():
            yield from objects(inner)
    elif isinstance(schema, list):
        for inner in schema:
            yield from objects(inner)


def test_every_command_that_prints_json_has_a_schema() -> None:
    commands: Any = get_command(app)
    printing = {
        name for name, command in commands.commands.items() if any("--json" in option.opts for option in command.params)
    }
    assert printing == set(commands_with_json())


@pytest.mark.parametrize("command", commands_with_json())
def test_schema_is_valid_and_says_meaning_and_unit_of_every_key(command: str) -> None:
    schema = json.loads(result_schema_text(command))
    jsonschema.Draft202012Validator.check_schema(schema)
    found = list(objects(schema))
    assert found
    for each in found:
        for name in each["required"]:
            assert each["properties"][name]["description"], name
            assert each["properties"][name]["unit"], name


def _rename(record: dict[str, Any]) -> None:
    record["strategies"][0]["bills"] = record["strategies"][0].pop("annual_bill")


def _name(record: dict[str, Any]) -> None:
    record["baseline"]["name"] = "no system"


def _text(record: dict[str, Any]) -> None:
    record["strategies"][1]["import_kwh"] = "2,000"


def _null(record: dict[str, Any]) -> None:
    record["currency"] = None


@pytest.mark.parametrize("change", [_rename, _name, _text, _null])
def test_what_the_schema_does_not_declare_does_not_fit(
    change: Callable[[dict[str, Any]], None], demo_comparison: Comparison
) -> None:
    record = json.loads(to_json(demo_comparison.record()))
    schema = jsonschema.Draft202012Validator(schema_of("compare"))
    schema.validate(record)
    assert list(schema_of("compare")["properties"])[: len(record)] == list(record)
    changed = copy.deepcopy(record)
    change(changed)
    with pytest.raises(jsonschema.ValidationError):
        schema.validate(changed)


@dataclass(frozen=True, eq=False, repr=False)
class _Kinds(Result):
    """Every kind of field."""

    day: date = fact("when", "date")
    cost: Decimal | None = fact("what it costs", "currency")
    kind: Literal["a", "b"] = fact("which", "text")
    kwh: NDArray[np.float64] = fact("energy", "kWh")
    two: tuple[int, str] = fact("two things", "list")
    by_name: dict[str, float] = fact("some", "1")
    whatever: Any = fact("any", "any")


def test_kinds_of_fields() -> None:
    keys = _object_of(_Kinds, {})["properties"]
    found = {
        name: {key: value for key, value in each.items() if key not in ("description", "unit")}
        for name, each in keys.items()
    }
    assert found == {
        "day": {"type": "string"},
        "cost": {"type": ["number", "null"]},
        "kind": {"enum": ["a", "b"]},
        "kwh": {"type": "array", "items": {"type": "number"}},
        "two": {"type": "array", "prefixItems": [{"type": "integer"}, {"type": "string"}], "minItems": 2,
                "maxItems": 2},
        "by_name": {"type": "object", "additionalProperties": {"type": "number"}},
        "whatever": {},
    }  # fmt: skip


def test_field_of_a_kind_without_a_schema_is_a_fault() -> None:
    @dataclass(frozen=True, eq=False, repr=False)
    class Odd(Result):
        where: Path = fact("a place", "text")

    with pytest.raises(TypeError, match="Path'>: no schema for such a field"):
        _object_of(Odd, {})


def test_other_names_are_refused_with_the_nearest() -> None:
    with pytest.raises(
        OutputError, match="--of compre: no such command prints JSON; nearest: compare; they are: bill, "
    ):
        schema_of("compre")
    with pytest.raises(OutputError, match="--of weather_get: no such command prints JSON; nearest: weather;"):
        schema_of("weather_get")


def test_guide_writes_and_prints_it(tmp_path: Path) -> None:
    done = run("guide", "--schema", "out.json", "--of", "compare", folder=tmp_path)
    assert (done.returncode, done.stdout) == (0, "Written: out.json\n")
    assert (tmp_path / "out.json").read_text() == result_schema_text("compare")
    assert run("guide", "--schema", "-", "--of", "flows").stdout == result_schema_text("flows")
    assert "--of needs --schema" in run("guide", "--of", "flows").stderr
    assert run("guide", "--schema", "out.json", folder=tmp_path).returncode == 2


SHORT = ("--set", "life.years=2")
#: Runs whose JSON has parts that it has in no other test.
LONG = [
    ("compare", "--best"),
    ("sheet",),
    ("size", *SHORT, "--stages", "--risk", "--workers", "1"),
    ("risk", *SHORT, "--lifetimes", "20", "--workers", "1"),
    ("flows", "--hour", "2026-07-03T18:00", "--best"),
]


@pytest.mark.slow
@pytest.mark.parametrize("words", LONG, ids=" ".join)
def test_long_commands_print_what_their_schema_declares(words: tuple[str, ...]) -> None:
    done = run(*words, "--json")
    assert done.returncode == 0, done.stderr
    assert len(json.loads(done.stdout)) > 3
