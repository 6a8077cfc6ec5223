"""The roof's commands as their user runs them."""

import json

import pytest

from solarsim.scenario.read import packaged_folder
from tests.cli.test_app import run

FARM = packaged_folder("scenarios") / "ridge_farm.toml"


def test_roof_shows_where_its_energy_goes() -> None:
    done = run("roof", FARM)
    assert (done.returncode, done.stderr) == (0, "")
    assert "unlike strings at one voltage" in done.stdout
    assert "licensed people decide" in " ".join(done.stdout.split())
    assert max(map(len, done.stdout.splitlines())) <= 100


def test_roof_offers_what_compare_says() -> None:
    roof, compared = (json.loads(run(command, FARM, "--json").stdout) for command in ("roof", "compare"))
    assert roof["pv_available_kwh"] == pytest.approx(compared["strategies"][0]["pv_available_kwh"])
    lost = sum(each["lost_kwh"]["current"] + each["lost_kwh"]["power"] for each in roof["inputs"])
    assert lost == pytest.approx(compared["input_clipped_kwh"])


def test_demo_has_a_roof_too() -> None:
    done = run("roof")
    assert done.returncode == 0
    assert "has no voltage" in done.stdout


def test_modules_are_looked_up_by_parts_of_their_names() -> None:
    done = run("modules", "cs6k", "300ms")
    assert 'table_row = "Canadian Solar Inc. CS6K-300MS"' in " ".join(done.stdout.split())
    record = json.loads(run("modules", "cs6k", "300ms", "--json").stdout)
    assert [row["name"] for row in record["modules"]] == ["Canadian Solar Inc. CS6K-300MS"]
    assert record["closest"] == []


def test_modules_that_nobody_makes_are_answered_with_the_closest() -> None:
    done = run("modules", "SunPowr SPR-X22-360")
    assert done.returncode == 0
    assert "No name holds" in done.stdout
    assert "SunPower SPR-X22-360" in done.stdout
    many = run("modules", "300")
    assert "40 are shown" in many.stdout
