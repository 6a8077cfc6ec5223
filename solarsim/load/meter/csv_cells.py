"""What one cell of a meter CSV can be, by its looks alone: a time, a date, a time of day, a number, text."""

import re
from typing import Literal

Kind = Literal["stamp", "date", "clock", "number", "empty", "text"]

MISSING = frozenset(("", "-", "--", "nan", "na", "n/a", "#n/a", "null", "none", "nil", "missing"))

_ZONE = r"Z|[+-]\d{2}(?::?\d{2})?|\(?[A-Z]{2,5}\)?"
_DATE = (
    r"\d{4}([-/.])\d{1,2}\1\d{1,2}"
    r"|\d{1,2}([-/.])\d{1,2}\2(?:\d{4}|\d{2})"
    r"|(?:19|20)\d{2}(?:0[1-9]|1[0-2])[0-3]\d"
    r"|\d{1,4}[-/. ] ?[^\W\d_]{3,9}\.?[-/., ] ?\d{2,4}"
    r"|[^\W\d_]{3,9}\.? \d{1,2},? \d{4}"
)
_CLOCK = rf"\d{{1,2}}:\d{{2}}(?::\d{{2}}(?:[.,]\d+)?)?(?:\s*[AaPp]\.?\s?[Mm]\.?)?(?:\s*(?:{_ZONE}))?"
_COMPACT_CLOCK = rf"\d{{4}}(?:\d{{2}})?(?:{_ZONE})?"

_DATE_ALONE = re.compile(_DATE)
_CLOCK_ALONE = re.compile(_CLOCK)
_STAMP = re.compile(rf"(?:{_DATE})(?:T|,?\s+){_CLOCK}")
_COMPACT_STAMP = re.compile(rf"(\d{{8}})[T ]?({_COMPACT_CLOCK})")
_SPLIT = re.compile(r"(.+?)(?:T|,?\s+)(\d{1,2}:.*)")
_BETWEEN = re.compile(r"\s+(?:to|bis|à|-|\u2013)\s+")
_NUMBER = re.compile(r"[+-]?(?:\d[\d.,' \u00a0\u2009\u202f]*|[.,]\d+)(?:[eE][+-]?\d+)?")


def kind_of(cell: str) -> Kind:
    """Say what a cell looks like.

    Parameters
    ----------
    cell : str
        Without blanks around it.

    Returns
    -------
    str
        ``stamp`` (date and time of day), ``date``, ``clock`` (time of day), ``number``, ``empty`` or
        ``text``; a period from one time to another is what its times are. Whether the calendar has
        such a day is not asked.
    """
    if cell.lower() in MISSING:
        return "empty"
    if _DATE_ALONE.fullmatch(cell):
        return "date"
    if _CLOCK_ALONE.fullmatch(cell):
        return "clock"
    if _STAMP.fullmatch(cell) or (_COMPACT_STAMP.fullmatch(cell) and _DATE_ALONE.fullmatch(cell[:8])):
        return "stamp"
    if _NUMBER.fullmatch(cell):
        return "number"
    start, _, end = _period(cell)
    return kind_of(start) if end and kind_of(start) == kind_of(end) else "text"


def parted(cells: list[str]) -> tuple[list[str], list[str] | None]:
    """Part periods such as ``00:00 - 01:00`` into start and end.

    Parameters
    ----------
    cells : list of str
        Without blanks around them.

    Returns
    -------
    tuple of list of str, or of list of str and None
        Starts and ends; the cells themselves and None where the first is no period.
    """
    if not _period(cells[0])[2]:
        return cells, None
    periods = [_period(cell) for cell in cells]
    return [start for start, _, _ in periods], [end for _, _, end in periods]


def _period(cell: str) -> tuple[str, str, str]:
    between = _BETWEEN.search(cell)
    return (cell[: between.start()], between[0], cell[between.end() :]) if between else (cell, "", "")


def split_stamp(cell: str) -> tuple[str, str]:
    """Take a cell apart into its date and its time of day.

    Parameters
    ----------
    cell : str
        Without blanks around it.

    Returns
    -------
    tuple of str
        Date, and time of day with what follows it; the time is empty where there is none.
    """
    match = _SPLIT.fullmatch(cell) or _COMPACT_STAMP.fullmatch(cell)
    return (match[1], match[2]) if match else (cell, "")
