"""The table inside a meter CSV: bytes in, column names and rows out.

Utilities write lines above the table (name, address, meter number), sometimes a row of units below the column names,
the names again after each month, and totals at the end.
"""

import csv
import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from solarsim.errors import LoadError, file_bytes
from solarsim.load.meter.csv._cells import kind_of
from solarsim.load.meter.csv._words import is_unit_row, set_key
from solarsim.scenario.load.meter import MeterCsv

_DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "|"}
_SAMPLE_LINES = 400
_MOST_LINES_BELOW = 10  # totals and remarks; more are readings without a date
_HOURS_OF_DAY = 24  # that many numbers in a row are a day


@dataclass(frozen=True, eq=False)
class Table:
    """The rows of a meter CSV as text, the line of each, and the unit of each column in a row of units."""

    path: Path
    names: tuple[str, ...]
    units: tuple[str, ...]
    rows: list[list[str]]
    lines: list[int]
    notes: tuple[str, ...]

    def column(self, place: int) -> list[str]:
        """Return the cells of one column, without blanks around them."""
        return [row[place].strip() for row in self.rows]


def read_table(path: Path, settled: MeterCsv) -> Table:
    """Read a file in UTF-8, UTF-16 or latin-1, and find its table."""
    text, notes = _text_of(path)
    delimiter = settled.delimiter or _delimiter_of(text, path)
    rows, lines = _rows(text, delimiter, path)
    first, place = _first_reading(rows, delimiter, path)
    above = [index for index in range(first) if _filled(rows[index])]
    under = above.pop() if len(above) > 1 and is_unit_row(rows[above[-1]]) else None
    top = above.pop() if above else first
    numbers = sum(kind_of(cell.strip()) == "number" for cell in rows[first])
    _check_head(rows[top], f"{path}: line {lines[top]}", of_a_day=numbers >= _HOURS_OF_DAY)
    names = _fitted(rows[top], len(rows[first]), f"{path}: line {lines[top]}")
    units = [] if under is None else _fitted(rows[under], len(rows[first]), f"{path}: line {lines[under]}")
    notes.append(f"columns are separated by {_DELIMITERS[delimiter]}")
    if above:
        notes.append(skipped(len(above), "line", " above the table"))
    heads = [rows[top]] if under is None else [rows[top], rows[under]]
    kept = [index for index in range(first, len(rows)) if rows[index] not in heads and _filled(rows[index])]
    again = sum(row in heads for row in rows[first:])
    if again:
        notes.append(skipped(again, "line", " that repeats the column names" if again == 1 else " of column names"))
    ends = len(kept)
    while len(kept) - ends < _MOST_LINES_BELOW and _is_below("".join(rows[kept[ends - 1]][place : place + 1]).strip()):
        ends -= 1
    if ends < len(kept):
        notes.append(skipped(len(kept) - ends, "line", " below the table") + f", from line {lines[kept[ends]]}")
    named = 1 + max(place for place, name in enumerate(names) if name)
    table = Table(
        path=path,
        names=tuple(names[:named]),
        units=tuple((units + [""] * named)[:named]),
        rows=[rows[index] for index in kept[:ends]],
        lines=[lines[index] for index in kept[:ends]],
        notes=tuple(notes),
    )
    _check_widths(table)
    return table


def skipped(count: int, what: str, which: str = "") -> str:
    """Return a note such as ``3 lines above the table were skipped``."""
    return f"{count} {what}{which} was skipped" if count == 1 else f"{count} {what}s{which} were skipped"


def _text_of(path: Path) -> tuple[str, list[str]]:
    """Return the file's text, and a note where it is not UTF-8."""
    raw = file_bytes(path, LoadError)
    if not raw.strip():
        raise LoadError(f"{path}: is empty")
    if raw.startswith(b"PK\x03\x04"):
        raise LoadError(f"{path}: is a workbook or zip archive, not CSV; save the sheet as CSV")
    notes: list[str] = []
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = raw.decode("utf-16", errors="replace")
        notes = ["was read as UTF-16"]
    else:
        try:
            text = raw.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = raw.decode("latin-1")
            notes = ["is not UTF-8; it was read as latin-1"]
    if "\0" in text:
        raise LoadError(f"{path}: is not text (zero byte at {text.index(chr(0))})")
    if text.lstrip().startswith("<"):
        raise LoadError(f"{path}: is XML or HTML, not CSV")
    return text, notes


