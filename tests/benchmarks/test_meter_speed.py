"""The stated speed of reading a meter: a year of quarter hours as CSV, a year of hours as XML."""

from pathlib import Path

import pandas as pd
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.load.meter import read_green_button, read_meter_csv
from solarsim.scenario.load.meter import MeterCsv
from tests.benchmarks.yardstick import judged, median_of
from tests.load.meter.feeds import one_meter, reading

YEAR_S = 0.5
FEED_S = 1.0


def test_a_year_of_quarter_hours(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    stamps = pd.date_range("2025-01-01", "2026-01-01", freq="15min", inclusive="left").strftime("%d.%m.%Y %H:%M")
    path = tmp_path / "year.csv"
    rows = [f"{stamp};{row * 7919 % 1000 / 1000:.3f};0,000".replace(".", ",") for row, stamp in enumerate(stamps)]
    path.write_text("\n".join(["Von;Bezug kWh;Einspeisung kWh", *(row.replace(",", ".", 2) for row in rows)]))
    readings = benchmark(read_meter_csv, path, MeterCsv(clock="utc"))
    assert readings.import_kwh.size == 35_040
    if judged(benchmark):
        assert median_of(benchmark) < YEAR_S


def test_a_year_of_hourly_xml(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    path = tmp_path / "feed.xml"
    aside = "".join(f"<{name}>0</{name}>\n\t\t\t\t" for name in ("cost", "consumptionTier", "tou", "cpp") * 2)
    rows = (reading(hour, hour * 7919 % 1000, quality=17) for hour in range(8760))
    path.write_text(one_meter(*(row.replace("</IntervalReading>", f"{aside}</IntervalReading>") for row in rows)))
    assert path.stat().st_size > 3e6
    readings = benchmark(read_green_button, path)
    assert readings.import_kwh.size == 8760
    if judged(benchmark):
        assert median_of(benchmark) < FEED_S
