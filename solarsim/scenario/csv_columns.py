"""Hourly CSV with named columns: text in, one array of numbers for each column out."""

import csv
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import InputError, nearest_name

if TYPE_CHECKING:
    from _csv import Reader


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
        return _numbers(rows, path, columns, refuse, above)
    except csv.Error as error:  # a quote that is never closed
        raise refuse(f"{path}: cannot be read as CSV: {error}") from None


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
    rows: "Reader", path: Path, columns: tuple[str, ...], refuse: type[InputError], above: int
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
            numbers = [float(row[place]) for place in places]
        except ValueError:
            name, value = next((n, row[p]) for n, p in zip(columns, places, strict=True) if not _is_number(row[p]))
            raise refuse(f"{path}: line {line}: {name} is {value!r}, must be a number") from None
        if not all(map(isfinite, numbers)):
            name, number = next((n, v) for n, v in zip(columns, numbers, strict=True) if not isfinite(v))
            raise refuse(f"{path}: line {line}: {name} is {number}, must be a finite number")
        values.append(numbers)
    table = np.array(values, np.float64).reshape(len(values), len(columns))
    return {name: np.ascontiguousarray(table[:, place]) for place, name in enumerate(columns)}


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
