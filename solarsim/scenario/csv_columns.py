"""Hourly CSV with named columns: text in, one array of numbers for each column out."""

import csv
import re
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import InputError, nearest_name

if TYPE_CHECKING:
    from _csv import Reader


_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf|infinity)", re.IGNORECASE)


def number_of(text: str) -> float | None:
    """Return the number that a cell holds: ASCII digits without separators; None where it holds none.

    Parameters
    ----------
    text : str
        The cell; blanks around the number do not count.

    Returns
    -------
    float or None
        A number, which may be infinite or no number (``inf``, ``nan``) where the cell says so or is out of range.

    Examples
    --------
    >>> number_of(" 21.5"), number_of("1_000"), number_of("1,5")
    (21.5, None, None)
    """
    text = text.strip()
    return float(text) if _NUMBER.fullmatch(text) or _NOT_FINITE.fullmatch(text) else None


def numbers_from_csv(
    text: str, path: Path, columns: tuple[str, ...], refuse: type[InputError], above: int = 0
) -> dict[str, NDArray[np.float64]]:
    """Read the named columns of a comma-separated file; other columns are not read.

    Parameters
    ----------
    text : str
        The file's text; its first line names the columns.
    path : pathlib.Path
        The file, for messages.
    columns : tuple of str
        The columns wanted.
    refuse : type of InputError
        What to raise.
    above : int
        Lines of the file above the text.

    Returns
    -------
    dict of str to array of float
        One array for each wanted column, one entry for each row.

    Raises
    ------
    InputError
        Of the given type: the text is empty or not CSV, a column is missing or appears twice, a row
        has fewer or more values than columns (decimal commas), or a value is not a finite number.
    """
    if not text.strip():
        raise refuse(f"{path}: is empty")
    rows = csv.reader(text.splitlines(), strict=True)
    try:
        return _numbers(rows, path, columns, refuse, above, plain=_is_plain(text))
    except csv.Error as error:  # a quote that is never closed
        raise refuse(f"{path}: cannot be read as CSV: {error}") from None


def _is_plain(text: str) -> bool:
    """Return whether all that Python takes for a number here is one: no underscores, no digits of other scripts."""
    return text.isascii() and "_" not in text.partition("\n")[2]


def texts_from_csv(text: str, column: str) -> list[str] | None:
    """Read one column of a comma-separated file as text, after ``numbers_from_csv`` has found the file whole.

    Parameters
    ----------
    text : str
        The file's text; its first line names the columns.
    column : str
        The column wanted.

    Returns
    -------
    list of str or None
        One entry for each row; None where there is no such column.
    """
    header, *rows = csv.reader(text.splitlines())
    names = [name.strip() for name in header]
    return [row[names.index(column)] for row in rows if row] if column in names else None


def _numbers(
    rows: "Reader", path: Path, columns: tuple[str, ...], refuse: type[InputError], above: int, plain: bool
) -> dict[str, NDArray[np.float64]]:
    header = [name.strip() for name in next(rows, [])]
    for name in columns:
        if name not in header:
            if len(header) == 1 and ";" in header[0]:
                raise refuse(f"{path}: columns are separated by ';', must be separated by ','")
            near = nearest_name(name, header)
            has = f"it has: {', '.join(header)}"[:200] if near is None else f"did you mean {near!r}?"
            raise refuse(f"{path}: has no column {name!r}; {has}")
        if header.count(name) > 1:
            raise refuse(f"{path}: has two columns {name!r}")
    places = [header.index(name) for name in columns]
    values: list[list[float]] = []
    for row in rows:
        if not row:
            continue
        line = above + rows.line_num
        if len(row) != len(header):
            raise refuse(f"{path}: line {line} has {len(row)} of {len(header)} columns")
        try:
            numbers = [float(row[place]) if plain else _strict(row[place]) for place in places]
        except ValueError:
            name, value = next((n, row[p]) for n, p in zip(columns, places, strict=True) if number_of(row[p]) is None)
            raise refuse(f"{path}: line {line}: {name} is {value!r}, must be a number") from None
        if not all(map(isfinite, numbers)):
            name, number = next((n, v) for n, v in zip(columns, numbers, strict=True) if not isfinite(v))
            raise refuse(f"{path}: line {line}: {name} is {number}, must be a finite number")
        values.append(numbers)
    table = np.array(values, np.float64).reshape(len(values), len(columns))
    return {name: np.ascontiguousarray(table[:, place]) for place, name in enumerate(columns)}


def _strict(text: str) -> float:
    number = number_of(text)
    if number is None:
        raise ValueError(text)
    return number
