"""--set: a home is varied on the command line, and a wrong change is refused before any work."""

import json

import pytest
from typer.main import get_command

from solarsim.cli.app import app
from tests.cli.command import run

#: Commands without a scenario.
NO_SCENARIO = {"new", "modules", "guide", "fleet"}
#: Options without which a command does not begin.
NEEDED = {"report": ("--out", "-")}


@pytest.mark.parametrize("command", sorted(get_command(app).commands.keys() - NO_SCENARIO))  # type: ignore[attr-defined]
def test_every_command_with_a_scenario_takes_changes(command: str) -> None:
    done = run(command, *NEEDED.get(command, ()), "--set", "batery.place=indoor")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "solarsim: batery.place: unknown key 'batery'; did you mean 'battery'?\n"


def test_changes_reach_the_result() -> None:
    done = run("load", "--set", "load.monthly_kwh.*=100", "--set", "name=other home", "--json")
    record = json.loads(done.stdout)
    assert record["scenario"] == "other home"
    assert sum(month["load_kwh"] for month in record["months"]) == pytest.approx(1200.0)


def test_home_without_a_battery_is_compared_and_says_what_lapsed() -> None:
    done = run("compare", "--set", "battery=none", "--json")
    assert done.returncode == 0, done.stderr
    record = json.loads(done.stdout)
    assert {each["equivalent_full_cycles"] for each in record["strategies"]} <= {0.0, None}
    assert any("grid_tied" in note for note in record["notes"])


def test_home_without_a_system_costs_what_the_grid_costs() -> None:
    record = json.loads(run("compare", "--set", "system=none", "--json").stdout)
    (only,) = record["strategies"]
    assert only["annual_bill"] == record["baseline"]["annual_bill"]
