"""The household's load on the timeline: the scenario in, kilowatts for each step out."""

import csv
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.load.appliances import house_load
from solarsim.load.meter.green_button import read_green_button
from solarsim.load.meter.hours import hours_from
from solarsim.load.meter.typical import load_from_meter
from solarsim.load.shapes import SHAPES, load_from_months
from solarsim.scenario.csv_columns import numbers_from_csv
from solarsim.scenario.errors import LoadError, file_bytes
from solarsim.scenario.model import Scenario
from solarsim.scenario.timeline import Timeline
from solarsim.weather.typical_year import Weather

_MOST_KW = 200.0


class Household(NamedTuple):
    """The home's load, and what a person should know of where it comes from.

    Attributes
    ----------
    load_kw : array of float
        Mean power of each step [kW].
    notes : tuple of str
        What was found, filled or doubted in a meter's file; what a part of the house did not get.
    """

    load_kw: NDArray[np.float64]
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
    notes: tuple[str, ...] = ()
    if load.file is not None:
        load_kw = read_load(scenario.file(load.file), timeline)
    elif load.green_button is not None:
        path = scenario.file(load.green_button)
        meter = load_from_meter(hours_from(read_green_button(path), timeline.zone), timeline)
        load_kw = meter.load_kw
        told = (*meter.report.warnings, *meter.report.notes)
        notes = tuple(note if note.startswith(f"{path}: ") else f"{path}: {note}" for note in told)
    elif load.monthly_kwh is not None:
        monthly_kwh = np.array(load.monthly_kwh, np.float64)
        load_kw = load_from_months(monthly_kwh, SHAPES[str(load.shape)], timeline, weather.latitude_deg)
    if load.parts is not None:
        house = house_load(load.parts, timeline, weather)
        load_kw, notes = load_kw + house.load_kw, (*notes, *house.notes)
    return Household(load_kw, notes)


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
