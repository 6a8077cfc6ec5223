"""The stated speed of reading a year of quarter hours."""

from pathlib import Path

import pandas as pd
from pytest_benchmark.fixture import BenchmarkFixture

from solarsim.load.meter.meter_csv import read_meter_csv
from solarsim.scenario.meter import MeterCsv
from tests.benchmarks.test_speed import judged, median_of

YEAR_S = 0.5


def test_a_year_of_quarter_hours(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    stamps = pd.date_range("2025-01-01", "2026-01-01", freq="15min", inclusive="left").strftime("%d.%m.%Y %H:%M")
    path = tmp_path / "year.csv"
    rows = [f"{stamp};{row * 7919 % 1000 / 1000:.3f};0,000".replace(".", ",") for row, stamp in enumerate(stamps)]
    path.write_text("\n".join(["Von;Bezug kWh;Einspeisung kWh", *(row.replace(",", ".", 2) for row in rows)]))
    readings = benchmark(read_meter_csv, path, MeterCsv(clock="utc"))
    assert readings.import_kwh.size == 35_040
    if judged(benchmark):
        assert median_of(benchmark) < YEAR_S
