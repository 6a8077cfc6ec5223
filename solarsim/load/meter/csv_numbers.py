"""The numbers of a meter CSV: cells with decimal points or commas in, floats out."""

import re
from collections.abc import Iterable
from math import isinf, nan
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError
from solarsim.load.meter.csv_cells import MISSING, kind_of
from solarsim.scenario.load.meter import MeterCsv, settled_by

_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:(?:,\d{3})+|(?:[ '\u2019\u00a0\u2009\u202f]\d{3})+)(?:\.\d*)?")
_GROUPS = re.compile(r"[ ,'\u2019\u00a0\u2009\u202f]")
_EITHER = re.compile(r"[+-]?[1-9]\d{0,2}(?:(?:,\d{3})+|(?:\.\d{3})+)")  # 1,234: thousands or decimals
_SWAPPED = str.maketrans(".,", ",.")


def decimal_of(cells: Iterable[str], path: Path, settled: MeterCsv) -> str | None:
    """Find what stands before the decimals.

    Parameters
    ----------
    cells : iterable of str
        Every number of the file.
    path : pathlib.Path
        The file, for messages.
    settled : MeterCsv
        Its ``decimal``, where the user gives one.

    Returns
    -------
    str or None
        ``.`` or ``,``; None where no number has either.

    Raises
    ------
    LoadError
        Every number that has a point or comma could be meant either way, such as 1,234.
    """
    if settled.decimal is not None:
        return settled.decimal
    undecided = None
    for cell in cells:
        points, commas = cell.count("."), cell.count(",")
        if points + commas == 0 or kind_of(cell) != "number":
            continue
        if points and commas:
            return max(".,", key=cell.rindex)
        if points + commas > 1:  # two of a kind part thousands
            return "," if points else "."
        if not _EITHER.fullmatch(cell):
            return "." if points else ","
        undecided = undecided or cell
    if undecided is not None:
        raise LoadError(
            f"{path}: numbers such as {undecided!r} have thousands or decimals" + settled_by("decimal", ".", ",")
        )
    return None


def numbers_from(cells: list[str], lines: list[int], name: str, decimal: str | None, path: Path) -> NDArray[np.float64]:
    """Read one column of numbers.

    Parameters
    ----------
    cells : list of str
        Without blanks around them.
    lines : list of int
        The line of each cell, for messages.
    name : str
        The column's name, for messages.
    decimal : str or None
        ``.`` or ``,``.
    path : pathlib.Path
        The file, for messages.

    Returns
    -------
    array of float
        In the unit of the column; NaN where a cell is empty or says that there is no value.

    Raises
    ------
    LoadError
        A cell is neither.
    """
    read: dict[str, float] = {}
    for cell in dict.fromkeys(cells):  # each text once: most meters print few digits
        value = _number(cell.translate(_SWAPPED) if decimal == "," else cell)
        if value is None and cell.lower() not in MISSING:
            marks = "" if decimal is None else f" with decimals after {decimal!r}"
            raise LoadError(f"{path}: line {lines[cells.index(cell)]}: {name!r} is {cell!r}, must be a number{marks}")
        read[cell] = nan if value is None else value
        if isinf(read[cell]):
            raise LoadError(f"{path}: line {lines[cells.index(cell)]}: {name!r} is {cell!r}, must be a finite number")
    return np.array([read[cell] for cell in cells], np.float64)


def _number(text: str) -> float | None:
    """Read a number with a decimal point, thousands parted or not; None where it is none."""
    if _PLAIN.fullmatch(text):
        return float(text)
    return float(_GROUPS.sub("", text)) if _GROUPED.fullmatch(text) else None