def _rows(text: str, delimiter: str, path: Path) -> tuple[list[list[str]], list[int]]:
    """Split every line; return the rows, and the line on which each ends."""
    reader = csv.reader(io.StringIO(text, newline=None), delimiter=delimiter, strict=True)
    rows, lines = [], []
    try:
        for row in reader:
            rows.append(row)
            lines.append(reader.line_num)
    except csv.Error as error:  # a quote that is never closed
        raise LoadError(f"{path}: line {reader.line_num}: cannot be read as CSV: {error}") from None
    return rows, lines


def _delimiter_of(text: str, path: Path) -> str:
    """Return the one delimiter that makes rows with a date and a number."""
    sample = text.splitlines()[:_SAMPLE_LINES]
    readings = {delimiter: sum(map(_is_reading, _sampled(sample, delimiter))) for delimiter in _DELIMITERS}
    most = max(readings.values())
    if most == 0:
        raise LoadError(f"{path}: no line has a date and a number separated by commas, semicolons, tabs or |")
    best = [delimiter for delimiter, count in readings.items() if count == most]
    if len(best) > 1:
        choices = " or ".join(_DELIMITERS[delimiter] for delimiter in best)
        raise LoadError(f"{path}: columns could be separated by {choices}" + set_key("delimiter", *best))
    return best[0]


def _sampled(lines: list[str], delimiter: str) -> Iterator[list[str]]:
    """Yield rows up to the first that the delimiter does not fit; ``_rows`` judges the right one."""
    try:
        yield from csv.reader(lines, delimiter=delimiter)
    except csv.Error:
        return


def _is_reading(row: list[str]) -> bool:
    kinds = {kind_of(cell.strip()) for cell in row}
    return "number" in kinds and bool(kinds & {"stamp", "date"})


def _first_reading(rows: list[list[str]], delimiter: str, path: Path) -> tuple[int, int]:
    """Return the first row of the table, and the column of its date."""
    shapes = Counter(
        (len(row), _date_place(row)) for row in rows[: _SAMPLE_LINES + 1] if len(row) > 1 and _is_reading(row)
    )
    if not shapes:
        raise LoadError(
            f"{path}: no line has a date and a number separated by {_DELIMITERS[delimiter]}" + set_key("delimiter")
        )
    shape = shapes.most_common(1)[0][0]
    return next(i for i, row in enumerate(rows) if (len(row), _date_place(row)) == shape), shape[1]


def _date_place(row: list[str]) -> int:
    return next((i for i, cell in enumerate(row) if kind_of(cell.strip()) in ("stamp", "date")), -1)


def _check_head(row: list[str], where: str, of_a_day: bool) -> None:
    """Refuse a line above the first reading that names no columns, or an hour in each."""
    kinds = [kind_of(cell.strip()) for cell in row]
    if "stamp" not in kinds and kinds.count("clock") + kinds.count("number") >= 12:
        raise LoadError(f"{where} has one column for each hour; rearrange the file to one row for each reading")
    if len(row) < 2 or "text" not in kinds or set(kinds) & {"stamp", "date", "number"}:
        hint = "each row is a whole day: write one row for each reading" if of_a_day else "add a line of them"
        raise LoadError(f"{where} should be the column names, but is {', '.join(row)[:60]!r}; {hint}")


def _fitted(row: list[str], width: int, where: str) -> list[str]:
    """Return a row with as many cells as the table has columns; only empty ones may be added or cut."""
    if _filled(row[width:]):
        raise LoadError(f"{where} has {len(row)} column names, but the readings have {width} columns")
    return [cell.strip() for cell in (row + [""] * width)[:width]]


def _is_below(cell: str) -> bool:
    """Return whether a cell in the date column begins a line below the table; a date cut short does not."""
    return not cell[:1].isdigit() and kind_of(cell) not in ("stamp", "date")


def _check_widths(table: Table) -> None:
    """Refuse rows with more or fewer cells than names; empty ones may follow."""
    width = len(table.names)
    for row, line in zip(table.rows, table.lines, strict=True):
        if len(row) < width:
            raise LoadError(f"{table.path}: line {line} has {len(row)} of {width} columns")
        if len(row) > width and _filled(row[width:]):
            raise LoadError(
                f"{table.path}: line {line} has {len(row)} values for {width} columns (decimal commas in a file"
                " separated by commas?)"
            )


def _filled(row: list[str]) -> bool:
    return bool("".join(row).strip())
