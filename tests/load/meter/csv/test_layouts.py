"""Layouts as large utilities export them: what each leaves open, and that the rest is found.

Written from memory of such files; every value is made up.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from tests.load.meter.files import lines, read, starts, table, values

COUNT = 48


def each(write: Callable[[pd.Timestamp, pd.Timestamp], str], step: int = 60) -> list[str]:
    """Write start and end of each interval."""
    length = pd.Timedelta(minutes=step)
    return [write(start, start + length) for start in pd.date_range("2024-01-20", periods=COUNT, freq=length)]


def day_and_times(start: pd.Timestamp, end: pd.Timestamp) -> str:
    return f"Electric usage,{start:%Y-%m-%d},{start:%H:%M},{end - pd.Timedelta(minutes=1):%H:%M}"


def revised(start: pd.Timestamp, end: pd.Timestamp) -> str:
    return f"'10089010,{start:%m/%d/%Y},{start + pd.Timedelta(days=1):%m/%d/%Y} 05:34:12, {start:%H:%M}, {end:%H:%M}"


def quoted_period(start: pd.Timestamp, end: pd.Timestamp) -> str:
    return f'"{start:%Y-%m-%d %H:%M:%S}\u00a0to {end:%Y-%m-%d %H:%M:%S}"'


LAYOUTS: dict[str, tuple[str, dict[str, Any]]] = {
    "day, start and end to the minute, cost": (
        "Name,A B\nAddress,1 MAIN ST\nAccount Number,123\nService,Service 1\n\n"
        + table(
            "TYPE,DATE,START TIME,END TIME,USAGE (kWh),COST,NOTES",
            each(day_and_times),
            values(COUNT),
            ["$0.12"] * COUNT,
            [""] * COUNT,
        ),
        {"clock": "wall"},
    ),
    "unit in its column": (
        table(
            "TYPE,DATE,START TIME,END TIME,USAGE,UNITS,COST,NOTES",
            each(day_and_times),
            values(COUNT),
            ["kWh"] * COUNT,
            ["$0.12"] * COUNT,
            [""] * COUNT,
        ),
        {"clock": "wall"},
    ),
    "a revision date and a flag": (
        table(
            "ESIID,USAGE_DATE,REVISION_DATE,USAGE_START_TIME,USAGE_END_TIME,USAGE_KWH,ESTIMATED_ACTUAL,"
            "CONSUMPTION_SURPLUSGENERATION",
            each(revised),
            values(COUNT),
            ["A"] * COUNT,
            ["Consumption"] * COUNT,
        ),
        {"clock": "wall"},
    ),
    "a period in one cell": (
        lines("Energy usage information", "", "For location: 1 MAIN ST", "")
        + table(
            "Energy consumption time period,Usage(Real energy in kilowatt-hours),Reading quality",
            each(quoted_period),
            [f'"{value:.3f}"' for value in values(COUNT)],
            [""] * COUNT,
        ),
        {"clock": "wall"},
    ),
    "times of day as a period": (
        table(
            "Datum;Zeitraum;Verbrauch [kWh]",
            each(lambda start, end: f"{start:%d.%m.%Y};{start:%H:%M} - {end:%H:%M}", 15),
            [f"{value:.3f}".replace(".", ",") for value in values(COUNT)],
            delimiter=";",
        ),
        {"clock": "wall"},
    ),
    "consumption, generation and net": (
        table(
            "Meter Number,Date,Start Time,Duration,Consumption,Generation,Net",
            each(lambda start, _: f'00012,{start.month}/{start.day}/{start.year},"{start:%I:%M %p}",60'),
            values(COUNT),
            [0] * COUNT,
            values(COUNT),
        ),
        {"clock": "wall", "unit": "kwh"},
    ),
    "offsets after estimated cost": (
        table(
            "Consumption (kwh), Estimated Cost Inc. Tax (p), Standing Charge Inc. Tax (p), Start, End",
            [f"{value:.6f}" for value in values(COUNT)],
            ["1"] * COUNT,
            ["0.3"] * COUNT,
            each(lambda start, end: f" {start.isoformat()}+00:00, {end.isoformat()}+00:00", 30),
        ),
        {},
    ),
    "mean power with the end's offset": (
        lines("Identifiant PRM;Type de donnees;Date de debut;Date de fin", "0123;Courbe;01/01/2024;31/12/2024")
        + table(
            "Horodate;Valeur",
            each(lambda _, end: f"{end.isoformat()}+00:00", 30),
            [round(value * 2000) for value in values(COUNT)],
            delimiter=";",
        ),
        {"labels": "end", "unit": "w"},
    ),
    "an index without a name": (
        table(
            ",timestamp,kWh",
            [f"{row},{stamp}" for row, stamp in enumerate(each(lambda start, _: str(start)))],
            values(COUNT),
        ),
        {"clock": "utc", "labels": "start"},
    ),
    "a time without a name": (
        table(",kWh", each(lambda start, _: str(start)), values(COUNT)),
        {"clock": "utc", "labels": "start"},
    ),
}


@pytest.mark.parametrize("name", LAYOUTS)
def test_layouts_of_utilities(tmp_path: Path, name: str) -> None:
    text, settled = LAYOUTS[name]
    readings = read(tmp_path, text, **settled)
    assert starts(readings)[0] == "2024-01-20 00:00"
    assert readings.import_kwh.tolist() == pytest.approx(values(COUNT))
    assert readings.export_kwh.tolist() == [0.0] * COUNT
    assert not readings.estimated.any()
