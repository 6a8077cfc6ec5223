"""The household's load on the timeline: the scenario in, kilowatts for each step out."""

import csv
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.errors import LoadError, file_bytes
from solarsim.load.appliances import house_load
from solarsim.load.bdew import h0_year_factor, read_h0, static_h0
from solarsim.load.meter import MOST_KW, MeterReport, meter_load
from solarsim.load.shapes import SHAPES, shape_weight, spread_months
from solarsim.scenario.csv_columns import numbers_from_csv
from solarsim.scenario.model import Scenario
from solarsim.weather.typical_year import Weather

_MINUTES = {8760: 60, 17520: 30, 35040: 15}


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
        load_kw, notes = read_load(scenario.file(load.file), timeline)
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


def read_load(path: Path, timeline: Timeline) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Read a CSV with a column ``load_kw``; of other columns only the first two of ``time`` are looked at.

    Parameters
    ----------
    path : pathlib.Path
        A row for each step, or 8,760 for the hours, in the order of time; the first begins at 00:00 on
        1 January in the site's standard time. Rows finer than the steps need a column ``time``, since they could
        also be several years of hours.
    timeline : Timeline
        The year.

    Returns
    -------
    array of float
        Mean power of each step [kW].
    tuple of str
        What was done where the rows are not the steps.

    Raises
    ------
    LoadError
        The file is missing, has another number of rows, or holds a value that is no load.
    """
    try:
        text = file_bytes(path, LoadError).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise LoadError(f"{path}: is not UTF-8 text (byte {error.start})") from None
    row_min = _minutes_told(text, path)
    load_kw = numbers_from_csv(text, path, ("load_kw",), LoadError)["load_kw"]
    wrong = np.flatnonzero((load_kw < 0) | (load_kw > MOST_KW))
    if wrong.size:
        raise LoadError(
            f"{path}: load_kw is {load_kw[wrong[0]]:g} in row {wrong[0] + 1}, must lie between 0 and {MOST_KW:g} kW"
        )
    return _on_steps(load_kw, row_min, timeline, path)


def _on_steps(
    load_kw: NDArray[np.float64], row_min: float | None, timeline: Timeline, path: Path
) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Take rows as they are, repeat hours, or take means of rows that are finer than the steps and say so."""
    steps, own_min = len(timeline), _MINUTES.get(load_kw.size)
    if own_min is not None and row_min not in (None, own_min):
        raise LoadError(
            f"{path}: has {load_kw.size} rows, {own_min} min each, but its times stand {row_min:g} min apart"
        )
    if load_kw.size == steps:
        return load_kw, ()
    if own_min == 60:
        note = f"{path}: each hour's load stands in all of its steps of {60 * timeline.step_h:g} minutes"
        return np.repeat(load_kw, steps // load_kw.size), (note,)
    if own_min is not None and row_min == own_min and load_kw.size > steps:
        note = f"{path}: rows of {own_min} minutes were averaged to the run's steps; site.step_minutes takes finer ones"
        return load_kw.reshape(steps, -1).mean(axis=1), (note,)
    finer = {17520: "half hours: site.step_minutes = 30", 35040: "quarter hours: site.step_minutes = 15"}
    hint = f"; these look like {finer[load_kw.size]} takes them as they are" if load_kw.size in finer else ""
    raise LoadError(f"{path}: has {load_kw.size} rows, the year has {steps} steps{hint}")


def _minutes_told(text: str, path: Path) -> float | None:
    """Tell how far apart the first two rows stand; refuse a file that says that it does not begin with the year."""
    begins = []
    for row in islice(csv.DictReader(text.splitlines()[:3]), 2):
        told = row.get("time") or ""
        try:
            begins.append(datetime.fromisoformat(told.strip()))
        except ValueError:
            return None  # no time, or none that says anything
        if len(begins) == 1 and (begins[0].month, begins[0].day, begins[0].hour) != (1, 1, 0):
            raise LoadError(f"{path}: line 2: time is {told!r}, must be the first hour of 1 January in standard time")
    try:
        apart_min = (begins[1] - begins[0]).total_seconds() / 60
    except (IndexError, TypeError):  # one row, or only one of the two with an offset
        return None
    return apart_min if apart_min in _MINUTES.values() else None
