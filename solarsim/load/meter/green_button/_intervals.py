"""Intervals of one meter in any order: sorted, each once, a running register turned into amounts."""

from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError

HOUR_S = 3600


class Intervals(NamedTuple):
    """Columns of one length: starts [s since 1970, UTC], lengths [s], amounts, estimates, lines of the file."""

    start: NDArray[np.int64]
    duration_s: NDArray[np.int64]
    amount: NDArray[np.float64]
    estimated: NDArray[np.bool_]
    line: NDArray[np.int64]

    def at(self, which: NDArray[np.bool_] | NDArray[np.int64]) -> "Intervals":
        """Return some of them."""
        return Intervals(*(column[which] for column in self))  # type: ignore[arg-type]  # each keeps its type


def joined(parts: list[Intervals]) -> Intervals:
    """Return several together, in no order."""
    return Intervals(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))


def each_once(found: Intervals, path: Path, notes: list[str]) -> Intervals:
    """Sort by start and drop what appears twice; refuse two with one start that differ."""
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
    notes.append(f"{again.sum()} readings repeat another and were dropped")
    first = np.flatnonzero(np.concatenate(([True], ~again)))
    return found.at(first)._replace(estimated=np.logical_or.reduceat(found.estimated, first))


def amounts_from_register(raw: Intervals, path: Path, notes: list[str]) -> Intervals:
    """Return the differences of a running register; each value is that at the end of its period."""
    end = raw.start + raw.duration_s
    register = each_once(raw._replace(start=end, duration_s=np.zeros_like(end)), path, notes)
    rise = np.diff(register.amount)
    for k in np.flatnonzero(rise < 0)[:1]:
        raise LoadError(
            f"{path}: line {register.line[k + 1]}: the running register falls from {register.amount[k]:.12g} to"
            f" {register.amount[k + 1]:.12g} at {utc_text(register.start[k + 1])}; amounts of each interval are"
            " accumulationBehaviour 4"
        )
    notes.append(f"{register.start.size} values of a running register gave {rise.size} differences")
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
        f" from {utc_text(found.start[long][0])}; they are not used"
    )
    return found.at(~long)


def refuse_long(found: Intervals, path: Path) -> None:
    """Refuse intervals longer than an hour."""
    for k in np.flatnonzero(found.duration_s > HOUR_S)[:1]:
        raise LoadError(
            f"{path}: line {found.line[k]}: the reading at {utc_text(found.start[k])} is {found.duration_s[k]} s long,"
            f" must be at most an hour ({HOUR_S} s)"
        )


def refuse_overlap(start: NDArray[np.int64], duration_s: NDArray[np.int64], path: Path) -> None:
    """Refuse two intervals, in the order of time, that share time."""
    for k in np.flatnonzero(start[:-1] + duration_s[:-1] > start[1:])[:1]:
        raise LoadError(
            f"{path}: the readings at {utc_text(start[k])} ({duration_s[k]} s) and {utc_text(start[k + 1])} overlap"
        )


def scaled(values: NDArray[np.float64], power: int) -> NDArray[np.float64]:
    """Return values times a power of ten, rounded once."""
    return np.asarray(values * 10.0**power if power >= 0 else values / 10.0**-power, np.float64)


def utc_text(second: np.int64) -> str:
    """Return seconds since 1970 as a date and time."""
    return f"{np.datetime64(int(second), 's')} UTC"
