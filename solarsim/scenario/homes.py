"""A table of homes: a CSV or Parquet file in; one row for each home, with its changes to a scenario, out.

Rows are read as they are needed, so that a million of them need no more memory than a hundred. What is wrong with a
row is kept with the row; what is wrong with the table as a whole is refused before anything runs.
"""

import csv
import hashlib
from array import array
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import TextIOWrapper
from math import isnan
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from solarsim.errors import ScenarioError, nearest, open_file
from solarsim.parquet import batches, schema_of
from solarsim.scenario._changes import changed_tables, value_from
from solarsim.scenario._tables import Origin, tables_of_file, text_of_file
from solarsim.scenario.model import Scenario
from solarsim.scenario.read import scenario_from_text, scenario_path

ID, SCENARIO = "id", "scenario"
_YEAR_KEY = "site.calendar_year"
_MOST_READ = 64  # scenario files that are read to check the columns
_MOST_TOLD = 3
Cells = Sequence[Any]


class HomeRow(NamedTuple):
    """One row of a table of homes.

    Attributes
    ----------
    place : int
        Number of the row, from 0.
    id : str or None
        Name of the home; None where the cell is empty.
    scenario : pathlib.Path or None
        Its scenario file; None where there is a problem.
    changes : dict of str to object
        For ``Scenario.changed``.
    problem : str or None
        Why the row is no home.
    cells : sequence
        The cells as read, one for each column of the table; None where empty.
    """

    place: int
    id: str | None
    scenario: Path | None
    changes: dict[str, Any]
    problem: str | None
    cells: Cells


@dataclass(frozen=True, eq=False)
class HomesTable:
    """A table of homes that was checked.

    Attributes
    ----------
    path : pathlib.Path
        The file.
    columns : tuple of str
        Names of all columns.
    labels : tuple of str
        Those of them that are no keys.
    count : int
        Number of rows.
    digest : str
        Of the file and of scenario files that it names, so far as they were looked at.
    years : tuple of int
        Calendar years that scenarios and rows name, so far as they were looked at.
    most_strategies : int
        Most strategies of a scenario, likewise.
    step_minutes : int
        Shortest steps of a scenario, likewise [min].
    """

    path: Path
    columns: tuple[str, ...]
    labels: tuple[str, ...]
    count: int
    digest: str
    years: tuple[int, ...]
    most_strategies: int = 1
    step_minutes: int = 60

    @property
    def keys(self) -> tuple[str, ...]:
        """The columns that change a scenario."""
        return tuple(name for name in self.columns if name not in (ID, SCENARIO, *self.labels))

    def rows(self) -> Iterator[HomeRow]:
        """Read the rows.

        Yields
        ------
        HomeRow
            In the order of the file.

        Raises
        ------
        ScenarioError
            The file can no longer be read as it was when it was checked.
        """
        places = {name: place for place, name in enumerate(self.columns)}
        keys = [(name, places[name]) for name in self.keys]
        folder = self.path.absolute().parent
        for place, (line, cells) in enumerate(_raw_rows(self.path)):
            if len(cells) != len(self.columns):
                known = _plain_id(cells[places[ID]]) if places[ID] < len(cells) else None
                problem = f"line {line} has {len(cells)} of {len(self.columns)} columns"
                yield HomeRow(place, known, None, {}, problem, [None] * len(self.columns))
                continue
            shown = [None if _is_empty(cell) else cell for cell in cells]
            own, base = _plain_id(shown[places[ID]]), shown[places[SCENARIO]]
            missing = next((name for name, cell in ((ID, own), (SCENARIO, base)) if cell is None), None)
            if missing is not None:
                yield HomeRow(place, own, None, {}, f"line {line}: {missing} is empty", shown)
                continue
            try:
                changes = {name: _value(shown[at]) for name, at in keys if shown[at] is not None}
                yield HomeRow(place, own, _scenario_file(folder, str(base)), changes, None, shown)
            except ScenarioError as error:
                yield HomeRow(place, own, None, {}, "; ".join(error.problems), shown)


