"""Days: names as a window has them in, numbers of days out; a timeline in, the day of each step out.

Days 0 to 6 are Monday to Sunday without holidays, 7 to 13 the same on holidays.
"""

from collections.abc import Sequence
from itertools import permutations
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import AfterValidator, WithJsonSchema

from solarsim.clock.timeline import DAY_KINDS, DAY_NAMES, Timeline
from solarsim.errors import nearest_name

ALL_DAYS = frozenset(range(14))
_DAYS = (*DAY_KINDS, *DAY_NAMES, *(f"{first}-{last}" for first, last in permutations(DAY_NAMES, 2)))
_OF_KIND = {"weekday": range(5), "weekend": range(5, 7), "holiday": range(7, 14)}


def _day(text: str) -> str:
    if text in _DAYS:
        return text
    meant = nearest_name(text, list(_DAYS))
    hint = "" if meant is None else f"; did you mean {meant!r}?"
    raise ValueError(f"must be weekday, weekend, holiday, a day from mon to sun or a range such as mon-fri{hint}")


Day = Annotated[str, AfterValidator(_day), WithJsonSchema({"enum": list(_DAYS)})]


def days_named(names: Sequence[str] | None) -> frozenset[int]:
    """Return which days a window names.

    Parameters
    ----------
    names : sequence of str or None
        Day kinds, days and ranges; None for every day.

    Returns
    -------
    frozenset of int
        Their numbers.

    Examples
    --------
    >>> sorted(days_named(("weekend", "mon")))
    [0, 5, 6, 7]
    """
    if names is None:
        return ALL_DAYS
    found: set[int] = set()
    for name in names:
        found.update(_OF_KIND[name] if name in _OF_KIND else (day + on for day in _weekdays(name) for on in (0, 7)))
    return frozenset(found)


def days_on(timeline: Timeline) -> NDArray[np.int64]:
    """Return the day of each step.

    Parameters
    ----------
    timeline : Timeline
        The year.

    Returns
    -------
    array of int
        Its number.
    """
    return np.asarray(timeline.weekday + 7 * (timeline.day_kind == DAY_KINDS.index("holiday")))


def _weekdays(day: str) -> list[int]:
    """Return the weekdays of a name or a range, 0 for Monday."""
    first, _, last = day.partition("-")
    start = DAY_NAMES.index(first)
    return [(start + count) % 7 for count in range((DAY_NAMES.index(last or first) - start) % 7 + 1)]
