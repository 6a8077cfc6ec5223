"""Checks of household load: one year of a real home as its utility gave it out, a Green Button feed."""

import numpy as np
import pandas as pd
import pytest

from solarsim.load.meter import Readings, read_green_button
from tests.open_data import JENDOBSON, open_data

pytestmark = pytest.mark.published

HOUR = np.timedelta64(1, "h")


@pytest.fixture(scope="module")
def year() -> Readings:
    """Read the sample that `jendobson.greenbutton` 0.0.1 (MIT) carries."""
    return read_green_button(open_data(JENDOBSON, "SDGEElectricIntervalDataFeb12011toJan312012.xml"))


def test_the_readings_sum_to_the_file_s_own_summary(year: Readings) -> None:
    """Sample file of the package jendobson.greenbutton (MIT): its own summary and readings.

    `ElectricPowerUsageSummary` at the end of the file states 5,089,595 Wh; the file holds 8,727 readings.
    """
    assert year.start.size == 8727
    assert set(year.duration_s.tolist()) == {3600}
    wh = np.rint(year.import_kwh * 1000).astype(np.int64)
    assert wh.sum() == 5_089_595
    assert (year.import_kwh == wh / 1000).all()
    assert not year.export_kwh.any()
    assert not year.estimated.any()


def test_months_by_the_wall_clock_of_the_home(year: Readings) -> None:
    """Sample file of the package jendobson.greenbutton (MIT): its own summary and readings.

    The published months are those of America/Los_Angeles, with daylight saving.

    Neither UTC nor Pacific standard or daylight time all year gives them: the file says so itself, its
    blocks begin at 00:00-08:00 in winter and at 00:00-07:00 in summer.
    """
    wall = pd.DatetimeIndex(year.start, tz="UTC").tz_convert("America/Los_Angeles")
    month_kwh = np.bincount(wall.month, year.import_kwh)[1:].round(3).tolist()
    february_to_december = [406.345, 432.895, 362.985, 394.290, 375.255, 411.060, 441.055, 384.265, 455.385, 466.335]
    assert month_kwh == [461.245, *february_to_december, 498.480]


def test_missing_hours_of_the_file_stay_missing(year: Readings) -> None:
    """Sample file of the package jendobson.greenbutton (MIT): its own summary and readings.

    8 hours of 2011-02-08 from 16:00 PST, and the second of the two hours from 01:00 on 2011-11-06.
    """
    missing = np.setdiff1d(np.arange(year.start[0], year.start[-1] + HOUR, HOUR), year.start)
    wall = pd.DatetimeIndex(missing, tz="UTC").tz_convert("America/Los_Angeles")
    evening = [f"2011-02-08T{hour:02d}:00:00-08:00" for hour in range(16, 24)]
    assert [each.isoformat() for each in wall] == [*evening, "2011-11-06T01:00:00-08:00"]


def test_what_the_file_does_not_state_is_reported(year: Readings) -> None:
    """Sample file of the package jendobson.greenbutton (MIT): its own summary and readings.

    FlowDirection 0, no local time parameters; the sums agree, so of them nothing.
    """
    assert [note.partition(".xml: ")[2].partition(";")[0] for note in year.notes] == [
        "states no flow direction",
        "states no local time",
    ]
    assert year.clock == "utc"
