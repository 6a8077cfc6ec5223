"""Intervals of one meter in any order: sorted, each once, a running register turned into amounts."""

from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError

HOUR_S = 3600


class Intervals(NamedTuple):
    """Columns of one length.

    Attributes
    ----------
    start : array of int
        Seconds since 1970, UTC [s].
    duration_s : array of int
        Length [s].
    amount : array of float
        In the file's own unit, or in kWh once it is turned into that [kWh].
    estimated : array of bool
        Whether the utility says that it estimated the value.
    line : array of int
        Line of the file, for messages.
    """

    start: NDArray[np.int64]
    duration_s: NDArray[np.int64]
    amount: NDArray[np.float64]
    estimated: NDArray[np.bool_]
    line: NDArray[np.int64]

    def at(self, which: NDArray[np.bool_] | NDArray[np.int64]) -> "Intervals":
        """Pick some of them."""
        return Intervals(
            start=self.start[which],
            duration_s=self.duration_s[which],
            amount=self.amount[which],
            estimated=self.estimated[which],
            line=self.line[which],
        )


def joined(parts: list[Intervals]) -> Intervals:
    """Put several together, in no order."""
    return Intervals(
        start=np.concatenate([part.start for part in parts]),
        duration_s=np.concatenate([part.duration_s for part in parts]),
        amount=np.concatenate([part.amount for part in parts]),
        estimated=np.concatenate([part.estimated for part in parts]),
        line=np.concatenate([part.line for part in parts]),
    )


def each_once(found: Intervals, path: Path, notes: list[str]) -> Intervals:
    """Sort by start and drop what is given twice.

    Parameters
    ----------
    found : Intervals
        In any order.
    path : pathlib.Path
        For messages.
    notes : list of str
        Takes what was dropped.

    Returns
    -------
    Intervals
        In the order of time, no two with the same start.

    Raises
    ------
    LoadError
        Two with the same start differ in value or length.
    """
    found = found.at(np.lexsort((found.line, found.start)))
    again = found.start[1:] == found.start[:-1]
    for what, unit, column in (("values", "", found.amount), ("lengths", " s", found.duration_s)):
        for k in np.flatnonzero(again & (column[1:] != column[:-1]))[:1]:
            raise LoadError(
                f"{path}: lines {found.line[k]} and {found.line[k + 1]}: two readings at {utc_text(found.start[k])}"
                f" have different {what}: {column[k]:.12g}{unit} and {column[k + 1]:.12g}{unit}"
            )
    if not again.any():
        return found
    notes.append(f"readings that were given twice, alike, were dropped: {again.sum()}")
    first = np.flatnonzero(np.concatenate(([True], ~again)))
    return found.at(first)._replace(estimated=np.logical_or.reduceat(found.estimated, first))


def amounts_from_register(raw: Intervals, path: Path, notes: list[str]) -> Intervals:
    """Turn a running register into amounts; each value stands at the end of its period.

    Parameters
    ----------
    raw : Intervals
        Values of the register; a length of 0 where the value belongs to an instant.
    path : pathlib.Path
        For messages.
    notes : list of str
        Takes what was done.

    Returns
    -------
    Intervals
        One fewer than there were values, from each value to the next.

    Raises
    ------
    LoadError
        The register goes back, or says two things at one time.
    """
    end = raw.start + raw.duration_s
    register = each_once(raw._replace(start=end, duration_s=np.zeros_like(end)), path, notes)
    rise = np.diff(register.amount)
    for k in np.flatnonzero(rise < 0)[:1]:
        raise LoadError(
            f"{path}: line {register.line[k + 1]}: the running register goes back from {register.amount[k]:.12g} to"
            f" {register.amount[k + 1]:.12g} at {utc_text(register.start[k + 1])}; amounts of each interval are"
            " accumulationBehaviour 4"
        )
    notes.append(
        f"{register.start.size} values of a running register, each read as standing at the end of its period,"
        f" gave {rise.size} differences"
    )
    return Intervals(
        start=register.start[:-1],
        duration_s=np.diff(register.start),
        amount=rise,
        estimated=register.estimated[:-1] | register.estimated[1:],
        line=register.line[1:],
    )


def without_gaps(found: Intervals, notes: list[str]) -> Intervals:
    """Leave out differences of a running register across missing hours, unless all of them are long."""
    long = found.duration_s > HOUR_S
    if not long.any() or long.all():
        return found
    notes.append(
        f"{found.amount[long].sum():.3f} kWh of the running register fall into gaps of more than an hour, the first"
        f" from {utc_text(found.start[long][0])}; they stay gaps"
    )
    return found.at(~long)


def refuse_long(found: Intervals, path: Path) -> None:
    """Refuse what tells no hours.

    Parameters
    ----------
    found : Intervals
        As read.
    path : pathlib.Path
        The file, for the message.

    Raises
    ------
    LoadError
        An interval is longer than an hour.
    """
    for k in np.flatnonzero(found.duration_s > HOUR_S)[:1]:
        raise LoadError(
            f"{path}: line {found.line[k]}: the reading at {utc_text(found.start[k])} lasts {found.duration_s[k]} s,"
            f" too coarse to tell hours; at most {HOUR_S} s"
        )


def refuse_overlap(start: NDArray[np.int64], duration_s: NDArray[np.int64], path: Path) -> None:
    """Refuse two intervals that share time.

    Parameters
    ----------
    start, duration_s : arrays of int
        In the order of time, UTC seconds, and lengths [s].
    path : pathlib.Path
        The file, for the message.

    Raises
    ------
    LoadError
        One begins, in the order of time, before the one before it ends.
    """
    for k in np.flatnonzero(start[:-1] + duration_s[:-1] > start[1:])[:1]:
        raise LoadError(
            f"{path}: the readings at {utc_text(start[k])} ({duration_s[k]} s) and {utc_text(start[k + 1])} overlap"
        )


def scaled(values: NDArray[np.float64], power: int) -> NDArray[np.float64]:
    """Multiply by a power of ten, rounding once."""
    return np.asarray(values * 10.0**power if power >= 0 else values / 10.0**-power, np.float64)


def utc_text(second: np.int64) -> str:
    """Write seconds since 1970 for a person."""
    return f"{np.datetime64(int(second), 's')} UTC"
