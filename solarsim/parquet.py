"""Columnar files: tables in, Parquet files written whole or not at all out; and back, some rows at a time.

pyarrow comes with the extra ``fleet``; it is loaded when first used.
"""

import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from solarsim.errors import InputError, MachineError, OutputError, ScenarioError, open_file
from solarsim.folders import staged_beside

if TYPE_CHECKING:
    import pyarrow as pa

_ROWS_OF_GROUP = 50_000
_NEEDED = ("pyarrow", "distributed")


def check_installed() -> None:
    """Check that the extra ``fleet`` is installed.

    Raises
    ------
    MachineError
        It is not, in whole or in part.
    """
    missing = [name for name in _NEEDED if find_spec(name) is None]
    if missing:
        raise MachineError(f"this needs {' and '.join(missing)}: python -m pip install 'solarsim[fleet]'")


def write_table(path: Path, table: "pa.Table") -> None:
    """Write one file whole or not at all.

    Parameters
    ----------
    path : pathlib.Path
        The file; an existing one is replaced.
    table : pyarrow.Table
        All of it.

    Raises
    ------
    OutputError
        The system refuses.
    """
    import pyarrow.parquet as pq

    with replacing(path) as staged:
        pq.write_table(table, staged, compression="zstd")


def write_joined(path: Path, parts: Iterable["pa.Table"], schema: "pa.Schema") -> None:
    """Write the rows of many tables to one file; its bytes do not depend on how the rows were parted.

    Parameters
    ----------
    path : pathlib.Path
        The file; an existing one is replaced.
    parts : iterable of pyarrow.Table
        In order; one is in memory at a time, besides the rows of a group.
    schema : pyarrow.Schema
        Of all of them.

    Raises
    ------
    OutputError
        The system refuses.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    with replacing(path) as staged, pq.ParquetWriter(staged, schema, compression="zstd") as writer:
        waiting = schema.empty_table()
        for part in parts:
            waiting = pa.concat_tables([waiting, part])
            while waiting.num_rows >= _ROWS_OF_GROUP:
                writer.write_table(waiting.slice(0, _ROWS_OF_GROUP).combine_chunks(), _ROWS_OF_GROUP)
                waiting = waiting.slice(_ROWS_OF_GROUP).combine_chunks()
        if waiting.num_rows:
            writer.write_table(waiting.combine_chunks(), _ROWS_OF_GROUP)


def read_table(path: Path) -> "pa.Table":
    """Read a file that was written here, whole.

    Parameters
    ----------
    path : pathlib.Path
        The file.

    Returns
    -------
    pyarrow.Table
        All of it.

    Raises
    ------
    ScenarioError
        It is not there, or is no Parquet file.
    """
    import pyarrow.parquet as pq

    with open_file(path, ScenarioError) as file, _told(path, ScenarioError):
        return pq.read_table(file)


def batches(
    path: Path, refuse: type[InputError], columns: Sequence[str] | None = None, rows: int = 5_000
) -> Iterator["pa.RecordBatch"]:
    """Read a Parquet file some rows at a time.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    refuse : type of InputError
        What to raise.
    columns : sequence of str, optional
        Only these.
    rows : int
        At most so many at a time.

    Yields
    ------
    pyarrow.RecordBatch
        The next rows.

    Raises
    ------
    InputError
        Of the given type: the file cannot be read.
    """
    import pyarrow.parquet as pq

    with open_file(path, refuse) as file, _told(path, refuse):
        yield from pq.ParquetFile(file).iter_batches(rows, columns=None if columns is None else list(columns))


def schema_of(path: Path, refuse: type[InputError]) -> "pa.Schema":
    """Return the columns of a Parquet file.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    refuse : type of InputError
        What to raise.

    Returns
    -------
    pyarrow.Schema
        Names and types.

    Raises
    ------
    InputError
        Of the given type: the file cannot be read.
    """
    import pyarrow.parquet as pq

    with open_file(path, refuse) as file, _told(path, refuse):
        return pq.read_schema(file)


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Yield the path of a temporary file beside another; it takes the other's place in the end, or nothing changes.

    Parameters
    ----------
    path : pathlib.Path
        The file to be replaced.

    Yields
    ------
    pathlib.Path
        Where to write.

    Raises
    ------
    OutputError
        The system refuses.
    """
    staged: Path | None = None
    try:
        staged = staged_beside(path)
        yield staged
        os.replace(staged, path)
        staged = None
    except OSError as error:
        reason = os.strerror(error.errno) if error.errno else str(error)
        raise OutputError(f"{path}: cannot be written: {reason}") from None
    finally:
        if staged is not None:
            with suppress(OSError):
                staged.unlink()


@contextmanager
def _told(path: Path, refuse: type[InputError]) -> Iterator[None]:
    """Turn what the library says of a damaged file into one line."""
    import pyarrow as pa

    try:
        yield
    except (pa.ArrowInvalid, pa.ArrowNotImplementedError, OSError):
        raise refuse(f"{path}: is not a Parquet file that can be read; it may be cut short") from None
