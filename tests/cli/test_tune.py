"""``solarsim tune`` as its user runs it."""

import json
from pathlib import Path

import pytest

from solarsim.cli.tune import COUNTED, MOST_RUNS
from solarsim.scenario.read import read_scenario
from solarsim.views.progress import Progress
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
        (["--reserve", "1.5"], "solarsim: --reserve 1.5 must be a share from 0 to below 1; 0.3 is 30%"),
        (["--reserve", "150 %"], "solarsim: --reserve 1.5 must be a share"),
        (["--reserve", "30 km%"], "'30 km%'"),
        (["--season", "02-30/03-10"], "solarsim: --season 02-30/03-10: 02-30 does not exist"),
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


def test_a_share_may_be_written_as_percent(home: Path) -> None:
    done = run("tune", home, "--reserve", "5 %", "--set", "strategies.1st.off_grid_floor=0.1", "--worth", "1%")
    assert "--reserve 0.05 is below the off_grid_floor 0.1 of 'home first'" in done.stderr


def test_progress_is_one_line_of_80_columns() -> None:
    shown: list[str] = []
    times = iter([0.0, 10.0])
    told = Progress(shown.append, COUNTED, lambda: next(times))
    told(0, MOST_RUNS)
    told(99_999, MOST_RUNS)
    assert len(f"⠋ {shown[-1]} ...") <= 80
