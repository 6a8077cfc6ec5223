"""``size`` on the command line: the next step leads, bad axes end with exit code 2."""

import json
from pathlib import Path

import pytest

from tests.cli.command import run


def test_next_step_leads_and_json_has_the_names() -> None:
    done = run("size", "--axis", "inverter.standby_w=40,55", "--set", "life.years=2", "--workers", "1", "--json")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    names = {"changes", "strategy", "upfront_cost", "energy_cost", "annual_savings", "npv", "payback_years"}
    assert names <= found["best"].keys()
    assert all(names <= each.keys() for each in found["designs"])
    assert [each["changes"] for each in found["designs"]] == [{"inverter.standby_w": w} for w in (40, 55)]
    assert found["skipped"] == []
    assert {"changes", "added_cost", "annual_gain", "npv_gain", "payback_years"} <= found["next_steps"][0].keys()


@pytest.mark.parametrize(
    ("axis", "words"),
    [
        ("battery.bank.0.string=1,2", "did you mean 'strings'?"),
        ("battery.bank.0.strings=", "has no values"),
        ("battery.bank.0.strings=1", "has one value"),
        ("battery.bank.0.strings", "must be KEY=VALUE,VALUE"),
    ],
)
def test_bad_axis_is_one_line_and_exit_code_2(axis: str, words: str) -> None:
    done = run("size", "greensboro", "--axis", axis)
    assert (done.returncode, done.stdout) == (2, "")
    assert words in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_axis_given_twice_is_refused() -> None:
    done = run("size", "greensboro", "--axis", "site.albedo=0.1,0.2", "--axis", "site.albedo=0.3,0.4")
    assert done.returncode == 2
    assert "site.albedo: appears twice" in done.stderr


def test_written_file_is_the_best_design_and_life_says_the_same_of_it(tmp_path: Path) -> None:
    pytest.importorskip("tomlkit")  # a dependency: it is missing only where an older environment is used
    file = tmp_path / "found.toml"
    axis, short = ("--axis", "inverter.ac_kw=5,6"), ("--set", "life.years=2", "--set", "costs.incentives=[]")
    done = run("size", *axis, *short, "--workers", "1", "--write", file, "--json")
    assert done.returncode == 0, done.stderr
    best = json.loads(done.stdout)["best"]
    lives = json.loads(run("life", file, "--json").stdout)["strategies"]
    assert max(each["npv"] for each in lives) == best["npv"]
    assert "# kept for outages" in file.read_text()
    assert run("size", *axis, "--write", file).returncode == 2  # it exists
