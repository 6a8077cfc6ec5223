"""Readings in the order of time: stamps as they are in the file in, rows to keep, step and clock changes out.

A wall clock shows one hour twice in fall and skips one in spring. Both hours of the pair are kept, the earlier first;
any other row that appears twice is dropped where it is identical.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError
from solarsim.load.meter.csv._words import set_key

HOUR_S = 3600
_CHANGES_S = (HOUR_S, HOUR_S // 2)  # half an hour on Lord Howe Island
_DAY_S = 86400
_WEEK_S = 7 * _DAY_S
_SATURDAY_22_S = 2 * _DAY_S + 22 * HOUR_S  # since Thursday 00:00, where the count of seconds begins
_SUNDAY_4_S = _SATURDAY_22_S + 6 * HOUR_S
# When clocks go back or forward anywhere, as month x 100 + day: north and south of the equator
_BACK = ((920, 1107), (315, 410))
_FORWARD = ((308, 410), (901, 1010))

_Integers = NDArray[np.int64]
_Runs = list[tuple[int, int]]  # hours that appear twice: first stamp and length [s]


class FileLines(NamedTuple):
    """A file, and the line of each row in it, for messages."""

    path: Path
    lines: list[int]

    def line(self, row: int) -> str:
        """Return the place of a row."""
        return f"{self.path}: line {self.lines[row]}"


@dataclass(frozen=True, eq=False)
class TimeOrder:
    """Rows in the order of time, the step [s], and first stamps of hours doubled or missing by clock changes [s]."""

    rows: _Integers
    step_s: int
    doubled_s: tuple[int, ...]
    missing_s: tuple[int, ...]
    shows_clock_changes: bool
    notes: tuple[str, ...]


def order_of(
    stamp_s: _Integers, energy: NDArray[np.float64], clock: Literal["utc", "wall"] | None, file: FileLines
) -> TimeOrder:
    """Sort the rows of ``energy`` by their stamps; ``clock`` is None where it is not known."""
    notes = []
    steps_s = np.diff(stamp_s)
    rows = np.arange(stamp_s.size)
    if np.count_nonzero(steps_s < 0) > np.count_nonzero(steps_s > 0):
        rows = rows[::-1]
        notes.append("the newest reading comes first; the order was reversed")
    file_place = np.argsort(rows)
    rows = rows[np.argsort(stamp_s[rows], kind="stable")]
    step_s = _step(stamp_s, rows, file)

    runs: _Runs = []
    times = np.unique(stamp_s)
    if times.size < rows.size:
        runs = _hours_going_back(rows, stamp_s, energy, step_s, clock)
        before = rows.size
        rows = _without_repeats(rows, stamp_s, energy, runs)
        if rows.size < before:
            notes.append(f"{before - rows.size} of {before} rows repeat the time and values of another; skipped")
        runs = _hours_going_back(rows, stamp_s, energy, step_s, clock)
        _check_no_two(rows, stamp_s, runs, clock, file)
    parted = _earlier_hour_first(rows, stamp_s, runs)
    if all((np.diff(file_place[each]) < 0).any() for each in (rows, parted)):
        notes.append("rows were not in the order of time; they were sorted")
    changes_s = _CHANGES_S if clock == "wall" else (HOUR_S,)
    gaps = [int(time) for time in times[:-1][np.isin(np.diff(times) - step_s, changes_s)] + step_s]
    missing = [time for time in gaps if _may_change(time, _FORWARD, clock)]
    return TimeOrder(
        rows=parted,
        step_s=step_s,
        doubled_s=tuple(start for start, _ in runs),
        missing_s=tuple(missing),
        shows_clock_changes=bool(runs) or 0 < len(missing) == len(gaps),
        notes=tuple(notes),
    )


def _step(stamp_s: _Integers, rows: _Integers, file: FileLines) -> int:
    """Return the one step of a file [s]."""
    ordered = stamp_s[rows]
    first = np.flatnonzero(np.diff(ordered, prepend=ordered[0] - 1))  # the first row of each time
    gap_s = np.diff(ordered[first])
    if gap_s.size == 0:
        raise LoadError(f"{file.line(int(rows[0]))} has the only time in the file; a whole year of readings is needed")
    lengths, counts = np.unique(gap_s, return_counts=True)
    step_s = int(lengths[counts.argmax()])
    if step_s < 60 or HOUR_S % step_s:
        at = int(rows[first[1 + np.flatnonzero(gap_s == step_s)[0]]])
        raise LoadError(
            f"{file.line(at)} is {length(step_s)} after the reading before, as most are; the interval must be an hour"
            " or a whole part of it"
        )
    odd = gap_s % step_s != 0
    coarse = (gap_s[3:] > step_s) & (gap_s[3:] == gap_s[2:-1]) & (gap_s[3:] == gap_s[1:-2]) & (gap_s[3:] == gap_s[:-3])
    odd[: coarse.size] |= coarse
    if odd.any():
        place = int(odd.argmax())
        raise LoadError(
            f"{file.line(int(rows[first[place + 1]]))} is {length(int(gap_s[place]))} after the reading before,"
            f" most are {length(step_s)}; ask the utility for a file with one interval length"
        )
    return step_s


def length(seconds: int) -> str:
    """Return a length of time such as ``15 min`` or ``24 h``."""
    if seconds % HOUR_S == 0 and seconds > HOUR_S:
        return f"{seconds // HOUR_S} h"
    return f"{seconds // 60} min" if seconds % 60 == 0 else f"{seconds} s"


def when(stamp_s: int) -> str:
    """Return a stamp such as ``2026-07-04 13:45``."""
    return str(np.datetime64(stamp_s, "s").astype("datetime64[m]")).replace("T", " ")


def _may_change(stamp_s: int, seasons: tuple[tuple[int, int], ...], clock: str | None) -> bool:
    """Return whether clocks may change then; where the clock is not known, only on the usual night."""
    day = np.datetime64(stamp_s, "s").astype("datetime64[D]").item()
    in_season = any(first <= day.month * 100 + day.day <= last for first, last in seasons)
    return in_season and (clock is not None or _on_a_weekend_night(stamp_s))


def _on_a_weekend_night(stamp_s: int) -> bool:
    return _SATURDAY_22_S <= stamp_s % _WEEK_S <= _SUNDAY_4_S


def _hours_going_back(
    rows: _Integers, stamp_s: _Integers, energy: NDArray[np.float64], step_s: int, clock: str | None
) -> _Runs:
    """Return hours that appear twice, whole and alone.

    Where the clock is not known, a row that repeats another is no clock change: real files have them.
    """
    if clock == "utc":
        return []
    times, first, counts = np.unique(stamp_s[rows], return_index=True, return_counts=True)
    first = first[counts == 2]
    twice_s = times[counts == 2]
    differs = (energy[rows[first]] != energy[rows[first + 1]]).any(axis=1)
    runs = np.split(np.arange(twice_s.size), np.flatnonzero(np.diff(twice_s) != step_s) + 1)
    found = []
    for run in runs if twice_s.size else []:
        start, run_s = int(twice_s[run[0]]), run.size * step_s
        alike_but_likely = clock == "wall" and run_s == HOUR_S and _on_a_weekend_night(start)
        if (
            run_s in (_CHANGES_S if clock == "wall" else (HOUR_S,))
            and _may_change(start, _BACK, clock)
            and (differs[run].any() or alike_but_likely)
        ):
            found.append((start, run_s))
    return found


def _within(times_s: _Integers, runs: _Runs) -> NDArray[np.bool_]:
    inside = np.zeros(times_s.size, np.bool_)
    for start, run_s in runs:
        inside |= (times_s >= start) & (times_s < start + run_s)
    return inside


def _without_repeats(rows: _Integers, stamp_s: _Integers, energy: NDArray[np.float64], runs: _Runs) -> _Integers:
    """Drop rows that repeat time and values of another, outside hours that appear twice."""
    import pandas as pd

    readings = pd.DataFrame(energy[rows]).assign(time=stamp_s[rows])
    kept = _within(stamp_s[rows], runs) | ~readings.duplicated().to_numpy(np.bool_)
    return np.asarray(rows[kept], np.int64)


def _check_no_two(rows: _Integers, stamp_s: _Integers, runs: _Runs, clock: str | None, file: FileLines) -> None:
    times, counts = np.unique(stamp_s[rows], return_counts=True)
    twice_s = times[(counts > 1) & ~_within(times, runs)]
    if twice_s.size == 0:
        return
    time = int(twice_s[0])
    earlier, later = sorted(file.lines[row] for row in rows[stamp_s[rows] == time][:2].tolist())
    hint = set_key("clock", "wall") if clock != "wall" and _may_change(time, _BACK, None) else ""
    raise LoadError(f"{file.path}: lines {earlier} and {later} have different values for {when(time)}{hint}")


def _earlier_hour_first(rows: _Integers, stamp_s: _Integers, runs: _Runs) -> _Integers:
    """Put the whole earlier hour before the whole later one, where sorting made pairs of their rows."""
    parted = rows.copy()
    for start, run_s in runs:
        low, high = np.searchsorted(stamp_s[rows], (start, start + run_s))
        pairs = rows[low:high]
        parted[low:high] = np.concatenate((pairs[::2], pairs[1::2]))
    return parted
