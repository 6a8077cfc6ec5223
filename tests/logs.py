"""Logs of production for tests: hours of the plain home's own model in, the CSV of a logger out."""

from math import isnan
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from solarsim.scenario.model import Scenario
from solarsim.studies.calibrate._expected import ExpectedYear, expected_year
from tests.builders import scenario

Floats = NDArray[np.float64]
LOG: dict[str, Any] = {"file": "log.csv", "column": "kWh", "labels": "start", "side": "ac"}
#: A year without a 29 February, in the plain home's standard time.
START: NDArray[np.datetime64] = np.datetime64("2025-01-01T00:00:00", "s") + np.arange(8760) * np.timedelta64(3600, "s")


def logged(folder: Path, log: dict[str, Any] | None = None, **changes: Any) -> Scenario:
    """Validate the plain home with a log in ``folder``."""
    return scenario(folder, production_log=LOG if log is None else log, **changes)


def model(folder: Path, log: dict[str, Any] | None = None, **changes: Any) -> ExpectedYear:
    """Compute what the plain home expects under its typical year."""
    home = logged(folder, log, **changes)
    assert home.production_log is not None
    return expected_year(home, home.production_log, home.site.calendar_year, home.weather)


def write_hours(path: Path, kwh: Floats, ahead_min: int = 0, stamp: str = "-05:00") -> None:
    """Write hours of 2025, their clock so far ahead of standard time, with what stands behind each time."""
    times = np.datetime_as_string(START + np.timedelta64(ahead_min, "m"), unit="m").tolist()
    rows = [f"{time}{stamp},{value:.6f}" for time, value in zip(times, kwh.tolist(), strict=True) if not isnan(value)]
    path.write_text("\n".join(["time,kWh", *rows]) + "\n")


def write_days(path: Path, kwh: Floats) -> None:
    """Write its days."""
    days = np.arange("2025-01-01", "2026-01-01", dtype="datetime64[D]").astype(str).tolist()
    rows = [f"{day},{value:.6f}" for day, value in zip(days, kwh.reshape(365, 24).sum(axis=1).tolist(), strict=True)]
    path.write_text("\n".join(["date,kWh", *rows]) + "\n")


def months_of(kwh: Floats, year: int = 2025) -> dict[str, float]:
    """Give its months as the scenario takes them."""
    sums = np.bincount(START.astype("datetime64[M]").astype(np.int64) % 12, kwh)
    return {f"{year}-{month:02d}": float(value) for month, value in enumerate(sums, start=1)}
