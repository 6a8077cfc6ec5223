"""Two real homes from open data: their hours, their sums, and their year on a calendar."""

import gzip
import re

import numpy as np
import pytest

from solarsim.load.meter import Hole, MeterHours, hours_from, load_from_meter
from tests.builders import timeline
from tests.load.meter.series import readings, wall_of
from tests.open_data import EEMETER, JENDOBSON, open_data

LOS_ANGELES, LONDON = "America/Los_Angeles", "Europe/London"
# Sums of the file's own readings by month, February 2011 to January 2012
MONTHS_KWH = [
    406.345,
    432.895,
    362.985,
    394.290,
    375.255,
    411.060,
    441.055,
    384.265,
    455.385,
    466.335,
    498.480,
    461.245,
]


@pytest.fixture(scope="module")
def san_diego() -> MeterHours:
    path = open_data(JENDOBSON, "SDGEElectricIntervalDataFeb12011toJan312012.xml")
    found = re.findall(
        r"<duration>(3600)</duration>\s*<start>(\d+)</start>\s*</timePeriod>\s*<value>(\d+)</value>", path.read_text()
    )
    _, start_s, wh = np.array(found, np.int64).T
    return hours_from(readings(start_s.astype("datetime64[s]"), wh / 1000), LOS_ANGELES)


@pytest.fixture(scope="module")
def british() -> MeterHours:
    path = open_data(EEMETER, "uk-electricity-hdd-only-hourly-sample-0.csv.gz")
    with gzip.open(path, "rt") as file:
        rows = [line.strip().split(",") for line in file][1:]
    start = [row[0][:19].replace(" ", "T") for row in rows]
    return hours_from(readings(start, [float(row[1]) for row in rows]), LONDON)


@pytest.mark.published
def test_san_diego_home_keeps_its_months_and_gaps(san_diego: MeterHours) -> None:
    """Sample file of the package jendobson.greenbutton (MIT): its own summary and readings.

    8,727 readings, 5,089.595 kWh; 8 hours missing on 8 February, 1 at the change of clocks.
    """
    assert np.isfinite(san_diego.import_kwh).sum() == 8727
    assert np.nansum(san_diego.import_kwh) == pytest.approx(5089.595, abs=1e-9)
    month = wall_of(san_diego).astype("datetime64[M]")
    sums = [np.nansum(san_diego.import_kwh[month == each]) for each in np.unique(month)]
    assert sums == pytest.approx(MONTHS_KWH, abs=1e-9)
    assert san_diego.holes == (Hole("2011-02-08 16:00 PST", 8), Hole("2011-11-06 01:00 PST", 1))


def test_san_diego_home_on_a_calendar(san_diego: MeterHours) -> None:
    """The file ends with 30 January 2012: 364 whole days, and 9 hours to fill."""
    got = load_from_meter(san_diego, timeline(LOS_ANGELES, 2026))
    report = got.report
    assert (str(report.first_day), str(report.last_day), report.hours) == ("2011-02-01", "2012-01-30", 24 * 364)
    assert report.hours_read == 24 * 364 - 9
    assert report.warnings == ()
    assert np.isfinite(got.load_kw).all()
    assert got.load_kw.min() >= 0
    assert report.laid_kwh == pytest.approx(report.read_kwh, rel=0.01)  # one day more, 9 hours filled


@pytest.mark.published
def test_british_home_of_2021_keeps_its_energy(british: MeterHours) -> None:
    """Sample file of the package eemeter (Apache-2.0).

    2021 is complete with 8,760 hours and 1,403.2 kWh; London's wall-clock year is that of UTC.
    """
    chosen = british.start_utc.astype("datetime64[Y]") == np.datetime64("2021")
    year = MeterHours(
        zone=LONDON,
        start_utc=british.start_utc[chosen],
        import_kwh=british.import_kwh[chosen],
        export_kwh=british.export_kwh[chosen],
        estimated_share=british.estimated_share[chosen],
        holes=(),
        dropped_import_kwh=0.0,
        dropped_export_kwh=0.0,
    )
    got = load_from_meter(year, timeline(LONDON, 2021))
    assert got.load_kw.size == 8760
    assert got.report.laid_kwh == pytest.approx(1403.2, abs=0.05)
    np.testing.assert_array_equal(got.load_kw, year.import_kwh)


def test_british_home_gives_its_latest_year(british: MeterHours) -> None:
    report = load_from_meter(british, timeline(LONDON, 2026)).report
    assert (str(report.first_day), str(report.last_day)) == ("2021-12-06", "2022-12-05")
    assert report.notes[0].startswith("The meter has 980 days; the latest year of whole days is used")
