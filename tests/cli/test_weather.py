"""``solarsim weather`` as its user runs it."""

import json
from pathlib import Path

import pytest

from solarsim.scenario.read import packaged_folder
from tests.cli.command import run
from tests.cli.test_bad_scenarios import assert_refused, write_home
from tests.weather.means import means_of
from tests.weather.test_read import GREENSBORO, read

MIAMI = packaged_folder("weather_samples") / "12839.tm2"


def test_demo_s_weather_is_shown_and_drawn(tmp_path: Path) -> None:
    done = run("weather", "--plot", "year.png", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "Greensboro Piedmont Triad Int, NC: 36.10 N, 79.95 W, 273 m, UTC-5" in done.stdout
    assert "1,566.2  1,476.5   682.2" in done.stdout
    assert "No gaps and no repairs." in done.stdout
    assert "Written: year.png" in done.stdout
    assert (tmp_path / "year.png").read_bytes().startswith(b"\x89PNG")
    assert max(map(len, done.stdout.splitlines())) <= 100


def test_year_from_means_is_shown_and_compared(tmp_path: Path) -> None:
    table = means_of(read(GREENSBORO, "tmy3"))
    write_home(tmp_path / "home.toml", weather=table)
    record = json.loads(run("weather", "home.toml", "--json", folder=tmp_path).stdout)
    (year,) = record["years"]
    assert [month["ghi_kwh_m2"] for month in year["months"]] == pytest.approx(table["ghi_kwh_m2"])
    done = run("compare", "home.toml", folder=tmp_path)
    assert done.returncode == 0
    assert "note: the weather is made from monthly means (seed 1)" in done.stderr


def test_file_alone_and_several_years(tmp_path: Path) -> None:
    assert "Miami, FL: 25.80 N, 80.27 W" in run("weather", "--file", MIAMI, "--format", "tm2").stdout
    (tmp_path / "a.csv").write_text(GREENSBORO.read_text())
    (tmp_path / "b.csv").write_text(GREENSBORO.read_text())
    write_home(tmp_path / "home.toml", weather={"file": "a.csv", "format": "tmy3", "other_files": ["b.csv"]})
    shown = run("weather", "home.toml", folder=tmp_path).stdout
    assert "Simulations use a.csv." in shown
    assert "b.csv" in shown


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("weather --file sky.epw", "--file and --format belong together"),
        ("weather --format epw", "--file and --format belong together"),
        ("weather --file sky.csv --format csv", "a CSV does not state its place; name it in [weather] of a scenario"),
        ("weather --file sky.epw --format epv", "'epv' is not known; allowed: epw, tmy3, tm2"),
        ("weather home.toml --file sky.epw --format epw", "name either a scenario or --file, not both"),
        ("weather --file none.epw --format epw", "none.epw: cannot be read: No such file"),
        ("weather --file sky.png --format epw --plot sky.png --force", "sky.png: is the weather file itself"),
        ("weather --file sky.png --format epw", "sky.png: is not an EPW file"),
    ],
)
def test_a_wrong_command_is_refused(tmp_path: Path, words: str, told: str) -> None:
    (tmp_path / "sky.png").write_text("hello\n")
    assert_refused(tmp_path, words, told)
