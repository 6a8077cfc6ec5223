"""``risk`` as its user runs it."""

import os
import re
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from solarsim.scenario.read import demo_scenario_path, packaged_folder, read_scenario
from solarsim.studies.risk.risk import risk
from tests.cli.command import run
from tests.cli.test_bad_scenarios import assert_refused, write_home
from tests.cli.test_life import COSTS, OFF_GRID
from tests.studies.lives import STILL

SPREAD = {"lifetimes": 10, "seed": 1, "weather_standard_deviation": 0.05}


@pytest.mark.slow
def test_risk_of_the_demo_shows_its_progress_and_gives_one_answer_for_one_seed(tmp_path: Path) -> None:
    words = ["risk", "mine.toml", "--strategy", "zero export", "--lifetimes", "20", "--seed", "7"]
    _three_years(tmp_path / "mine.toml")
    reader, terminal = os.openpty()
    done = subprocess.run(
        [sys.executable, "-m", "solarsim", *words, "--workers", "2", "--plot", "risk.png"],
        stdout=subprocess.PIPE, stderr=terminal, check=True, cwd=tmp_path, encoding="utf-8",
    )  # fmt: skip
    os.close(terminal)
    told = b""
    with suppress(OSError):  # how a terminal says that nobody writes to it any more
        while piece := os.read(reader, 4096):  # a slow machine says more than one read gives
            told += piece
    os.close(reader)
    assert re.search(r"running lifetimes: \d+ of 35", told.decode())
    assert "Strongest input: energy price growth per year" in " ".join(done.stdout.split())
    assert (tmp_path / "risk.png").read_bytes().startswith(b"\x89PNG")
    npv = risk(read_scenario(tmp_path / "mine.toml"), "zero export", lifetimes=20, seed=7).npv
    row = next(line for line in done.stdout.splitlines() if "NPV, USD, at least" in line)
    assert row.split()[-3:] == [f"{each:,.0f}" for each in (npv.p90, npv.p50, npv.p10)]


def test_home_in_the_dark_is_told_as_not_comparable_and_ends_well(tmp_path: Path) -> None:
    write_home(tmp_path / "dark.toml", costs=COSTS, life=STILL | {"uncertainty": SPREAD}, arrangement=OFF_GRID)
    done = run("risk", "dark.toml", "--workers", "1", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "10 of 10 lifetimes are not comparable: " in done.stdout
    assert next(line for line in done.stdout.splitlines() if "NPV, USD, at least" in line).split()[-3:] == ["-"] * 3


def _three_years(path: Path) -> None:
    text = demo_scenario_path().read_text().replace("years = 25 ", "years = 3 ")
    path.write_text(text.replace("../weather_samples", packaged_folder("weather_samples").as_posix()))


CASES = {
    "no uncertainty": ("risk sure.toml", "sure.toml: has no table [life.uncertainty]; add one with lif"),
    "strategy misspelled": ("risk spread.toml --strategy homefirst", "did you mean 'home first'?"),
    "three lifetimes": ("risk spread.toml --lifetimes 3", "'--lifetimes': '3' must be a whole number from 10 to"),
    "seed in words": ("risk spread.toml --seed one", "'--seed': 'one' must be a whole number from 0 to"),
}


@pytest.mark.parametrize(("words", "says"), CASES.values(), ids=list(CASES))
def test_wrong_commands_are_refused_in_one_line(tmp_path: Path, words: str, says: str) -> None:
    write_home(tmp_path / "sure.toml", costs=COSTS, life=STILL)
    write_home(tmp_path / "spread.toml", costs=COSTS, life=STILL | {"uncertainty": SPREAD})
    assert_refused(tmp_path, words, says)
