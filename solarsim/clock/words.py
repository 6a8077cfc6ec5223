"""Dates and hours in words: numbers of months, days and minutes in, a few words out."""

from collections.abc import Sequence

_MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_DAY_MIN = 1440


def date_words(text: str) -> str:
    """Return a day of the year in words.

    Parameters
    ----------
    text : str
        MM-DD.

    Returns
    -------
    str
        Month and day.

    Examples
    --------
    >>> date_words("11-01")
    'Nov 1'
    """
    return f"{_MONTH_NAMES[int(text[:2]) - 1]} {int(text[3:])}"


def month_words(months: Sequence[int]) -> str:
    """Return months in the order of a year, three or more in a row as a range; a range may cross New Year.

    Parameters
    ----------
    months : sequence of int
        1 to 12, in any order.

    Returns
    -------
    str
        English.

    Examples
    --------
    >>> month_words([1, 2, 11, 12])
    'Nov-Feb'
    """
    chosen = set(months)
    starts = [month for month in range(1, 13) if month in chosen and (month - 2) % 12 + 1 not in chosen]
    parts = []
    for start in starts or [1]:
        length = next((count for count in range(1, 12) if (start + count - 1) % 12 + 1 not in chosen), 12)
        names = [_MONTH_NAMES[(start + count - 1) % 12] for count in range(length)]
        parts += [f"{names[0]}-{names[-1]}"] if length > 2 else names
    return ", ".join(parts)


def clock(minute: int) -> str:
    """Return a time of day.

    Parameters
    ----------
    minute : int
        Since midnight.

    Returns
    -------
    str
        HH:MM; the end of a day is 24:00.
    """
    return f"{minute // 60:02d}:{minute % 60:02d}"


def spans_of(start_min: int, end_min: int, every_day: bool) -> list[tuple[int, int]]:
    """Return the hours of a window as they are told.

    Parameters
    ----------
    start_min, end_min : int
        Since midnight; an end of 0 or 1440 is the end of the day [min].
    every_day : bool
        Whether it is for every day.

    Returns
    -------
    list of tuple of int
        Starts and ends [min]. Hours across midnight on some days are two spans of these days: "from 14:00 to 06:00 on
        Monday to Friday" would be read as ending on Saturday morning.

    Examples
    --------
    >>> spans_of(840, 360, every_day=True), spans_of(840, 360, every_day=False)
    ([(840, 360)], [(0, 360), (840, 1440)])
    """
    end_min = end_min or _DAY_MIN
    if every_day or start_min < end_min:
        return [(start_min, end_min)]
    return [(0, end_min), (start_min, _DAY_MIN)]
