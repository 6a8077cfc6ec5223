"""The times of a meter CSV: cells as printed in, seconds by the file's clock out."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError
from solarsim.load.meter.csv_cells import split_stamp
from solarsim.load.meter.csv_words import words_of
from solarsim.scenario.load.meter import MeterCsv, settled_by

DAY_S = 86400
_EPOCH = date(1970, 1, 1).toordinal()
_MOST_YEARS = 10  # a meter file spans fewer; a date order under which it spans more is the wrong one

_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})|(\d{4})(\d{2})(\d{2})")
_YEAR_LAST = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})")
_NAMED = re.compile(r"(\d{1,4})[-/. ] ?([^\W\d_]{3,9})\.?[-/., ] ?(\d{2,4})")
_NAME_FIRST = re.compile(r"([^\W\d_]{3,9})\.? (\d{1,2}),? (\d{4})")
_CLOCK = re.compile(
    r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)?(?:\s*([AaPp])\.?\s?[Mm]\.?)?"
    r"(?:\s*(?:(Z|UTC)|([+-])(\d{2}):?(\d{2})?|\(?([A-Z]{2,5})\)?))?"
)
_ORDERS = {
    "year first": ("ymd",),
    "year last": ("dmy", "mdy"),
    "short": ("dmy", "mdy", "ymd"),
    "name": ("dmy",),
    "name, short": ("dmy", "ymd"),
    "name, year first": ("ymd",),
}
_MONTHS = (  # English, German, French
    ("jan", "janv", "january", "januar", "janvier"),
    ("feb", "fev", "fevr", "february", "februar", "fevrier"),
    ("mar", "mrz", "mars", "march", "marz", "maerz"),
    ("apr", "avr", "april", "avril"),
    ("may", "mai"),
    ("jun", "june", "juni", "juin"),
    ("jul", "july", "juli", "juil", "juillet"),
    ("aug", "august", "aout"),
    ("sep", "sept", "september", "septembre"),
    ("oct", "okt", "october", "oktober", "octobre"),
    ("nov", "november", "novembre"),
    ("dec", "dez", "december", "dezember", "decembre"),
)
_MONTH_OF = {name: month for month, names in enumerate(_MONTHS, start=1) for name in names}


@dataclass(frozen=True, eq=False)
class Stamps:
    """The times of a column as printed.

    Attributes
    ----------
    local_s : array of int
        Since 1970 by the clock as printed [s].
    offset_s : array of int or None
        That clock minus UTC [s]; None where no offset is printed.
    zones : frozenset of str
        Letters such as ``CET`` beside the times.
    ends_at_24 : bool
        Whether a time is 24:00, which only the end of an interval can be.
    date_order : str
        ``ymd``, ``dmy`` or ``mdy``.
    """

    local_s: NDArray[np.int64]
    offset_s: NDArray[np.int64] | None
    zones: frozenset[str]
    ends_at_24: bool
    date_order: str


def stamps_from(dates: list[str], clocks: list[str] | None, lines: list[int], path: Path, settled: MeterCsv) -> Stamps:
    """Read a column of times, or one of dates and one of times of day.

    Parameters
    ----------
    dates : list of str
        Cells without blanks around them: dates, with the time of day where ``clocks`` is None.
    clocks : list of str, optional
        Times of day.
    lines : list of int
        The line of each cell, for messages.
    path : pathlib.Path
        The file, for messages.
    settled : MeterCsv
        Its ``date_order``, where the user gives one.

    Returns
    -------
    Stamps
        One time for each cell.

    Raises
    ------
    LoadError
        A cell is no time, dates are written in more than one way, their order cannot be told, or
        only some times have an offset, or AM and PM.
    """
    if clocks is None:
        parts = [split_stamp(cell) for cell in dates]
    else:  # a date that carries a midnight beside a column with the time of day
        parts = [(split_stamp(day)[0], clock) for day, clock in zip(dates, clocks, strict=True)]
    day_ids: dict[str, int] = {}
    clock_ids: dict[str, int] = {}
    day_of = np.array([day_ids.setdefault(day, len(day_ids)) for day, _ in parts], np.int64)
    clock_of = np.array([clock_ids.setdefault(clock, len(clock_ids)) for _, clock in parts], np.int64)

    def first_line(of: NDArray[np.int64], place: int) -> str:
        return f"{path}: line {lines[int(np.argmax(of == place))]}: "

    days, order = _days(list(day_ids), settled, path, lambda place: first_line(day_of, place))
    seconds, offsets, zones = _clocks(list(clock_ids), lambda place: first_line(clock_of, place))
    return Stamps(
        local_s=days[day_of] * DAY_S + seconds[clock_of],
        offset_s=None if offsets is None else offsets[clock_of],
        zones=zones,
        ends_at_24=bool((seconds == DAY_S).any()),
        date_order=order,
    )


def _days(
    texts: list[str], settled: MeterCsv, path: Path, where: Callable[[int], str]
) -> tuple[NDArray[np.int64], str]:
    """Read dates, each different one once; days since 1970, and their order."""
    looks, parts = [], []
    for place, text in enumerate(texts):
        found = _date_parts(text)
        if found is None:
            raise LoadError(f"{where(place)}the date is {text!r}, must be a date such as 2026-07-04")
        looks.append(found[0])
        parts.append(found[1])
        if found[0] != looks[0]:
            raise LoadError(f"{where(place)}the date is {text!r}, written in another way than {texts[0]!r}")
    orders = _ORDERS[looks[0]]
    if settled.date_order in orders:
        orders = (settled.date_order,)
    elif settled.date_order is not None and "name" not in looks[0]:
        raise LoadError(f"{where(0)}the date is {texts[0]!r}, but date_order is {settled.date_order!r}")
    days = {order: [_day(each, order) for each in parts] for order in orders}
    whole = {order: np.array(each, np.int64) for order, each in days.items() if None not in each}
    if not whole:
        order = min(days, key=lambda each: days[each].count(None))
        place = days[order].index(None)
        raise LoadError(f"{where(place)}the date is {texts[place]!r}, which no calendar has (read as {order})")
    near = {order: each for order, each in whole.items() if np.ptp(each) < _MOST_YEARS * 366}
    likely = near or whole
    order, first = next(iter(likely.items()))
    if any((each != first).any() for each in likely.values()):
        raise LoadError(
            f"{path}: no date tells the order of day and month, the first is {texts[0]!r}"
            + settled_by("date_order", *likely)
        )
    return first, order


def _date_parts(text: str) -> tuple[str, tuple[int, int, int]] | None:
    """Take a date apart: how it is written, and its three numbers; None where it is no date."""
    if match := _YEAR_FIRST.fullmatch(text):
        first, middle, last = (int(part) for part in match.groups() if part is not None)
        return "year first", (first, middle, last)
    if match := _YEAR_LAST.fullmatch(text):
        look = "year last" if len(match[3]) == 4 else "short"
        return look, (int(match[1]), int(match[2]), int(match[3]))
    if match := _NAME_FIRST.fullmatch(text):
        day, name, year = match[2], match[1], match[3]
    elif match := _NAMED.fullmatch(text):
        day, name, year = match[1], match[2], match[3]
    else:
        return None
    month = _MONTH_OF.get("".join(words_of(name)))
    if month is None:
        return None
    if len(day) == 4:
        return "name, year first", (int(day), month, int(year))
    return ("name" if len(year) == 4 else "name, short"), (int(day), month, int(year))


def _day(parts: tuple[int, int, int], order: str) -> int | None:
    """Days since 1970; None where the calendar has no such day, or no meter was read then."""
    year, month, day = (parts[order.index(each)] for each in "ymd")
    year += 2000 if year < 100 else 0
    try:
        return date(year, month, day).toordinal() - _EPOCH if 1990 <= year < 2100 else None
    except ValueError:
        return None


def _clocks(
    texts: list[str], where: Callable[[int], str]
) -> tuple[NDArray[np.int64], NDArray[np.int64] | None, frozenset[str]]:
    """Read times of day, each different one once; seconds, offsets from UTC, letters of zones."""
    seconds, offsets, zones, halves = [], [], set(), set()
    hours_alone = all(len(text) <= 2 and text.isdigit() and int(text) <= 24 for text in texts)
    for place, text in enumerate(texts):
        match = _CLOCK.fullmatch(f"{text}:00" if hours_alone else _with_colons(text))
        second = None if match is None else _seconds(match)
        if match is None or second is None:
            raise LoadError(f"{where(place)}the time of day is {text!r}, must be a time such as 13:45")
        seconds.append(second)
        offsets.append(_offset(match))
        zones.add(match[9])
        halves.add(match[4] is None)
        if len(halves) > 1:
            raise LoadError(f"{where(place)}the time of day is {text!r}, but only some have AM or PM")
        if (offsets[-1] is None) != (offsets[0] is None):
            raise LoadError(f"{where(place)}the time of day is {text!r}, but only some have an offset from UTC")
    told = [offset for offset in offsets if offset is not None]
    if zones == {"GMT"}:
        told, zones = [0] * len(texts), set()
    return (
        np.array(seconds, np.int64),
        np.array(told, np.int64) if told else None,
        frozenset(zone for zone in zones if zone is not None),
    )


def _with_colons(text: str) -> str:
    """Write 0015 as 00:15, and 15 as 00:15 where it is such a number without its zeros."""
    digits = re.match(r"\d*", text)[0]  # type: ignore[index]
    if not digits or text[len(digits) : len(digits) + 1] == ":" or len(digits) > 6:
        return text
    padded = digits.zfill(4 if len(digits) <= 4 else 6)
    return ":".join(padded[i : i + 2] for i in range(0, len(padded), 2)) + text[len(digits) :]


def _seconds(match: re.Match[str]) -> int | None:
    """Seconds since midnight; None where no clock shows that time."""
    hour, minute, second = int(match[1]), int(match[2]), int(match[3] or 0)
    if match[4] is not None:
        if hour > 12 or (hour == 0 and match[4] in "Pp"):
            return None
        hour = hour % 12 + (12 if match[4] in "Pp" else 0)
    total = hour * 3600 + minute * 60 + second
    return total if minute < 60 and second < 60 and total <= DAY_S else None


def _offset(match: re.Match[str]) -> int | None:
    """Clock minus UTC [s]; None where none is printed."""
    if match[5]:
        return 0
    if match[6] is None:
        return None
    offset = int(match[7]) * 3600 + int(match[8] or 0) * 60
    return -offset if match[6] == "-" else offset
