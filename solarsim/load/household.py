"""The household's load on the timeline: the scenario in, kilowatts for each step out."""

import csv
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from solarsim.load.appliances import house_load
from solarsim.load.bdew import h0_year_factor, read_h0, static_h0
from solarsim.load.meter.report import MeterReport
from solarsim.load.meter.source import meter_load
from solarsim.load.meter.typical import MOST_KW
from solarsim.load.shapes import SHAPES, shape_weight, spread_months
from solarsim.scenario.csv_columns import numbers_from_csv
from solarsim.scenario.errors import LoadError, file_bytes
from solarsim.scenario.model import Scenario
from solarsim.scenario.timeline import Timeline
from solarsim.weather.typical_year import Weather


@dataclass(frozen=True, eq=False)
class Household:
    """The home's load, and what a person should know of where it comes from.

    Attributes
    ----------
    load_kw : array of float
        Mean power of each step [kW].
    critical_kw : array of float
        That of what stays on in an outage [kW]: critical parts, and the stated share of the rest.
    kw_by_part : dict of str to array of float
        The load of each part of the house by its name [kW], after all that has no part of its own.
    meter : MeterReport or None
        What was read from a meter's file.
    notes : tuple of str
        What was found, filled or doubted in a meter's file; what a part of the house did not get.
    """

    load_kw: NDArray[np.float64]
    critical_kw: NDArray[np.float64]
    kw_by_part: dict[str, NDArray[np.float64]]
    meter: MeterReport | None
    notes: tuple[str, ...]


def household_load(scenario: Scenario, timeline: Timeline, weather: Weather) -> Household:
    """Give the home's load in each step.

    Parameters
    ----------
    scenario : Scenario
        A load file, a meter's file, or monthly kWh and a shape; parts of the house are added.
    timeline : Timeline
        The year.
    weather : Weather
        On the timeline: temperature drives heating and cooling, the latitude tells when it is summer.

    Returns
    -------
    Household
        Source and parts added up.

    Raises
    ------
    LoadError
        A file is wrong.
    ScenarioError
        A part of the house cannot be meant.
    """
    load = scenario.load
    load_kw = np.zeros(len(timeline))
    kw_by_part: dict[str, NDArray[np.float64]] = {}
    meter: MeterReport | None = None
    notes: tuple[str, ...] = ()
    if load.file is not None:
        load_kw = read_load(scenario.file(load.file), timeline)
    elif load.meter is not None:
        read = meter_load(scenario, load.meter, timeline)
        load_kw, meter, notes = read.load_kw, read.report, (*read.report.warnings, *read.report.notes)
    elif load.shape is not None:
        load_kw = _from_bills(scenario, timeline, weather.latitude_deg)
    critical_kw = load_kw * (load.critical_share or 0.0)
    if load.parts is not None:
        house = house_load(load.parts, timeline, weather)
        if load_kw.any():
            kw_by_part["all else"] = load_kw
        kw_by_part |= house.kw_by_part
        load_kw, critical_kw = load_kw + house.load_kw, critical_kw + house.critical_kw
        notes = (*notes, *house.notes)
    return Household(load_kw, critical_kw, kw_by_part, meter, notes)


def _from_bills(scenario: Scenario, timeline: Timeline, latitude_deg: float) -> NDArray[np.float64]:
    """Spread months or a year by the shape that the scenario names."""
    load = scenario.load
    if load.shape_file is not None:
        weight = static_h0(read_h0(scenario.file(load.shape_file)), timeline) * h0_year_factor(timeline)
    else:
        weight = shape_weight(SHAPES[str(load.shape)], timeline, latitude_deg)
    if load.monthly_kwh is not None:
        return spread_months(np.array(load.monthly_kwh, np.float64), weight, timeline)
    return np.asarray(weight * ((load.annual_kwh or 0.0) / (weight.sum() * timeline.step_h)), np.float64)


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
    wrong = np.flatnonzero((load_kw < 0) | (load_kw > MOST_KW))
    if wrong.size:
        raise LoadError(
            f"{path}: load_kw is {load_kw[wrong[0]]:g} in row {wrong[0] + 1}, must lie between 0 and {MOST_KW:g} kW"
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
