"""One cell of a meter CSV: what it looks like (a time, a date, a number, text), and the numbers of a column."""

import re
from collections.abc import Iterable
from math import isinf, nan
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError
from solarsim.load.meter.csv._words import set_key
from solarsim.scenario.load.meter import MeterCsv

Kind = Literal["stamp", "date", "clock", "number", "empty", "text"]  # a stamp is a date with a time of day

_MISSING = frozenset(("", "-", "--", "nan", "na", "n/a", "#n/a", "null", "none", "nil", "missing"))

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
_PERIOD = re.compile(r"\s+(?:to|bis|à|-|\u2013)\s+")
_NUMBER = re.compile(r"[+-]?(?:\d[\d.,' \u00a0\u2009\u202f]*|[.,]\d+)(?:[eE][+-]?\d+)?")

_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:(?:,\d{3})+|(?:[ '\u2019\u00a0\u2009\u202f]\d{3})+)(?:\.\d*)?")
_SEPARATORS = re.compile(r"[ ,'\u2019\u00a0\u2009\u202f]")
_EITHER = re.compile(r"[+-]?[1-9]\d{0,2}(?:(?:,\d{3})+|(?:\.\d{3})+)")  # 1,234: thousands or decimals
_SWAPPED = str.maketrans(".,", ",.")


def kind_of(cell: str) -> Kind:
    """Return what a cell looks like; a period from one time to another is what its times are."""
    if cell.lower() in _MISSING:
        return "empty"
    if _DATE_ALONE.fullmatch(cell):
        return "date"
    if _CLOCK_ALONE.fullmatch(cell):
        return "clock"
    if _STAMP.fullmatch(cell) or (_COMPACT_STAMP.fullmatch(cell) and _DATE_ALONE.fullmatch(cell[:8])):
        return "stamp"
    if _NUMBER.fullmatch(cell):
        return "number"
    ends = _PERIOD.split(cell, 1)
    return kind_of(ends[0]) if len(ends) == 2 and kind_of(ends[0]) == kind_of(ends[1]) else "text"


def starts_and_ends(cells: list[str]) -> tuple[list[str], list[str] | None]:
    """Split periods such as ``00:00 - 01:00``; the cells themselves and None where the first is no period."""
    if len(_PERIOD.split(cells[0], 1)) == 1:
        return cells, None
    periods = [(*_PERIOD.split(cell, 1), "")[:2] for cell in cells]
    return [start for start, _ in periods], [end for _, end in periods]


def split_stamp(cell: str) -> tuple[str, str]:
    """Return the date of a cell, and its time of day with what follows it; empty where there is none."""
    match = _SPLIT.fullmatch(cell) or _COMPACT_STAMP.fullmatch(cell)
    return (match[1], match[2]) if match else (cell, "")


def decimal_of(cells: Iterable[str], path: Path, settled: MeterCsv) -> str | None:
    """Return the decimal separator, None where no number has one; refuse numbers that could be read either way."""
    if settled.decimal is not None:
        return settled.decimal
    undecided = None
    for cell in cells:
        points, commas = cell.count("."), cell.count(",")
        if points + commas == 0 or kind_of(cell) != "number":
            continue
        if points and commas:
            return max(".,", key=cell.rindex)
        if points + commas > 1:  # two of a kind separate thousands
            return "," if points else "."
        if not _EITHER.fullmatch(cell):
            return "." if points else ","
        undecided = undecided or cell
    if undecided is not None:
        raise LoadError(
            f"{path}: numbers such as {undecided!r} could have thousands or decimals" + set_key("decimal", ".", ",")
        )
    return None


def numbers_from(cells: list[str], lines: list[int], name: str, decimal: str | None, path: Path) -> NDArray[np.float64]:
    """Return the numbers of one column, NaN where a cell is empty; refuse other text, naming its line."""
    read: dict[str, float] = {}
    for cell in dict.fromkeys(cells):  # each text once: most meters print few digits
        value = _number(cell.translate(_SWAPPED) if decimal == "," else cell)
        if value is None and cell.lower() not in _MISSING:
            marks = "" if decimal is None else f" with {decimal!r} as the decimal separator"
            raise LoadError(f"{path}: line {lines[cells.index(cell)]}: {name!r} is {cell!r}, must be a number{marks}")
        read[cell] = nan if value is None else value
        if isinf(read[cell]):
            raise LoadError(f"{path}: line {lines[cells.index(cell)]}: {name!r} is {cell!r}, must be a finite number")
    return np.array([read[cell] for cell in cells], np.float64)


def _number(text: str) -> float | None:
    """Return a number with a decimal point, thousands separated or not; None where it is none."""
    if _PLAIN.fullmatch(text):
        return float(text)
    return float(_SEPARATORS.sub("", text)) if _GROUPED.fullmatch(text) else None
