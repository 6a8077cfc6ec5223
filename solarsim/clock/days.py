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
_IN_FULL = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
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


def day_words(days: frozenset[int], of: frozenset[int] = ALL_DAYS) -> str:
    """Return days in words, for a sentence that begins with "on".

    Parameters
    ----------
    days : frozenset of int
        Their numbers, not empty.
    of : frozenset of int
        Those that the calendar has: 0 to 6 where it has no holidays.

    Returns
    -------
    str
        English.

    Examples
    --------
    >>> day_words(frozenset(range(5))), day_words(frozenset({5, 6, *range(7, 14)}))
    ('Monday to Friday except holidays', 'Saturday, Sunday and holidays')
    >>> day_words(frozenset(range(5)), of=frozenset(range(7)))
    'Monday to Friday'
    """
    if days >= of:
        return "every day"
    plain, on_holidays = {day for day in days if day < 7}, {day - 7 for day in days if day >= 7}
    if plain == on_holidays or max(of) < 7:
        return _joined(_names(plain))
    if not plain:
        return "holidays" if len(on_holidays) == 7 else f"holidays on {_joined(_names(on_holidays))}"
    if len(on_holidays) == 7:
        return _joined([*_names(plain), "holidays"])
    words = f"{_joined(_names(plain))} except holidays"
    return words if not on_holidays else f"{words}, and holidays on {_joined(_names(on_holidays))}"


def short_day_words(names: Sequence[str]) -> str:
    """Return what a window names in short words: kinds of days, then weekdays.

    Parameters
    ----------
    names : sequence of str
        Day kinds, days and ranges.

    Returns
    -------
    str
        English.

    Examples
    --------
    >>> short_day_words(("mon", "tue", "wed", "thu", "fri")), short_day_words(("weekend", "mon"))
    ('Mon-Fri', 'weekend, Mon')
    """
    kinds = [name for name in names if name in _OF_KIND]
    weekdays = {day for name in names if name not in _OF_KIND for day in _weekdays(name)}
    return ", ".join([*kinds, *_names(weekdays, [name.capitalize() for name in DAY_NAMES], "-")])


def _names(weekdays: set[int], all_names: Sequence[str] = _IN_FULL, to: str = " to ") -> list[str]:
    """Return names of weekdays, three or more in a row as a range."""
    names: list[str] = []
    day = 0
    while day < 7:
        length = next(count for count in range(8 - day) if day + count not in weekdays)
        ends = all_names[day], all_names[day + length - 1]
        names += [f"{ends[0]}{to}{ends[1]}"] if length > 2 else all_names[day : day + length]
        day += max(1, length)
    return names


def _joined(words: list[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


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
