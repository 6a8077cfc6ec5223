"""``life`` as its user runs it."""

import json
from pathlib import Path

import pytest

from tests.cli.command import run
from tests.cli.test_bad_scenarios import assert_refused, write_home
from tests.studies.lives import STILL

COSTS = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 9000.0}]}
OFF_GRID = {"kind": "off_grid", "grid": "none"}


def test_life_of_the_demo_is_tables_sentences_and_a_picture(tmp_path: Path) -> None:
    done = run("life", "--plot", "cash.svg", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    told = " ".join(done.stdout.split())
    assert "With 'winter night charge' the system pays back in" in told
    assert "Year by year: winter night charge" in told
    assert "not a forecast" in told
    assert "have licensed professionals do the work" in told
    assert max(map(len, done.stdout.splitlines())) <= 100
    assert (tmp_path / "cash.svg").read_text().startswith("<?xml")
    again = run("life", "--plot", "cash.svg", folder=tmp_path)
    assert (again.returncode, again.stderr) == (2, "solarsim: cash.svg: exists; --force replaces it\n")


@pytest.mark.parametrize("command", ["savings", "life"])
def test_home_in_the_dark_is_told_as_not_comparable_and_ends_well(tmp_path: Path, command: str) -> None:
    write_home(tmp_path / "dark.toml", costs=COSTS, life=STILL, arrangement=OFF_GRID)
    done = run(command, "dark.toml", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "'home first' is not comparable: " in done.stdout
    assert "kWh unserved" in done.stdout
    record = json.loads(run(command, "dark.toml", "--json", folder=tmp_path).stdout)
    (only,) = record["strategies"]
    assert only["simple_payback_years"] is None
    assert only["unserved_kwh"] > 100.0


CASES = {
    "no life": ("life home.toml", "home.toml: has no table [life]; add one with years"),
    "no costs": ("life bare.toml", "bare.toml: has no table [costs]; add one with parts"),
    "picture into no folder": ("life sure.toml --plot none/a.png", "none/a.png: folder none does not exist"),
}


@pytest.mark.parametrize(("words", "says"), CASES.values(), ids=list(CASES))
def test_wrong_commands_are_refused_in_one_line(tmp_path: Path, words: str, says: str) -> None:
    write_home(tmp_path / "bare.toml", life=STILL)
    write_home(tmp_path / "home.toml", costs=COSTS)
    write_home(tmp_path / "sure.toml", costs=COSTS, life=STILL)
    assert_refused(tmp_path, words, says)
