"""A scenario before it is used: what is found, what is assumed, and that what is missing is what each study refuses."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solarsim
from solarsim.cli.app import app
from solarsim.errors import ScenarioError
from solarsim.scenario.contents import defaults_in_use, named_files
from solarsim.scenario.model import LoadScenario
from solarsim.scenario.read import read_scenario
from solarsim.studies.check._commands import command_studies
from solarsim.studies.check.check import Check, check
from tests.builders import PLAIN
from tests.checked import bare, checked_bare, checked_demo

#: These read no scenario to compute with, or are the command itself.
OTHERS = {"new", "guide", "modules", "check", "fleet"}


def lacks(found: Check) -> dict[str, tuple[str, ...]]:
    return {each.command: each.missing for each in found.commands if each.missing}


def test_every_command_that_reads_a_scenario_declares_its_needs() -> None:
    """A new command writes ``NEEDS`` in its study, empty where it needs no more than every scenario has."""
    names = {each.callback.__name__ for each in app.registered_commands if each.callback}
    assert set(command_studies()) == names - OTHERS


def test_the_demo_lacks_nothing() -> None:
    demo = checked_demo()
    assert demo.valid
    assert lacks(demo) == {}
    assert len(demo.commands) == len(command_studies())


def test_what_is_missing_is_what_the_study_refuses() -> None:
    """One list: the words of ``check`` are those with which each study refuses the home."""
    home, lacking = bare(), lacks(checked_bare())
    assert set(lacking) >= {
        "calibrate",
        "life",
        "offers",
        "outages",
        "plans",
        "risk",
        "savings",
        "size",
        "wear",
        "wiring",
    }
    for command, lines in lacking.items():
        study: Callable[..., Any] = getattr(solarsim, command)
        with pytest.raises(ScenarioError) as caught:
            study([home, home.changed({"name": "other"})] if command == "offers" else home)
        assert {home.problem(line) for line in lines} <= set(caught.value.problems), command


def test_each_file_is_named_with_what_is_in_it() -> None:
    files = {each.file: each for each in checked_demo().files}
    weather = files["../weather_samples/723170TYA.CSV"]
    assert weather.key == "weather.file"
    assert weather.found is not None
    assert weather.found.startswith("Greensboro Piedmont Triad Int, NC, 36.10, -79.95, 273 m; GHI 1,566 kWh/m2")
    assert weather.found.endswith("clock fits the sun")
    assert files["rate_plans/flat.toml"].found == "'Flat (invented)', USD; rates 'all hours'; export: flat"
    assert len(files) == len(named_files(read_scenario()))


@pytest.mark.slow
def test_a_log_and_a_load_file_are_read(tmp_path: Path) -> None:
    (tmp_path / "load.csv").write_text("load_kw\n" + "0.5\n" * 8760)
    days = "\n".join(f"2025-01-{day:02d},{12 + day % 2}" for day in range(1, 32))
    (tmp_path / "log.csv").write_text(f"day,kWh\n{days}\n")
    log = {"side": "ac", "file": "log.csv", "column": "kWh", "every": "day", "time_columns": ["day"]}
    tables = {**PLAIN, "load": {"file": "load.csv"}, "production_log": log}
    found = check(read_scenario(tables, folder=tmp_path))
    assert found.problems == ()
    files = {each.key: each.found for each in found.files}
    assert files["load.file"] == "read"
    assert files["production_log.file"] == "388 kWh by the day, 2025-01-01 to 2025-01-31"  # 16 x 13 + 15 x 12 kWh
    assert "Load: 4,380 kWh a year from file" in found.contents


def test_wrong_files_are_problems_all_at_once(tmp_path: Path) -> None:
    tables = {
        **PLAIN,
        "weather": {"file": "none.csv", "format": "tmy3"},
        "plans": {"files": ["gone.toml", "lost.toml"]},
    }
    found = check(read_scenario(tables, folder=tmp_path))
    assert not found.valid
    assert [each.partition(": ")[2] for each in found.problems] == ["cannot be read: No such file or directory"] * 3
    assert [each.found for each in found.files] == [None] * 3


def test_a_part_of_a_scenario_is_checked_as_far_as_it_goes() -> None:
    tables = {key: PLAIN[key] for key in ("name", "site", "weather", "load")}
    part = read_scenario(tables, kind=LoadScenario)
    found = check(part, ["rate_plan: is missing", "inverter: is missing", "site.albedo: 7 must be at most 1"])
    assert found.problems == ("site.albedo: 7 must be at most 1",), "a table that is not there is no mistake"
    assert {"weather", "load"}.isdisjoint(lacks(found))
    assert lacks(found)["bill"] == ("rate_plan: is missing",)
    assert "inverter: is missing" in lacks(found)["roof"]


def test_defaults_in_use_are_those_of_the_declarations() -> None:
    assumed = {each.key: each for each in checked_demo().assumed}
    assert (assumed["losses.array.snow"].value, assumed["battery.charge_max_c"].value) == (0.0, 45.0)
    assert assumed["generator"].value is None, "a table that is not there"
    assert "site.albedo" not in assumed
    plain = {each.key: each.value for each in checked_bare().assumed}
    assert plain["battery.charge_min_c"] == "no limit", "JSON has no infinity"
    assert len({(each.key, str(each.value)) for each in defaults_in_use(bare())}) == len(defaults_in_use(bare()))
