"""A load file of the user's own: a CSV with a column ``load_kw`` in, kilowatts of each step out."""

import csv
from datetime import datetime
from itertools import islice
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.errors import LoadError, file_bytes
from solarsim.load._limits import MOST_KW
from solarsim.scenario.csv_columns import numbers_from_csv

_MINUTES = {8760: 60, 17520: 30, 35040: 15}


def read_load(path: Path, timeline: Timeline) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Read a CSV with a column ``load_kw``, one row for each step or 8,760 for the hours, onto the timeline.

    The first row begins at 00:00 on 1 January in the site's standard time. Rows finer than the steps need a column
    ``time``, since they could also be several years of hours; only its first two cells are read.
    """
    try:
        text = file_bytes(path, LoadError).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise LoadError(f"{path}: is not UTF-8 text (byte {error.start})") from None
    row_min = _minutes_apart(text, path)
    load_kw = numbers_from_csv(text, path, ("load_kw",), LoadError)["load_kw"]
    wrong = np.flatnonzero((load_kw < 0) | (load_kw > MOST_KW))
    if wrong.size:
        raise LoadError(
            f"{path}: load_kw is {load_kw[wrong[0]]:g} in row {wrong[0] + 1}, must be from 0 to {MOST_KW:g} kW"
        )
    return _on_steps(load_kw, row_min, timeline, path)


def _on_steps(
    load_kw: NDArray[np.float64], row_min: float | None, timeline: Timeline, path: Path
) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Return rows as they are, hours repeated, or means of rows that are finer than the steps, with a note."""
    steps, own_min = len(timeline), _MINUTES.get(load_kw.size)
    if own_min is not None and row_min not in (None, own_min):
        raise LoadError(f"{path}: has {load_kw.size} rows, {own_min} min each, but its times are {row_min:g} min apart")
    if load_kw.size == steps:
        return load_kw, ()
    if own_min == 60:
        note = f"{path}: the load is constant within each hour, in steps of {60 * timeline.step_h:g} minutes"
        return np.repeat(load_kw, steps // load_kw.size), (note,)
    if own_min is not None and row_min == own_min and load_kw.size > steps:
        note = f"{path}: rows of {own_min} minutes were averaged to the steps of the run; see site.step_minutes"
        return load_kw.reshape(steps, -1).mean(axis=1), (note,)
    finer = {17520: "half hours; set site.step_minutes = 30", 35040: "quarter hours; set site.step_minutes = 15"}
    hint = f"; these look like {finer[load_kw.size]} to use them" if load_kw.size in finer else ""
    raise LoadError(f"{path}: has {load_kw.size} rows, the year has {steps} steps{hint}")


def _minutes_apart(text: str, path: Path) -> float | None:
    """Return how far apart the first two rows are; refuse a file whose first time is not the first hour of the year."""
    begins = []
    for row in islice(csv.DictReader(text.splitlines()[:3]), 2):
        text_of_time = row.get("time") or ""
        try:
            begins.append(datetime.fromisoformat(text_of_time.strip()))
        except ValueError:
            return None  # no time, or none that can be read
        if len(begins) == 1 and (begins[0].month, begins[0].day, begins[0].hour) != (1, 1, 0):
            raise LoadError(
                f"{path}: line 2: time is {text_of_time!r}, must be the first hour of 1 January in standard time"
            )
    try:
        apart_min = (begins[1] - begins[0]).total_seconds() / 60
    except (IndexError, TypeError):  # one row, or only one of the two with an offset
        return None
    return apart_min if apart_min in _MINUTES.values() else None
