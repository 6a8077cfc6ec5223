"""``solarsim tune`` as its user runs it."""

import json
from pathlib import Path

import pytest

from solarsim.scenario.read import read_scenario
from tests.cli.command import run
from tests.studies.tune.tasks import evening_file


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return evening_file(tmp_path)


@pytest.mark.slow
def test_json_write_and_plot(home: Path, tmp_path: Path) -> None:
    written, picture = tmp_path / "tuned.toml", tmp_path / "days.svg"
    done = run("tune", home, "--runs", "150", "--wear", "0", "--write", written, "--plot", picture, "--json")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["ladder"] is None
    assert found["windows"] == len(read_scenario(written).strategy("tuned").windows)
    assert "# kept" in written.read_text()
    assert picture.read_text().startswith("<?xml")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--worth", "-0.01"], "--worth -0.01 must be a share"),
        (["--worth", "much"], "'much' must be a number"),
        (["--reserve", "1.5"], "--reserve 1.5 must be a share from 0 to below 1"),
        (["--wear", "nan"], "'nan' must be a number"),
        (["--season", "11-01"], "'11-01' must be two dates such as 11-01/02-28"),
        (["--season", "05-01/09-30", "--season", "09-01/10-31"], "--season 09-01/10-31 overlaps another season"),
        (["--runs", "0"], "'0' must be a whole number from 1"),
        (["--forecast-error", "0.2"], "needs --ladder"),
        (["--ladder", "--forecast-error", "30"], "'30' must be from 0 to 2; 0.3 is 30%"),
        (["--ladder", "--forecast-error", "low"], "'low' must be a number"),
        (["--set", "battery=none"], "has no battery, so there is nothing to tune"),
    ],
    ids=str,
)
def test_what_is_wrong_is_said_in_a_line(home: Path, words: list[str], told: str) -> None:
    done = run("tune", home, *words)
    assert done.returncode == 2
    assert told in done.stderr
    assert "Traceback" not in done.stderr
