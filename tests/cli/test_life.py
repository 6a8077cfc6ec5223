"""``life`` and ``risk`` as their user runs them."""

import os
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from solarsim.scenario.read import demo_scenario_path, packaged_folder, read_scenario
from solarsim.studies.risk.risk import percentiles, risk
from tests.cli.command import run
from tests.cli.test_bad_scenarios import assert_refused, write_home
from tests.studies.lives import STILL

COSTS = {"parts": [{"name": "all", "quantity": 1.0, "unit_price": 9000.0}]}
SURE = {"lifetimes": 10, "seed": 1, "weather_standard_deviation": 0.05}


def test_life_of_the_demo_is_tables_sentences_and_a_picture(tmp_path: Path) -> None:
    done = run("life", "--plot", "cash.svg", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    told = " ".join(done.stdout.split())
    assert "'winter night charge' pays back in" in told
    assert "Year by year: winter night charge" in told
    assert "no forecast" in told
    assert "licensed professionals" in told
    assert max(map(len, done.stdout.splitlines())) <= 100
    assert (tmp_path / "cash.svg").read_text().startswith("<?xml")
    again = run("life", "--plot", "cash.svg", folder=tmp_path)
    assert (again.returncode, again.stderr) == (2, "solarsim: cash.svg: exists; --force replaces it\n")


def test_risk_of_the_demo_shows_how_far_it_is_and_gives_one_answer_for_one_seed(tmp_path: Path) -> None:
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
    assert "running lifetimes: 16 of" in told.decode()
    assert "The strongest input: energy price grows each year" in " ".join(done.stdout.split())
    assert (tmp_path / "risk.png").read_bytes().startswith(b"\x89PNG")
    alone = risk(read_scenario(tmp_path / "mine.toml"), "zero export", lifetimes=20, seed=7)
    p50 = percentiles(alone.npv)[1]
    assert f"{p50:,.0f}" in next(line for line in done.stdout.splitlines() if "worth (net present value)" in line)


def _three_years(path: Path) -> None:
    text = demo_scenario_path().read_text().replace("years = 25 ", "years = 3 ")
    path.write_text(text.replace("../weather_samples", packaged_folder("weather_samples").as_posix()))


CASES = {
    "no life": ("life home.toml", "home.toml: says nothing of the years to come: add a table [life] with years"),
    "no uncertainty": ("risk sure.toml", "sure.toml: does not say how sure its rates are: add a table [life.uncert"),
    "strategy misspelled": ("risk unsure.toml --strategy homefirst", "did you mean 'home first'?"),
    "three lifetimes": ("risk unsure.toml --lifetimes 3", "'--lifetimes': '3' must be a whole number from 10 to"),
    "seed in words": ("risk unsure.toml --seed one", "'--seed': 'one' must be a whole number from 0 to"),
    "picture into no folder": ("life sure.toml --plot none/a.png", "none/a.png: folder none does not exist"),
}


@pytest.mark.parametrize(("words", "says"), CASES.values(), ids=list(CASES))
def test_wrong_commands_are_refused_in_one_line(tmp_path: Path, words: str, says: str) -> None:
    write_home(tmp_path / "home.toml", costs=COSTS)
    write_home(tmp_path / "sure.toml", costs=COSTS, life=STILL)
    write_home(tmp_path / "unsure.toml", costs=COSTS, life=STILL | {"uncertainty": SURE})
    assert_refused(tmp_path, words, says)
