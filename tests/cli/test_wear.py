"""The command wear as its user runs it."""

import json
from pathlib import Path

import pytest

from solarsim.scenario.read import packaged_folder
from tests.cli.command import run
from tests.cli.test_bad_scenarios import assert_refused, write_home


def test_wear_of_a_cold_shed_is_shown_and_drawn(tmp_path: Path) -> None:
    shed = packaged_folder("scenarios") / "net_shed.toml"
    done = run("wear", shed, "--plot", "life.png", "--strategy", "serve the shed first", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "Charging blocked by temperature" in done.stdout
    assert "serve the shed first" in done.stdout
    assert "half in reserve" not in done.stdout
    assert "the warranty terms decide" in " ".join(done.stdout.split())
    assert "charge_min_c 0" in " ".join(done.stdout.split())
    assert "Do not charge lithium cells below 0 °C" in done.stdout
    assert (tmp_path / "life.png").read_bytes().startswith(b"\x89PNG")
    assert_refused(tmp_path, "wear --plot life.png", "exists; --force replaces it")


def test_wear_of_the_demo_as_json(tmp_path: Path) -> None:
    record = json.loads(run("wear", "--json", "--years", "3", folder=tmp_path).stdout)
    assert record["chemistry"] == "lfp"
    assert [len(row["capacity_by_year"]) for row in record["strategies"]] == [4] * 5


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("--years 41", ("--years", "40")),
        ("--years soon", ("--years",)),
        ("--strategy hom", ("'hom'", "home first")),
        ("--plot life.gif", ("life.gif", ".png, .svg or .pdf")),
        ("", ("home.toml: battery.chemistry: is missing; allowed: lfp",)),
    ],
)
def test_what_wear_cannot_do_is_refused(tmp_path: Path, words: str, says: tuple[str, ...]) -> None:
    write_home(tmp_path / "home.toml")
    assert_refused(tmp_path, f"wear home.toml {words}", *says)
