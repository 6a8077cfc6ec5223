"""Checks of meter CSVs: open data of real homes.

Data of ``eemeter`` 4.1.1 (Apache-2.0), United Kingdom: one time and one value for each interval.
"""

import gzip
from pathlib import Path

import numpy as np
import pytest

from solarsim.errors import LoadError
from solarsim.load.meter import Readings, read_meter_csv
from solarsim.scenario.load.meter import MeterCsv
from tests.open_data import EEMETER, open_data

HOURLY = "uk-electricity-hdd-only-hourly-sample-0.csv.gz"


def unpacked(folder: Path, name: str) -> Path:
    path = folder / name.removesuffix(".gz")
    path.write_bytes(gzip.decompress(open_data(EEMETER, f"eemeter/samples/{name}").read_bytes()))
    return path


def of_2021(readings: Readings) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    year = readings.start.astype("datetime64[Y]") == np.datetime64("2021")
    return np.asarray(readings.import_kwh[year], np.float64)


@pytest.mark.published
def test_a_year_of_a_home_has_its_hours_and_sum(tmp_path: Path) -> None:
    """Sample file of the package eemeter (Apache-2.0): 2021.

    2021 complete, 8,760 h, 1,403.2 kWh (one digit printed).
    """
    readings = read_meter_csv(unpacked(tmp_path, HOURLY), MeterCsv(unit="kwh"))
    assert of_2021(readings).size == 8760
    assert of_2021(readings).sum() == pytest.approx(1403.2, abs=0.05)
    assert readings.clock == "utc"
    assert set(readings.duration_s.tolist()) == {3600}
    assert readings.start[0] == np.datetime64("2020-04-01T01:00")


def test_its_unit_is_told_nowhere(tmp_path: Path) -> None:
    with pytest.raises(LoadError, match=r"'value' has no unit; set unit"):
        read_meter_csv(unpacked(tmp_path, HOURLY), MeterCsv())


@pytest.mark.parametrize(("sample", "rows"), [(1, 22536), (2, 35468)])
def test_half_hours_without_an_offset_ask_for_their_clock(tmp_path: Path, sample: int, rows: int) -> None:
    """Their clock is told by no offset and no clock change; rows that stand twice are identical."""
    path = unpacked(tmp_path, f"uk-electricity-hdd-only-hourly-sample-{sample}.csv.gz")
    with pytest.raises(LoadError, match=r"clock = "):
        read_meter_csv(path, MeterCsv(unit="kwh"))
    readings = read_meter_csv(path, MeterCsv(unit="kwh", clock="utc"))
    assert set(readings.duration_s.tolist()) == {1800}
    twice = rows - readings.import_kwh.size
    assert any(f"{twice} of {rows} rows repeat the time and values of another" in note for note in readings.notes)
