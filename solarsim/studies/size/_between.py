"""Years from a few of them: what is replaced or changed when in; the years to compute, and all others from them, out.

Each part of what a year costs, less the growth of its price and of the load, changes smoothly from year to year, but
for the years in which modules or cells are as new again, or in which a dated change begins. From one of those to the
next it is a straight line and a bend, a parabola over the whole life. One more computed year in the longest stretch
says how much of it there is. Where load and cells change much within a stretch, each has a parabola and a computed
year of its own. Where a model of aging bends the capacity of the cells, one more in each stretch says how much that
counts.
"""

from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
_MUCH = 0.4  # growth of load and fade of cells, added, over the longest stretch


class Years(NamedTuple):
    """Which years of a life are computed, and how the others follow from them.

    Attributes
    ----------
    computed : tuple of int
        Years, counted from 0, in order.
    matrix : array of float
        Every year (down) from the computed ones (across).
    """

    computed: tuple[int, ...]
    matrix: Floats


@lru_cache(maxsize=64)  # the same for most designs
def years_between(starts: tuple[int, ...], count: int, left: tuple[float, ...] | None, pace: float = 0.0) -> Years:
    """Return which years to compute, and how the others follow.

    Parameters
    ----------
    starts : tuple of int
        Years, counted from 0, in which something is as new again or changes.
    count : int
        How many years.
    left : tuple of float or None
        Of every year: capacity of the cells / that of new ones, where a model of aging bends it.
    pace : float
        Growth of load and fade of cells, added, per year.

    Returns
    -------
    Years
        Two computed years for each stretch, three with a model of aging, and one more within the longest, or in each.
    """
    edges = [*sorted({0, *(each for each in starts if each < count)}), count]
    stretches = [(first, after - 1) for first, after in pairwise(edges)]
    longest = max(stretches, key=lambda each: each[1] - each[0])
    year = np.arange(count, dtype=np.float64)
    much = pace * (longest[1] - longest[0]) > _MUCH
    columns, computed = [] if much else [(year / count) ** 2], set()
    for stretch in stretches:
        lines = _lines(year, stretch, left, much)
        columns += lines
        computed |= _apart(stretch, len(lines) + (stretch == longest and not much))
    basis = np.stack(columns, axis=1)
    years = sorted(computed)
    return Years(tuple(years), basis @ np.linalg.pinv(basis[years]))


def _lines(year: Floats, stretch: tuple[int, int], left: tuple[float, ...] | None, bends: bool) -> list[Floats]:
    """Return the terms of a stretch, as many as it has years to tell them from: constant, slope, bend, its cells."""
    first, last = stretch
    inside = (year >= first) & (year <= last)
    along = (year - first) / year.size
    shapes = [np.ones_like(year), along, *([along**2] if bends else []), *([] if left is None else [np.array(left)])]
    return [np.asarray(inside * each, np.float64) for each in shapes[: last - first + 1]]


def _apart(stretch: tuple[int, int], count: int) -> set[int]:
    """Return so many years of a stretch, evenly apart, both ends among them where it is more than one."""
    return {round(each) for each in np.linspace(*stretch, count).tolist()}
