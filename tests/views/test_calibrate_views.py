"""The check against a log: what its table, lines, JSON and picture say."""

import json
from pathlib import Path

import numpy as np
import pytest
from matplotlib.colors import to_hex

from solarsim.scenario.glossary import DOCUMENT
from solarsim.scenario.glossary_studies import CALIBRATION
from solarsim.scenario.model import Scenario
from solarsim.studies.calibrate.calibrate import Calibration, calibrate
from solarsim.views.calibrate_plot import calibrate_figure
from solarsim.views.calibrate_records import calibrate_json
from solarsim.views.calibrate_tables import calibrate_heading, calibrate_lines, logged_table
from solarsim.views.month_plot import VERMILION
from tests.cli.test_app import run
from tests.cli.test_bad_scenarios import write_home
from tests.logs import LOG, logged, model, months_of, write_hours
from tests.scenario.test_glossary import keys_of
from tests.views.test_tables import shown


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Calibration:
    """Give a log that is an hour ahead, whose June makes half of what it should."""
    folder = tmp_path_factory.mktemp("log")
    kwh = model(folder).kwh(0.9)
    kwh[24 * 151 : 24 * 181] *= 0.5
    write_hours(folder / "log.csv", kwh, 60)
    return calibrate(logged(folder, {**LOG, "fit": {"first": "2025-01", "last": "2025-05"}}))


@pytest.mark.parametrize("width", [80, 100])
def test_table_fits_and_flags(found: Calibration, width: int) -> None:
    lines = shown(logged_table(found), width)
    assert max(map(len, lines)) <= width
    (june,) = [line for line in lines if line.startswith(" Jun 2025")]
    assert "50%" in june
    assert june.endswith("below")
    assert [line.endswith("below") for line in lines].count(True) == 1
    assert any(line.startswith(" foretold") for line in lines)


def test_every_key_is_in_the_glossary(found: Calibration, tmp_path: Path) -> None:
    record = json.loads(calibrate_json(found))
    assert keys_of(record) <= set(CALIBRATION | DOCUMENT)
    assert record["clock"]["settled_by"] == ["clock_ahead_min = 60"]
    assert record["system_factor"] == pytest.approx(0.9, abs=1e-3)
    assert [month["below"] for month in record["logged_months"]] == [month == 6 for month in range(1, 13)]
    seasons = {"monthly_kwh": months_of(model(tmp_path).kwh(0.9)), "side": "ac", "by_season": True}
    by_season = json.loads(calibrate_json(calibrate(logged(tmp_path, seasons))))
    assert keys_of(by_season) <= set(CALIBRATION | DOCUMENT)
    assert by_season["clock"] is None
    assert by_season["system_factor"] is None


def test_lines_that_are_told_can_be_taken_over(found: Calibration, tmp_path: Path) -> None:
    """The line for the scenario is valid TOML of the table ``production``."""
    assert calibrate_lines(found)[-1].endswith("[production]\nsystem_factor = 0.900")
    assert "at the inverter's output" in calibrate_heading(found)
    assert logged(tmp_path, production__system_factor=0.900).production.system_factor == 0.9


def test_picture_shows_months_and_clocks(found: Calibration) -> None:
    figure = calibrate_figure(found)
    above, below = figure.axes
    assert above.get_ylabel() == "energy of the month, kWh"
    assert "Jan 2025" in [label.get_text() for label in above.get_xticklabels()]
    heights = sorted(bar.get_height() for bar in above.patches if hasattr(bar, "get_height"))
    assert heights[-1] == pytest.approx(max(month.logged_kwh for month in found.months))
    flagged = [bar for bar in above.patches if to_hex(bar.get_facecolor()).upper() == VERMILION]
    assert len(flagged) == 1
    marked = {str(line.get_label()): line.get_xdata() for line in below.lines}
    assert np.asarray(marked["fits best"]).tolist() == [60]
    assert np.asarray(marked["as read"]).tolist() == [0]
    assert "min" in below.get_xlabel()


def test_the_command_draws_prints_and_says_what_was_found(tmp_path: Path) -> None:
    kwh = model(tmp_path).kwh(0.9)
    write_hours(tmp_path / "log.csv", kwh)
    write_home(tmp_path / "home.toml", production_log=LOG)
    done = run("calibrate", "home.toml", "--plot", "log.png", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "system_factor = 0.900" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 100
    assert "note: log.csv: production is read from 'kWh' in kWh" in done.stderr
    assert (tmp_path / "log.png").read_bytes().startswith(b"\x89PNG")
    write_home(tmp_path / "none.toml")
    none = run("calibrate", "none.toml", folder=tmp_path)
    assert none.returncode == 2
    assert "none.toml: has no [production_log]" in none.stderr


def test_the_demo_has_an_invented_log_with_one_month_that_is_off(demo: Scenario) -> None:
    found = calibrate(demo)
    assert [month.month for month in found.months if month.is_below] == [9]
    assert 0.85 < found.factors[0] < 0.95
