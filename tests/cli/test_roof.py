"""``solarsim roof`` as its user runs it."""

import json

import pytest

from solarsim.scenario.read import packaged_folder
from tests.cli.command import run

FARM = packaged_folder("scenarios") / "ridge_farm.toml"


def test_roof_shows_where_its_energy_goes() -> None:
    done = run("roof", FARM)
    assert (done.returncode, done.stderr) == (0, "")
    assert "unlike strings at one voltage" in done.stdout
    assert "licensed professionals" in " ".join(done.stdout.split())
    assert max(map(len, done.stdout.splitlines())) <= 100


def test_roof_offers_what_compare_says() -> None:
    roof, compared = (json.loads(run(command, FARM, "--json").stdout) for command in ("roof", "compare"))
    assert roof["pv_available_kwh"] == pytest.approx(compared["strategies"][0]["pv_available_kwh"])
    losses = [loss for each in roof["inputs"] for loss in each["losses"] if loss["cause"] in ("current", "power")]
    lost = sum(loss["lost_kwh"] for loss in losses)
    assert lost == pytest.approx(compared["input_clipped_kwh"])


def test_demo_has_a_roof_too() -> None:
    done = run("roof")
    assert done.returncode == 0
    assert "no known voltage" in done.stdout
