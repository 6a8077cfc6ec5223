"""Meter files for tests: lines as utilities write them, and what is settled where a test is about something else."""

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from solarsim.load.meter import Readings, read_meter_csv
from solarsim.scenario.load.meter import MeterCsv

#: What a file of one stamp and one value leaves open.
ALL: dict[str, Any] = {"clock": "utc", "labels": "start", "unit": "kwh"}


def written(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    """Put a file on the disk."""
    path = folder / "meter.csv"
    path.write_bytes(text.encode(encoding))
    return path


def read(folder: Path, text: str, encoding: str = "utf-8", **settled: Any) -> Readings:
    """Read a text as a file."""
    return read_meter_csv(written(folder, text, encoding), MeterCsv(**settled))


def lines(*rows: str) -> str:
    """Put lines together."""
    return "\n".join(rows) + "\n"


def values(count: int) -> list[float]:
    """Make readings that rise and fall: no register."""
    return [0.1 + 0.05 * (row % 7) for row in range(count)]


def hours(
    count: int = 30, start: str = "2024-01-20T00:00", step: int = 60, write: Callable[[pd.Timestamp], str] = str
) -> list[str]:
    """Stamps one step [min] apart."""
    return [write(each) for each in pd.date_range(start, periods=count, freq=f"{step}min")]


def table(head: str, stamps: Iterable[str], *columns: Iterable[object], delimiter: str = ",") -> str:
    """One line for each reading under a line of names."""
    rows = zip(stamps, *columns, strict=True)
    return lines(head, *(delimiter.join(str(cell) for cell in row) for row in rows))


def plain(count: int = 30, step: int = 60, head: str = "Start,kWh") -> str:
    """Write a file that only leaves its clock open."""
    return table(head, hours(count, step=step), values(count))


def wall(zone: str, start: str, days: int, step: int = 60) -> list[str]:
    """List what a clock on the wall shows at the start of each interval."""
    first, last = (
        (pd.Timestamp(start) + pd.Timedelta(days=day)).tz_localize(zone, ambiguous=True, nonexistent="shift_forward")
        for day in (0, days)
    )
    stamps = pd.date_range(first, last, freq=f"{step}min", inclusive="left")
    return [each.strftime("%Y-%m-%d %H:%M") for each in stamps]


def starts(readings: Readings) -> list[str]:
    """Give the starts as text, to the minute."""
    return [str(each).replace("T", " ")[:16] for each in np.asarray(readings.start, "datetime64[m]")]


def told(readings: Readings, part: str) -> bool:
    """Whether a note says so."""
    return any(part in note for note in readings.notes)


def dotted(*dates: str) -> list[str]:
    """List all hours of days as they are written."""
    return [f"{date} {hour:02d}:00" for date in dates for hour in range(24)]


#: Thirty hours and their readings.
H = hours()
V = values(30)
