"""Interval readings of one electricity meter: what every meter file becomes, whatever its format."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, eq=False)
class Readings:
    """Energy through one meter, interval by interval, in the order of time as the file stands.

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
        Whether the utility says that it estimated the value.
    clock : str
        ``utc``, or ``wall``: the clock on the wall with daylight saving.
    ends_told : bool
        Whether the file labels each interval by its end: then ``start`` is that label less the
        interval, which beside a clock change may be a time that no clock showed.
    notes : tuple of str
        What was found, repaired or is doubtful: whole sentences for a person.
    """

    start: NDArray[np.datetime64]
    duration_s: NDArray[np.int64]
    import_kwh: NDArray[np.float64]
    export_kwh: NDArray[np.float64]
    estimated: NDArray[np.bool_]
    clock: Literal["utc", "wall"]
    ends_told: bool = False
    notes: tuple[str, ...] = ()
