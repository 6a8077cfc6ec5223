"""The times of a meter CSV: cells as printed in, seconds by the file's clock out.

Dates are parsed here, not by pandas or dateutil: both swap day and month silently where a date fits only one order.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError
from solarsim.load.meter.csv._cells import split_stamp
from solarsim.load.meter.csv._words import set_key, words_of
from solarsim.scenario.load.meter import MeterCsv

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
    "jan janv january januar janvier",
    "feb fev fevr february februar fevrier",
    "mar mrz mars march marz maerz",
    "apr avr april avril",
    "may mai",
    "jun june juni juin",
    "jul july juli juil juillet",
    "aug august aout",
    "sep sept september septembre",
    "oct okt october oktober octobre",
    "nov november novembre",
    "dec dez december dezember decembre",
)
_MONTH_OF = {name: month for month, names in enumerate(_MONTHS, start=1) for name in names.split()}
_Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Stamps:
    """The times of a column as printed [s since 1970], that clock minus UTC [s] where printed, and what they show.

    ``zones`` are letters such as ``CET``; ``ends_at_24`` is a time of 24:00, which only the end of an interval has.
    """

    local_s: _Integers
    offset_s: _Integers | None
    zones: frozenset[str]
    ends_at_24: bool
    date_order: str


def stamps_from(dates: list[str], clocks: list[str] | None, lines: list[int], path: Path, settled: MeterCsv) -> Stamps:
    """Read a column of times, or one of dates and one of times of day."""
    if clocks is None:
        parts = [split_stamp(cell) for cell in dates]
    else:  # a date that carries a midnight beside a column with the time of day
        parts = [(split_stamp(day)[0], clock) for day, clock in zip(dates, clocks, strict=True)]
    day_of, days = _each_once([day for day, _ in parts])
    clock_of, times = _each_once([clock for _, clock in parts])

    def at(of: _Integers) -> Callable[[int], str]:
        return lambda place: f"{path}: line {lines[int(np.argmax(of == place))]}: "

    day, order = _days(days, settled, path, at(day_of))
    second, offset_s, zones = _clocks(times, at(clock_of))
    return Stamps(
        local_s=day[day_of] * DAY_S + second[clock_of],
        offset_s=None if offset_s is None else offset_s[clock_of],
        zones=zones,
        ends_at_24=bool((second == DAY_S).any()),
        date_order=order,
    )


def _each_once(cells: list[str]) -> tuple[_Integers, list[str]]:
    """Return each different cell once, and which of them is in each row."""
    place = {cell: number for number, cell in enumerate(dict.fromkeys(cells))}
    return np.array([place[cell] for cell in cells], np.int64), list(place)


def _days(texts: list[str], settled: MeterCsv, path: Path, where: Callable[[int], str]) -> tuple[_Integers, str]:
    """Return days since 1970, and the order of year, month and day."""
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
        raise LoadError(f"{where(place)}the date is {texts[place]!r}, which does not exist (read as {order})")
    near = {order: each for order, each in whole.items() if np.ptp(each) < _MOST_YEARS * 366}
    likely = near or whole
    order, first = next(iter(likely.items()))
    if any((each != first).any() for each in likely.values()):
        raise LoadError(
            f"{path}: the order of day and month is unclear, the first date is {texts[0]!r}"
            + set_key("date_order", *likely)
        )
    return first, order


def _date_parts(text: str) -> tuple[str, tuple[int, int, int]] | None:
    """Return how a date is written, and its three numbers; None where it is no date."""
    if match := _YEAR_FIRST.fullmatch(text):
        first, middle, last = (int(part) for part in match.groups() if part is not None)
        return "year first", (first, middle, last)
    if match := _YEAR_LAST.fullmatch(text):
        look = "year last" if len(match[3]) == 4 else "short"
        return look, (int(match[1]), int(match[2]), int(match[3]))
    if match := _NAME_FIRST.fullmatch(text):
        name, day, year = match.groups()
    elif match := _NAMED.fullmatch(text):
        day, name, year = match.groups()
    else:
        return None
    month = _MONTH_OF.get("".join(words_of(name)))
    if month is None:
        return None
    if len(day) == 4:
        return "name, year first", (int(day), month, int(year))
    return ("name" if len(year) == 4 else "name, short"), (int(day), month, int(year))


def _day(parts: tuple[int, int, int], order: str) -> int | None:
    """Return days since 1970; None where the calendar has no such day, or no meter was read then."""
    year, month, day = (parts[order.index(each)] for each in "ymd")
    year += 2000 if year < 100 else 0
    try:
        return date(year, month, day).toordinal() - _EPOCH if 1990 <= year < 2100 else None
    except ValueError:
        return None


def _clocks(texts: list[str], where: Callable[[int], str]) -> tuple[_Integers, _Integers | None, frozenset[str]]:
    """Return seconds since midnight, offsets from UTC, and letters of zones."""
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
            raise LoadError(f"{where(place)}the time of day is {text!r}, but only some times have AM or PM")
        if (offsets[-1] is None) != (offsets[0] is None):
            raise LoadError(f"{where(place)}the time of day is {text!r}, but only some times have a UTC offset")
    printed = [offset for offset in offsets if offset is not None]
    if zones == {"GMT"}:
        printed, zones = [0] * len(texts), set()
    return (
        np.array(seconds, np.int64),
        np.array(printed, np.int64) if printed else None,
        frozenset(zone for zone in zones if zone is not None),
    )


def _with_colons(text: str) -> str:
    """Return 0015 as 00:15, and 15 as 00:15 where it is such a number without its zeros."""
    digits = re.match(r"\d*", text)[0]  # type: ignore[index]
    if not digits or text[len(digits) : len(digits) + 1] == ":" or len(digits) > 6:
        return text
    padded = digits.zfill(4 if len(digits) <= 4 else 6)
    return ":".join(padded[i : i + 2] for i in range(0, len(padded), 2)) + text[len(digits) :]


def _seconds(match: re.Match[str]) -> int | None:
    """Return seconds since midnight; None where no clock shows that time."""
    hour, minute, second = int(match[1]), int(match[2]), int(match[3] or 0)
    if match[4] is not None:
        if hour > 12 or (hour == 0 and match[4] in "Pp"):
            return None
        hour = hour % 12 + (12 if match[4] in "Pp" else 0)
    total = hour * 3600 + minute * 60 + second
    return total if minute < 60 and second < 60 and total <= DAY_S else None


def _offset(match: re.Match[str]) -> int | None:
    """Return clock minus UTC [s]; None where none is printed."""
    if match[5]:
        return 0
    if match[6] is None:
        return None
    offset = int(match[7]) * 3600 + int(match[8] or 0) * 60
    return -offset if match[6] == "-" else offset
