"""What no meter's readings can be: values in the order of time in, a refusal or nothing out."""

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError
from solarsim.load.meter.csv._order import HOUR_S, FileLines, length, when
from solarsim.load.meter.csv._words import set_key

_DAY_S = 86400
_YEAR_S = 365 * _DAY_S
_MANY_RISES = 24  # no home uses more and more so many times, and never less
_MOST_DRAWN = 0.05
_LARGE_START = 10.0  # times the largest rise

_Floats = NDArray[np.float64]


def own_consumption(values: _Floats) -> _Floats:
    """Return how far production is below 0, where that is what inverters draw at night; 0 elsewhere.

    Larger negative values, more than a twentieth of the highest, are another meter's or another sign (common practice,
    no source): they are left for ``check_signs`` to refuse.
    """
    known = np.nan_to_num(values)
    drawn = np.maximum(-known, 0.0)
    return np.where(drawn.max(axis=0) <= _MOST_DRAWN * known.max(axis=0), drawn, 0.0)


def own_consumption_note(drawn: _Floats, unit: str, kwh: float) -> str:
    """Return how much production below 0 was counted as 0."""
    return (
        f"{np.count_nonzero(drawn):,} of {len(drawn):,} values are below 0, down to {-drawn.max():g} {unit}, together"
        f" {-kwh:.1f} kWh: taken as the inverters' own consumption, counted as 0"
    )


def check_signs(values: _Floats, names: tuple[str, ...], file: FileLines) -> None:
    """Refuse negative readings; each column is import or export."""
    for column, name in enumerate(names):
        negative = np.flatnonzero(values[:, column] < 0)
        if negative.size:
            row = int(negative[0])
            hint = "; if import and export share this column by their signs, give each its own column"
            raise LoadError(
                f"{file.line(row)}: {name!r} is {values[row, column]:g}, must not be negative"
                f" ({negative.size} of {len(values)} rows)" + hint * (len(names) == 1)
            )


def check_rises(values: _Floats, names: tuple[str, ...], file: FileLines) -> None:
    """Refuse a register that falls."""
    for column, name in enumerate(names):
        falls = np.flatnonzero(np.diff(values[:, column]) < 0)
        if falls.size:
            row = int(falls[0]) + 1
            raise LoadError(
                f"{file.line(row)}: the register {name!r} falls from {values[row - 1, column]:.12g} to"
                f" {values[row, column]:.12g}, but a register only rises (was the meter replaced, or did it roll over?)"
            )


def check_ends(start_s: NDArray[np.int64], end_s: NDArray[np.int64], step_s: int, file: FileLines) -> None:
    """Refuse intervals that are not one step long; ends such as 00:14 or 00:14:59, and clock changes, are allowed.

    An end without a date of its own may be dated by its start.
    """
    span_s = (end_s - start_s) % _DAY_S

    def is_step(change_s: int) -> NDArray[np.bool_]:
        return np.isin(span_s, [(step_s + change_s - last) % _DAY_S for last in (0, 1, 60)])

    wrong = ~is_step(0)
    years = 1 + int(start_s[-1] - start_s[0]) // _YEAR_S
    if np.count_nonzero(wrong) <= 4 * years:  # half-hour data has two readings at each of two changes at most
        for change_s in (HOUR_S, -HOUR_S, HOUR_S // 2, -HOUR_S // 2):
            wrong &= ~is_step(change_s)
    if wrong.any():
        row = int(wrong.argmax())
        raise LoadError(
            f"{file.line(row)}: the interval is from {when(int(start_s[row]))} to {when(int(end_s[row]))}, but readings"
            f" are {length(step_s)} apart" + set_key("time_columns")
        )


def looks_like_a_register(values: _Floats) -> bool:
    """Return whether a column never falls, and rises often or starts far above its largest rise."""
    rises = np.diff(values)
    if (rises < 0).any():
        return False
    often = np.count_nonzero(rises) >= _MANY_RISES
    return bool(often or 0 < _LARGE_START * rises.max() < values[0])