def read_homes(path: Path, labels: Sequence[str] = ()) -> HomesTable:
    """Read and check a table of homes as a whole.

    Parameters
    ----------
    path : pathlib.Path
        CSV with a line of names, or Parquet (by its suffix). ``id`` and ``scenario`` (a path relative to the file's
        folder, or the name of a packaged example) are needed; every other column is a key of the scenario, or a label.
    labels : sequence of str
        Columns that are no keys.

    Returns
    -------
    HomesTable
        Its rows are read when asked for.

    Raises
    ------
    ScenarioError
        The file cannot be read, is empty, has no column ``id`` or ``scenario``, a column twice or one that is neither
        a key nor a label; or two homes have the same ``id``.
    """
    columns = _columns_of(path)
    _check_columns(path, columns, labels)
    at_id, at_scenario = columns.index(ID), columns.index(SCENARIO)
    at_year = columns.index(_YEAR_KEY) if _YEAR_KEY in columns else None
    hashes, files, years = array("Q"), set[str](), set[int]()
    count = 0
    for _, cells in _raw_rows(path):
        count += 1
        own = _plain_id(cells[at_id]) if at_id < len(cells) else None
        if own is not None:
            hashes.append(_hash(own))
        if len(cells) != len(columns):
            continue
        if not _is_empty(cells[at_scenario]):
            files.add(str(cells[at_scenario]))
        if len(files) > 2 * _MOST_READ:
            files = set(sorted(files)[:_MOST_READ])
        year = None if at_year is None or _is_empty(cells[at_year]) else _value(cells[at_year])
        years |= {year} if isinstance(year, int) else set()
    if not count:
        raise ScenarioError(f"{path}: holds no homes")
    _check_ids(path, at_id, hashes)
    bases = _bases(path, sorted(files)[:_MOST_READ])
    years |= {year for each in bases if isinstance(year := _of_site(each, "calendar_year"), int)}
    table = HomesTable(
        path=path,
        columns=columns,
        labels=tuple(labels),
        count=count,
        digest=_digest(path, *(each.file for each in bases if each.file is not None)),
        years=tuple(sorted(years)),
        most_strategies=max((len(_list(each.tables.get("strategies"))) for each in bases), default=1),
        step_minutes=min((m for each in bases if isinstance(m := _of_site(each, "step_minutes"), int)), default=60),
    )
    _check_keys(path, table.keys, bases)
    return table


def text_of_scenario(path: Path) -> str:
    """Return the text of a scenario file, for a process that may not see the file."""
    return text_of_file(path)


def scenario_of(text: str, path: Path) -> Scenario:
    """Return the scenario of such a text; see ``scenario_from_text``."""
    return scenario_from_text(text, path)


def _columns_of(path: Path) -> tuple[str, ...]:
    if _is_parquet(path):
        return tuple(schema_of(path, ScenarioError).names)
    if path.suffix.lower() == ".toml":
        raise ScenarioError(f"{path}: is a scenario, must be a table of homes (CSV or Parquet)")
    for _, cells in _csv_rows(path):
        if len(cells) == 1 and ";" in cells[0]:
            raise ScenarioError(f"{path}: columns are separated by ';', must be separated by ','")
        return tuple(cell.strip() for cell in cells)
    raise ScenarioError(f"{path}: is empty")


def _check_columns(path: Path, columns: Sequence[str], labels: Sequence[str]) -> None:
    """Refuse a table without the columns that are needed, or with unclear ones."""
    problems = [f"has no column {name!r}" for name in (ID, SCENARIO) if name not in columns]
    problems += [f"has two columns {name!r}" for name in dict.fromkeys(columns) if columns.count(name) > 1]
    if "" in columns:
        problems.append(f"column {columns.index('') + 1} has no name")
    problems += [f"has no column {name!r}{nearest(name, columns)}" for name in labels if name not in columns]
    if problems:
        raise ScenarioError(*(f"{path}: {problem}" for problem in problems))


