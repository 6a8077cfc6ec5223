"""The check against a log: what its table, lines, JSON and picture say."""

import json
from pathlib import Path

import numpy as np
import pytest
from matplotlib.colors import to_hex

from solarsim.scenario.model import Scenario
from solarsim.studies.calibrate.calibrate import Calibration, calibrate
from solarsim.views.calibrate import factor_lines, page
from solarsim.views.figure import VERMILION, figure
from solarsim.views.json_text import to_json
from tests.logs import LOG, logged, model, months_of, write_hours
from tests.views.test_tables import shown


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Calibration:
    """Calibrate a log that is an hour ahead, with half the energy in June."""
    folder = tmp_path_factory.mktemp("log")
    kwh = model(folder).kwh(0.9)
    kwh[24 * 151 : 24 * 181] *= 0.5
    write_hours(folder / "log.csv", kwh, 60)
    return calibrate(logged(folder, {**LOG, "fit": {"first": "2025-01", "last": "2025-05"}}))


@pytest.mark.parametrize("width", [80, 100])
def test_table_fits_and_flags(found: Calibration, width: int) -> None:
    lines = shown(page(found)[2], width)
    assert max(map(len, lines)) <= width
    (june,) = [line for line in lines if line.startswith(" Jun 2025")]
    assert "45%" in june, "0.9 of half the energy"
    assert "50%" in june
    assert june.endswith("low")
    assert [line.endswith("low") for line in lines].count(True) == 1
    assert any(line.startswith(" predicted") for line in lines)


def test_json_has_one_factor_or_one_for_each_season(found: Calibration, tmp_path: Path) -> None:
    record = json.loads(to_json(found.record()))
    assert record["clock"]["settings"] == ['labels = "end" in [production_log]']
    assert record["system_factor"] == pytest.approx(0.9, abs=1e-3)
    assert record["system_factor_by_season"] is None
    assert [month["below"] for month in record["logged_months"]] == [month == 6 for month in range(1, 13)]
    sums = [
        sum(month["logged_kwh"] for month in record["logged_months"] if month["fitted"] == fit) for fit in (True, False)
    ]
    assert sums == pytest.approx([record["fitted_sum"]["logged_kwh"], record["predicted_sum"]["logged_kwh"]])
    seasons = {"monthly_kwh": months_of(model(tmp_path).kwh(0.9)), "side": "ac", "by_season": True}
    by_season = json.loads(to_json(calibrate(logged(tmp_path, seasons)).record()))
    assert by_season["clock"] is None
    assert by_season["system_factor"] is None
    assert list(by_season["system_factor_by_season"]) == ["dec_feb", "mar_may", "jun_aug", "sep_nov"]


def test_the_printed_factor_can_be_pasted_into_the_scenario(found: Calibration, tmp_path: Path) -> None:
    assert factor_lines(found) == "[production]\nsystem_factor = 0.900"
    assert "at the inverter's output" in page(found)[0]
    assert logged(tmp_path, production__system_factor=0.900).production.system_factor == 0.9


def test_picture_shows_months_and_clocks(found: Calibration) -> None:
    above, below = figure(found).axes
    assert above.get_ylabel() == "monthly energy, kWh"
    assert "Jan 2025" in [label.get_text() for label in above.get_xticklabels()]
    heights = sorted(bar.get_height() for bar in above.patches if hasattr(bar, "get_height"))
    assert heights[-1] == pytest.approx(max(month.logged_kwh for month in found.logged_months))
    flagged = [bar for bar in above.patches if to_hex(bar.get_facecolor()).upper() == VERMILION]
    assert [bar.get_hatch() for bar in flagged] == ["//"], "told apart in grey"
    marked = {str(line.get_label()): line.get_xdata() for line in below.lines}
    assert np.asarray(marked["best fit"]).tolist() == [60]
    assert np.asarray(marked["as read"]).tolist() == [0]
    assert "min" in below.get_xlabel()


def test_the_demo_has_an_invented_log_with_one_month_that_is_off(demo: Scenario) -> None:
    found = calibrate(demo)
    assert [month.month for month in found.logged_months if month.below] == [9]
    assert 0.85 < found.factors[0] < 0.95
