"""The household's load on the timeline: the scenario in, kilowatts for each step out."""

import csv
from datetime import datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from solarsim.load.shapes import SHAPES, season_of
from solarsim.scenario.csv_columns import numbers_from_csv
from solarsim.scenario.errors import LoadError, file_bytes
from solarsim.scenario.model import Scenario
from solarsim.scenario.timeline import DAY_KINDS, Timeline

_MOST_KW = 200.0


def household_load(scenario: Scenario, timeline: Timeline, latitude_deg: float) -> NDArray[np.float64]:
    """Give the home's load in each step.

    Parameters
    ----------
    scenario : Scenario
        A load file, or monthly kWh and a shape.
    timeline : Timeline
        The year.
    latitude_deg : float
        Tells when it is summer [deg].

    Returns
    -------
    array of float
        Mean power of each step [kW].

    Raises
    ------
    LoadError
        The file is wrong.
    """
    if scenario.load.file is not None:
        return read_load(scenario.file(scenario.load.file), timeline)
    monthly_kwh = np.array(scenario.load.monthly_kwh, np.float64)
    return load_from_months(monthly_kwh, SHAPES[str(scenario.load.shape)], timeline, latitude_deg)


def load_from_months(
    monthly_kwh: NDArray[np.float64], shape: NDArray[np.float64], timeline: Timeline, latitude_deg: float
) -> NDArray[np.float64]:
    """Spread twelve monthly sums over the hours; each month keeps its sum exactly.

    Parameters
    ----------
    monthly_kwh : array of float
        January to December, by the wall clock as bills are [kWh].
    shape : array of float
        Relative weights, by weekday or free day (weekend, holiday), season and wall-clock hour.
    timeline : Timeline
        The year.
    latitude_deg : float
        Tells when it is summer [deg].

    Returns
    -------
    array of float
        Mean power of each step [kW].
    """
    free_day = (timeline.day_kind != DAY_KINDS.index("weekday")).astype(np.int64)
    weight = shape[free_day, season_of(timeline.month, latitude_deg), timeline.minute_of_day // 60]
    month = timeline.month - 1
    weight_h = np.bincount(month, weight, minlength=12) * timeline.step_h
    return np.asarray(weight * (monthly_kwh / weight_h)[month], np.float64)


def read_load(path: Path, timeline: Timeline) -> NDArray[np.float64]:
    """Read an hourly CSV with a column ``load_kw``; of other columns only the first ``time`` is looked at.

    Parameters
    ----------
    path : pathlib.Path
        8,760 rows in the order of time; the first is the hour from 00:00 on 1 January in the
        site's standard time.
    timeline : Timeline
        The year.

    Returns
    -------
    array of float
        Mean power of each step [kW].

    Raises
    ------
    LoadError
        The file is missing, has another number of rows, or holds a value that is no load.
    """
    try:
        text = file_bytes(path, LoadError).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise LoadError(f"{path}: is not UTF-8 text (byte {error.start})") from None
    _check_begin(text, path)
    load_kw = numbers_from_csv(text, path, ("load_kw",), LoadError)["load_kw"]
    if load_kw.size != len(timeline):
        finer = {2 * len(timeline): "half", 4 * len(timeline): "quarter"}.get(load_kw.size)
        hint = "" if finer is None else f"; these look like {finer} hours: take the mean of each hour"
        raise LoadError(f"{path}: has {load_kw.size} rows, the year has {len(timeline)} steps{hint}")
    wrong = np.flatnonzero((load_kw < 0) | (load_kw > _MOST_KW))
    if wrong.size:
        raise LoadError(
            f"{path}: load_kw is {load_kw[wrong[0]]:g} in row {wrong[0] + 1}, must lie between 0 and {_MOST_KW:g} kW"
        )
    return load_kw


def _check_begin(text: str, path: Path) -> None:
    """Refuse a file that says itself that it does not begin with the year."""
    first = next(csv.DictReader(text.splitlines()[:2]), {}).get("time") or ""
    try:
        begin = datetime.fromisoformat(first.strip())
    except ValueError:
        return  # no time, or none that says anything
    if (begin.month, begin.day, begin.hour) != (1, 1, 0):
        raise LoadError(f"{path}: line 2: time is {first!r}, must be the first hour of 1 January in standard time")
