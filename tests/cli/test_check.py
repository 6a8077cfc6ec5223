"""``solarsim check`` as its user runs it."""

import json
from pathlib import Path

from solarsim.scenario.read import demo_scenario_path, packaged_folder
from tests.cli.command import run


def test_right_is_exit_code_0_and_wrong_is_2_with_a_line_for_each_problem(tmp_path: Path) -> None:
    text = demo_scenario_path().read_text().replace("../weather_samples", str(packaged_folder("weather_samples")))
    home = tmp_path / "home.toml"
    home.write_text(
        text.replace("albedo = 0.2", "albedo = 20", 1).replace("rate_plans/flat.toml", "rate_plans/no.toml")
    )
    done = run("check", home)
    assert done.returncode == 2
    assert "home.toml: site.albedo: 20 must be at most 1; 20% is written 0.2" in done.stderr
    assert "Traceback" not in done.stderr + done.stdout


def test_a_wrong_table_does_not_hide_what_else_is_there() -> None:
    done = run("check", demo_scenario_path(), "--set", "battery.low_cutoff=7", "--json")
    assert done.returncode == 2
    found = json.loads(done.stdout)
    assert found["problems"] == [f"{demo_scenario_path()}: battery.low_cutoff: 7 must be below 1; 7% is written 0.07"]
    assert found["valid"] is False
    assert found["files"][0]["found"].startswith("Greensboro")
    assert "Load: 10,120 kWh a year from monthly_kwh" in found["contents"]


def test_half_a_file_is_no_mistake(tmp_path: Path) -> None:
    weather = packaged_folder("weather_samples") / "723170TYA.CSV"
    (tmp_path / "half.toml").write_text(
        'name = "half"\nsite = { name = "a", time_zone = "America/New_York", calendar_year = 2026, albedo = 0.2 }\n'
        f'weather = {{ file = "{weather}", format = "tmy3" }}\n'
    )
    done = run("check", tmp_path / "half.toml")
    assert (done.returncode, done.stderr) == (0, "")
    assert "half: no errors found." in done.stdout
    assert "Ready for: weather." in done.stdout


def test_what_cannot_be_read_at_all_is_refused(tmp_path: Path) -> None:
    (tmp_path / "home.toml").write_text("name = \n")
    done = run("check", tmp_path / "home.toml")
    assert (done.returncode, done.stdout) == (2, "")
    assert "is not valid TOML" in done.stderr
