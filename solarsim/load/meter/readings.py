"""Interval readings of one electricity meter: what every meter file becomes, whatever its format."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class Readings:
    """Energy through one meter, interval by interval, in the order of time.

    Attributes
    ----------
    start : array of datetime64[s]
        Start of each interval, by the clock of the file.
    duration_s : array of int
        Length of each interval [s].
    import_kwh, export_kwh : arrays of float
        Delivered to the home and received from it in each interval [kWh]; export is 0 where the
        meter has none.
    estimated : array of bool
        Whether the utility estimated the value.
    clock : str
        ``utc``, or ``wall``: wall-clock time with daylight saving.
    labeled_by_end : bool
        Whether the file labels each interval by its end: then ``start`` is that label less the
        interval, which beside a clock change may be a time that no clock showed.
    notes : tuple of str
        What was found, repaired or is doubtful.
    """

    start: NDArray[np.datetime64]
    duration_s: NDArray[np.int64]
    import_kwh: NDArray[np.float64]
    export_kwh: NDArray[np.float64]
    estimated: NDArray[np.bool_]
    clock: Literal["utc", "wall"]
    labeled_by_end: bool = False
    notes: tuple[str, ...] = ()


def named(texts: Iterable[str], path: Path) -> list[str]:
    """Begin every sentence with its file, where it does not yet."""
    return [each if each.startswith(f"{path}: ") else f"{path}: {each}" for each in texts]
