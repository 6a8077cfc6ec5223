"""Years from a few of them: what is replaced or changed when in; the years to compute, and all others from them, out.

What a year costs, as a share of what the home without any system costs in it, changes smoothly from year to year, but
for the years in which modules or cells are as new again, or in which a dated change begins. From one of those to the
next it is a straight line and a bend. The bend is that of 1 / the cost without any system: where prices grow, what
does not grow with them (customer charges, pay for exports) becomes a smaller and smaller share. One more computed
year in the longest stretch says how much of it there is. Where a model of aging bends the capacity of the cells, one
more in each stretch says how much that counts.
"""

from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
_STRAIGHT = 0.02  # growth over the longest stretch below which the cents of a bill are larger than its bend


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
def years_between(starts: tuple[int, ...], costs: tuple[float, ...], left: tuple[float, ...] | None) -> Years:
    """Return which years to compute, and how the others follow.

    Parameters
    ----------
    starts : tuple of int
        Years, counted from 0, in which something is as new again or changes.
    costs : tuple of float
        Of every year, without any system [currency].
    left : tuple of float or None
        Of every year: capacity of the cells / that of new ones, where a model of aging bends it.

    Returns
    -------
    Years
        Two computed years for each stretch, three with a model of aging, and one more within the longest.
    """
    count = len(costs)
    edges = [*sorted({0, *(each for each in starts if each < count)}), count]
    stretches = [(first, after - 1) for first, after in pairwise(edges)]
    longest = max(stretches, key=lambda each: each[1] - each[0])
    year = np.arange(count, dtype=np.float64)
    columns, computed = [_bend(year, np.array(costs), longest)], set()
    for stretch in stretches:
        lines = _lines(year, stretch, left)
        columns += lines
        computed |= _apart(stretch, len(lines) + (stretch == longest))
    basis = np.stack(columns, axis=1)
    years = sorted(computed)
    return Years(tuple(years), basis @ np.linalg.pinv(basis[years]))


def _lines(year: Floats, stretch: tuple[int, int], left: tuple[float, ...] | None) -> list[Floats]:
    """Return the terms of a stretch, as many as it has years to tell them from: a constant, a slope, its cells."""
    first, last = stretch
    inside = (year >= first) & (year <= last)
    terms = [inside * 1.0, inside * (year - first)] + ([] if left is None else [inside * np.array(left)])
    return terms[: last - first + 1]


def _apart(stretch: tuple[int, int], count: int) -> set[int]:
    """Return so many years of a stretch, evenly apart, both ends among them where it is more than one."""
    return {round(each) for each in np.linspace(*stretch, count).tolist()}


def _bend(year: Floats, costs: Floats, longest: tuple[int, int]) -> Floats:
    """Return how the years bend: as 1 / costs where these grow, else as a parabola."""
    first, last = costs[longest[0]], costs[longest[1]]
    if costs.min() > 0.0 and abs(last / first - 1.0) > _STRAIGHT:
        return np.asarray(first / costs, np.float64)
    return np.asarray((year / year.size) ** 2, np.float64)
