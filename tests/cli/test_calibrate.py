"""``solarsim calibrate`` as its user runs it."""

import json
from pathlib import Path

import pytest

from tests.cli.command import run
from tests.cli.test_bad_scenarios import write_home
from tests.logs import LOG, model, write_hours


def test_a_log_is_compared_and_drawn_and_its_columns_are_noted(tmp_path: Path) -> None:
    kwh = model(tmp_path).kwh(0.9)
    write_hours(tmp_path / "log.csv", kwh)
    write_home(tmp_path / "home.toml", production_log=LOG)
    done = run("calibrate", "home.toml", "--plot", "log.png", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "system_factor = 0.900" in done.stdout
    assert "The system produces 90% of the model: system factor 0.900." in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 100
    assert "note: log.csv: production is read from 'kWh' in kWh" in done.stderr
    assert (tmp_path / "log.png").read_bytes().startswith(b"\x89PNG")
    write_home(tmp_path / "none.toml")
    none = run("calibrate", "none.toml", folder=tmp_path)
    assert none.returncode == 2
    assert "none.toml: has no table [production_log]" in none.stderr


@pytest.mark.slow
def test_json_fits_its_schema(tmp_path: Path) -> None:
    write_hours(tmp_path / "log.csv", model(tmp_path).kwh(0.9))
    write_home(tmp_path / "home.toml", production_log=LOG)
    done = run("calibrate", "home.toml", "--json", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["system_factor"] == pytest.approx(0.9, abs=1e-3)
