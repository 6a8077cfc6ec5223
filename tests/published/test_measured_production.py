"""Checks against a real array: three years of 15-minute AC power, and what can be told of them.

``pvanalytics`` 0.2.2 (MIT), see ``tests/golden.py``: nobody wrote down size, tilt and azimuth, so the factor holds the
assumed size too, and says nothing of the array by itself. What is checked: energies, the clock fault that the file's
own name tells (``DST``), one factor of 2012 that foretells 2013, and that what remains is explained month by month.
"""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from solarsim.load.meter import read_meter_csv
from solarsim.scenario.load.meter import MeterCsv
from solarsim.scenario.model import Scenario
from solarsim.studies.calibrate.calibrate import Calibration, calibrate
from solarsim.views.calibrate import page
from tests.builders import scenario
from tests.golden import GOLDEN, LOG, write_log, write_sky
from tests.open_data import PVANALYTICS, open_data

#: Sums of the file's values / 4, printed with one digit.
KWH_2012, KWH_2013 = 4989.2, 5017.1
BY_MONTH_2013 = [417.4, 353.2, 430.5, 400.0, 470.0, 448.1, 439.8, 437.4, 410.3, 455.1, 419.3, 336.2]


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[dict[str, Any]]]:
    folder = tmp_path_factory.mktemp("golden")
    sky = write_sky(folder, 2012, 2013)
    write_log(folder / "log.csv")
    return folder, sky


def golden(files: tuple[Path, list[dict[str, Any]]], **keys: Any) -> Scenario:
    folder, sky = files
    log = {**LOG, "weather": sky, "fit": {"first": "2012-01", "last": "2012-12"}, **keys}
    return scenario(folder, production_log=log, **GOLDEN)


@pytest.fixture(scope="module")
def as_stamped(files: tuple[Path, list[dict[str, Any]]]) -> Calibration:
    return calibrate(golden(files))


@pytest.fixture(scope="module")
def settled(files: tuple[Path, list[dict[str, Any]]]) -> Calibration:
    return calibrate(golden(files, clock="wall"))


@pytest.mark.published
def test_annual_energy_equals_the_file_s_sum(as_stamped: Calibration) -> None:
    """System 50 of the samples of pvanalytics (MIT), the file of 2012 and 2013.

    Less what stands in hours that lack a quarter: at most 3 kWh a month, but 21 in March and April of 2012.
    """
    of_2013 = [month.logged_kwh for month in as_stamped.logged_months if month.year == 2013]
    np.testing.assert_allclose(of_2013, BY_MONTH_2013, atol=3.0)
    assert all(ours <= printed + 0.05 for ours, printed in zip(of_2013, BY_MONTH_2013, strict=True))
    assert as_stamped.predicted_sum.logged_kwh == pytest.approx(KWH_2013, rel=0.001)
    assert as_stamped.fitted_sum.logged_kwh == pytest.approx(KWH_2012, rel=0.006)


@pytest.mark.published
def test_clock_fault_is_found_and_corrected(as_stamped: Calibration, settled: Calibration) -> None:
    """System 50 of the samples of pvanalytics (MIT), the file of 2012 and 2013.

    The stamps say -07:00 all year; the file's name and its missing hours in March say daylight saving.
    """
    clock = as_stamped.clock
    assert clock is not None
    assert (clock.as_read.daylight_saving, clock.best_clock.daylight_saving) == (False, True)
    assert clock.better_by > 0.03
    fixed = min(each.misfit for each in clock.tried if not each.daylight_saving)
    assert clock.best_clock.misfit < 0.6 * fixed
    assert any('Setting: clock = "wall"' in str(line) for line in page(as_stamped))
    assert settled.clock is not None
    assert not settled.clock.other_daylight_saving


@pytest.mark.published
def test_the_factor_of_2012_predicts_2013(settled: Calibration) -> None:
    """System 50 of the samples of pvanalytics (MIT), the file of 2012 and 2013.

    Within 5 % of the year's measured sum.
    """
    others, chosen = settled.predicted_sum, settled.fitted_sum
    assert others.calibrated_kwh == pytest.approx(others.logged_kwh, rel=0.05)
    assert others.logged_kwh == pytest.approx(KWH_2013, rel=0.001)
    assert chosen.calibrated_kwh == pytest.approx(chosen.logged_kwh, rel=1e-5)


@pytest.mark.published
def test_months_that_are_off_are_explained(settled: Calibration) -> None:
    """System 50 of the samples of pvanalytics (MIT), the file of 2012 and 2013.

    One month of 24 is below: December 2013, with 372 quarters of an hour missing and 5 days dark in frost.
    """
    below = [(month.year, month.month) for month in settled.logged_months if month.below]
    assert below == [(2013, 12)]
    (line,) = [line for line in page(settled) if str(line).startswith("Dec 2013")]
    assert "hours of daylight not logged" in line
    assert "5 days with almost no output, after frost: snow?" in line
    # The gaps that the file itself shows: 948 quarters in April 2012 (a third of the month), 453 in May, none in June.
    covered = {(month.year, month.month): month.covered for month in settled.logged_months}
    assert covered[2012, 4] == pytest.approx(1 - 948 / 4 / 720, abs=0.07)
    assert covered[2012, 5] == pytest.approx(1 - 453 / 4 / 744, abs=0.05)
    assert covered[2012, 6] == 1.0
    ratios = [month.ratio_to_calibrated for month in settled.logged_months if not month.below]
    assert np.std(np.array(ratios, np.float64)) < 0.05


@pytest.mark.published
def test_unknown_azimuth_is_told_apart_from_a_clock_fault(
    files: tuple[Path, list[dict[str, Any]]], settled: Calibration
) -> None:
    """System 50 of the samples of pvanalytics (MIT), the file of 2012 and 2013.

    Its days come early while light and dark part where they should: turned to the east by 12 degrees they do not.
    """
    assert settled.clock is not None
    assert (settled.clock.moved_min, settled.clock.reason) == (-30, "azimuth")
    assert any("face further east" in str(line) for line in page(settled))
    folder, sky = files
    turned = {**GOLDEN, "arrays__0__azimuth_deg": 168.0}
    log = {**LOG, "weather": sky, "clock": "wall"}
    found = calibrate(scenario(folder, production_log=log, **turned))
    assert found.clock is not None
    assert found.clock.moved_min == 0
    assert found.clock.as_read.misfit < 0.02


@pytest.mark.published
def test_negative_production_at_night_is_the_inverter_s_own_consumption() -> None:
    """System 50 of the samples of pvanalytics (MIT), the file of 2012 and 2013.

    104 days of 15 minutes in the same package: 4,767 of 10,000 rows are below 0, down to -6.3533 W of 5.4 kW.
    """
    path = open_data(PVANALYTICS, "data/serf_east_15min_ac_power.csv")
    settled = MeterCsv(import_column="ac_power", unit="w", labels="start", clock="utc")
    readings = read_meter_csv(path, settled, "production")
    (note,) = [note for note in readings.notes if "below 0" in note]
    assert "4,767 of 10,000 values are below 0, down to -6.3533 W" in note
    watts = pd.read_csv(path)["ac_power"].to_numpy()
    assert readings.import_kwh.sum() == pytest.approx(watts[watts > 0].sum() / 4000, rel=1e-9)
    assert f"together {watts[watts < 0].sum() / 4000:.1f} kWh" in note