def _check_ids(path: Path, at_id: int, hashes: "array[int]") -> None:
    """Refuse ids that appear twice; hashes find them, and a second look tells them."""
    found, counts = np.unique(np.frombuffer(hashes, np.uint64), return_counts=True)
    doubtful = set(found[counts > 1].tolist())
    if not doubtful:
        return
    lines: dict[str, list[int]] = {}
    for line, cells in _raw_rows(path):
        own = _plain_id(cells[at_id]) if at_id < len(cells) else None
        if own is not None and _hash(own) in doubtful:
            lines.setdefault(own, []).append(line)
    twice = {name: where for name, where in lines.items() if len(where) > 1}
    told = [f"id {name!r} appears in lines {' and '.join(map(str, where[:2]))}" for name, where in twice.items()]
    if len(told) > _MOST_TOLD:
        told = [*told[:_MOST_TOLD], f"{len(told) - _MOST_TOLD:,} more ids appear twice"]
    if told:
        raise ScenarioError(*(f"{path}: {each}" for each in told))


def _check_keys(path: Path, keys: Sequence[str], bases: Sequence[Origin]) -> None:
    """Refuse columns that are a key of none of the scenario files."""
    problems = []
    for key in keys:
        told = [_why_no_key(key, base) for base in bases]
        if told and None not in told:
            problems.append(f"{path}: column {told[0]}; a column that is no key is named with --label")
    if problems:
        raise ScenarioError(*problems)


def _why_no_key(key: str, base: Origin) -> str | None:
    try:
        changed_tables(Scenario, base.tables, {key: None}, base.rate_plan_tables)
    except ScenarioError as error:
        return error.problems[0]
    return None


def _bases(path: Path, names: Sequence[str]) -> list[Origin]:
    """Return the tables of some scenario files; what is wrong with them is told row by row."""
    found = []
    for name in names:
        try:
            file = _scenario_file(path.absolute().parent, name)
            found.append(Origin(tables_of_file(file), file.parent, file))
        except ScenarioError:
            continue
    return found


def _of_site(base: Origin, key: str) -> object:
    site = base.tables.get("site")
    return site.get(key) if isinstance(site, dict) else None


def _list(value: object) -> list[object]:
    return value if isinstance(value, list) else []


def _scenario_file(folder: Path, name: str) -> Path:
    """Return the file that a cell names."""
    beside = folder / Path(name).expanduser() if name.startswith("~") else folder / name
    return beside if beside.exists() or Path(name).parent != Path() else folder / scenario_path(name)


def _raw_rows(path: Path) -> Iterator[tuple[int, Cells]]:
    """Yield number and cells of each row below the names; of a CSV the number of its line."""
    if _is_parquet(path):
        line = 0
        for batch in batches(path, ScenarioError):
            for cells in zip(*(column.to_pylist() for column in batch.columns), strict=True):
                line += 1
                yield line, cells
        return
    rows = _csv_rows(path)
    next(rows, None)
    yield from rows


def _csv_rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    with open_file(path, ScenarioError) as raw, TextIOWrapper(raw, encoding="utf-8-sig", newline="") as text:
        reader = csv.reader(text, strict=True)
        try:
            for cells in reader:
                if cells:
                    yield reader.line_num, cells
        except UnicodeDecodeError:
            raise ScenarioError(f"{path}: is not UTF-8 text (near line {reader.line_num + 1})") from None
        except csv.Error as error:
            raise ScenarioError(f"{path}: line {reader.line_num}: cannot be read as CSV: {error}") from None


def _is_parquet(path: Path) -> bool:
    return path.suffix.lower() == ".parquet"


def _is_empty(cell: Any) -> bool:
    return cell is None or (isinstance(cell, str) and not cell.strip()) or (isinstance(cell, float) and isnan(cell))


def _plain_id(cell: Any) -> str | None:
    return None if _is_empty(cell) else str(cell).strip()


def _value(cell: Any) -> Any:
    """Return a cell as a change: text is read as on the command line; spreadsheets write whole numbers with a point."""
    if isinstance(cell, str):
        return value_from(cell.strip())
    return int(cell) if isinstance(cell, float) and cell.is_integer() else cell


def _hash(text: str) -> int:
    return int.from_bytes(hashlib.blake2b(text.encode(), digest_size=8).digest(), "little")


def _digest(*paths: Path) -> str:
    """Return a digest of some files together."""
    found = hashlib.sha256()
    for path in paths:
        with open_file(path, ScenarioError) as file:
            while block := file.read(2**20):
                found.update(block)
    return found.hexdigest()
