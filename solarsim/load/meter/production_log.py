"""What a production log holds: the table of the scenario in, energy by interval, day or month out.

It is here because a log is read as a meter is: the same CSV, the same questions.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError
from solarsim.load.meter._hours import hours_from
from solarsim.load.meter.csv._cells import decimal_of, kind_of, numbers_from, split_stamp
from solarsim.load.meter.csv._checks import check_signs, own_consumption, own_consumption_note
from solarsim.load.meter.csv._columns import column_place, unit_of
from solarsim.load.meter.csv._order import FileLines
from solarsim.load.meter.csv._table import read_table
from solarsim.load.meter.csv._times import DAY_S, stamps_from
from solarsim.load.meter.csv._words import set_key
from solarsim.load.meter.csv.reader import read_meter_csv
from solarsim.load.meter.readings import Readings, named
from solarsim.scenario.load.meter import MeterCsv
from solarsim.scenario.model import Scenario
from solarsim.scenario.production_log import MeasuredProduction

_HOUR_S = 3600
_STUCK_HOURS = 72
_MINUTE = np.timedelta64(60, "s")


@dataclass(frozen=True, eq=False)
class Logged:
    """Energy that was logged, period by period, none of them twice.

    Attributes
    ----------
    every : str
        ``hour``, ``day`` or ``month``.
    start : array of datetime64[s]
        Start of each period in the site's standard time; of days and months by the calendar.
    kwh : array of float
        Energy of each period [kWh]; periods without a value are left out.
    readings : Readings or None
        The intervals that the hours were added up from, by the file's clock; None for days and months.
    notes : tuple of str
        What was found, repaired or is doubtful.
    """

    every: Literal["hour", "day", "month"]
    start: NDArray[np.datetime64]
    kwh: NDArray[np.float64]
    readings: Readings | None
    notes: tuple[str, ...]


def read_production_log(scenario: Scenario, log: MeasuredProduction, zone: str, utc_offset_h: float) -> Logged:
    """Read a production log.

    Parameters
    ----------
    scenario : Scenario
        Knows where its files are.
    log : MeasuredProduction
        Where the log is, and how to read it.
    zone : str
        IANA time zone of the site.
    utc_offset_h : float
        Its standard time minus UTC [h].

    Returns
    -------
    Logged
        In the order of time.

    Raises
    ------
    LoadError
        See ``read_meter_csv``; the clock would be moved by no whole number of intervals; a file of days has a day
        twice, a time of day or no unit; or every value is 0.
    """
    if log.file is None:
        found = _months(log.monthly_kwh or {})
        where = scenario.problem("production_log.monthly_kwh")
    else:
        path = scenario.file(log.file)
        where = str(path)
        settled = log.read_from(log.column or "")
        found = _days(path, settled) if log.every == "day" else _hours(path, settled, log, zone, utc_offset_h)
    if found.kwh.max() <= 0.0:
        raise LoadError(f"{where}: every value is 0: nothing was produced, or this is another column")
    return found


def _months(given: dict[str, float]) -> Logged:
    months = sorted(given)
    start = np.array(months, "datetime64[M]").astype("datetime64[s]")
    return Logged("month", start, np.array([given[month] for month in months]), None, ())


def _hours(path: Path, settled: MeterCsv, log: MeasuredProduction, zone: str, utc_offset_h: float) -> Logged:
    with _in_words_of_a_log(path):
        readings = read_meter_csv(path, settled, "production")
    ahead_min = log.clock_ahead_min or 0
    step_min = int(readings.duration_s[0]) // 60
    if ahead_min % step_min:
        raise LoadError(
            f"{path}: clock_ahead_min is {ahead_min}, must be a multiple of the log's interval of {step_min} min"
        )
    readings = replace(readings, start=readings.start - ahead_min * _MINUTE)
    with _in_words_of_a_log(path):
        hours = hours_from(readings, zone)
    known = ~np.isnan(hours.import_kwh)
    start = hours.start_utc[known] + np.timedelta64(round(utc_offset_h * _HOUR_S), "s")
    kwh = hours.import_kwh[known]
    return Logged("hour", start, kwh, readings, (*named(hours.notes, path), *_stuck(path, start, kwh)))


@contextmanager
def _in_words_of_a_log(path: Path) -> Iterator[None]:
    """Name the file in every problem, and the key by which a log names its column."""
    try:
        yield
    except LoadError as error:
        problems = [problem.replace("import_column", "column") for problem in named(error.problems, path)]
        raise LoadError(*(problem.partition("; if import and export")[0] for problem in problems)) from None


def _stuck(path: Path, start: NDArray[np.datetime64], kwh: NDArray[np.float64]) -> list[str]:
    """Return a note on a logger that repeats one value for days."""
    same = np.concatenate(([False], (np.diff(kwh) == 0) & (kwh[1:] > 0), [False]))
    edges = np.flatnonzero(np.diff(same.astype(np.int8)))
    runs = edges[1::2] - edges[::2]
    if not runs.size or runs.max() < _STUCK_HOURS:
        return []
    longest = int(runs.argmax())
    first = edges[2 * longest]
    return [
        f"{path}: the value is {kwh[first]:g} kWh for {runs[longest] + 1} hours from {start[first]}: a stuck logger"
    ]


def _days(path: Path, settled: MeterCsv) -> Logged:
    table = read_table(path, settled)
    name = settled.import_column or ""
    place = column_place(table, name, "column")
    if settled.time_columns is None:
        dates = next(p for p, cell in enumerate(table.rows[0]) if kind_of(cell.strip()) in ("date", "stamp"))
    else:
        dates = column_place(table, settled.time_columns[0], "time_columns")
    days = table.column(dates)
    midnights = None if any(split_stamp(day)[1] for day in days) else ["00:00"] * len(days)
    stamps = stamps_from(days, midnights, table.lines, path, settled)
    cells = table.column(place)
    kwh = numbers_from(cells, table.lines, name, decimal_of(cells, path, settled), path)
    unit = settled.unit or unit_of(table, place)
    if unit is None:
        raise LoadError(f"{path}: {name!r} has no unit" + set_key("unit", "kwh", "wh"))
    if unit in ("kw", "w"):
        raise LoadError(f"{path}: {name!r} is a power, but each row is a day" + set_key("unit", "kwh", "wh"))
    whole = ~np.isnan(kwh)
    if not whole.any():
        raise LoadError(f"{path}: no row has a value")
    second, kwh = stamps.local_s[whole], kwh[whole] * (1e-3 if unit == "wh" else 1.0)
    lines = [table.lines[row] for row in np.flatnonzero(whole).tolist()]
    drawn = own_consumption(kwh[:, None])
    kwh = kwh + drawn[:, 0]
    check_signs(kwh[:, None], (name,), FileLines(path, lines))
    order = np.argsort(second, kind="stable")
    second, kwh = second[order], kwh[order]
    if (second % DAY_S).any():
        raise LoadError(f'{path}: rows have a time of day, but every = "day"; remove that key for intervals')
    twice = np.flatnonzero(np.diff(second) == 0)
    if twice.size:
        day = np.datetime64(int(second[twice[0]]), "s").astype("datetime64[D]")
        raise LoadError(f"{path}: {day} appears twice; keep one row for each day")
    if kwh.size > 10 and (np.diff(kwh) >= 0).all():
        raise LoadError(f"{path}: {name!r} never falls, as a counter does; write each day's own energy")
    empty = int((~whole).sum())
    notes = [f"{path}: {empty} days have no value"] if empty else []
    if drawn.any():
        notes.append(f"{path}: {own_consumption_note(drawn, 'kWh', float(drawn.sum()))}")
    return Logged("day", second.astype("datetime64[s]"), kwh, None, tuple(notes))
