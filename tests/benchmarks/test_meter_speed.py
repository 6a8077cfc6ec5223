"""The stated speed of reading a meter: a year of quarter hours as CSV, a year of hours as XML."""

from pathlib import Path
from xml.etree import ElementTree

import pandas as pd
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.load.meter import read_green_button, read_meter_csv
from solarsim.scenario.load.meter import MeterCsv
from tests.benchmarks.yardstick import assert_ratio
from tests.load.meter.feeds import one_meter, reading

#: Against pandas' own reading of the same CSV; the reader also finds columns, order of dates, clock and unit.
YEAR_RATIO = 2.5
#: Against the standard library's parser, which builds a tree of the same XML and reads none of its numbers.
FEED_RATIO = 2.5


def test_a_year_of_quarter_hours(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    stamps = pd.date_range("2025-01-01", "2026-01-01", freq="15min", inclusive="left").strftime("%d.%m.%Y %H:%M")
    path = tmp_path / "year.csv"
    rows = [f"{stamp};{row * 7919 % 1000 / 1000:.3f};0,000".replace(".", ",") for row, stamp in enumerate(stamps)]
    path.write_text("\n".join(["Von;Bezug kWh;Einspeisung kWh", *(row.replace(",", ".", 2) for row in rows)]))
    settled = MeterCsv(clock="utc")
    assert read_meter_csv(path, settled).import_kwh.size == 35_040

    def by_pandas() -> pd.DataFrame:
        return pd.read_csv(path, sep=";", decimal=",", parse_dates=["Von"], date_format="%d.%m.%Y %H:%M")

    assert_ratio(benchmark, lambda: read_meter_csv(path, settled), by_pandas, YEAR_RATIO)


def test_a_year_of_hourly_xml(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    path = tmp_path / "feed.xml"
    aside = "".join(f"<{name}>0</{name}>\n\t\t\t\t" for name in ("cost", "consumptionTier", "tou", "cpp") * 2)
    rows = (reading(hour, hour * 7919 % 1000, quality=17) for hour in range(8760))
    path.write_text(one_meter(*(row.replace("</IntervalReading>", f"{aside}</IntervalReading>") for row in rows)))
    assert path.stat().st_size > 3e6
    assert read_green_button(path).import_kwh.size == 8760
    assert_ratio(benchmark, lambda: read_green_button(path), lambda: ElementTree.parse(path), FEED_RATIO)  # noqa: S314  our own file
