"""What a fleet has found so far, on disk: answers of chunks in, in any order; one file, always the same, out.

Beside the result stands a folder ``<result>.unfinished`` with a file for each finished chunk, and one file that names
them and holds their sum. It is written every few seconds: a chunk that it does not name is run again. When all chunks
are there, they become the result, and the folder goes.
"""

import os
import shutil
import time
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from solarsim.errors import OutputError, ScenarioError
from solarsim.parquet import read_table, write_joined, write_table
from solarsim.studies.fleet._chunk import ChunkAnswer
from solarsim.studies.fleet._rows import HEAD
from solarsim.studies.fleet._sums import COLUMNS, FleetSums, Key, Total

if TYPE_CHECKING:
    import pyarrow as pa

_EVERY_S = 5.0
_STATE = "finished.parquet"


class Store:
    """The chunks of one result.

    Parameters
    ----------
    out : pathlib.Path
        The result.
    job : str
        What decides the result: homes, options, version. A folder of another job is not continued.
    chunk : int
        Homes of a chunk; where chunks are there already, theirs counts.
    year : int
        Of the sums.
    """

    def __init__(self, out: Path, job: str, chunk: int, year: int) -> None:
        self._out, self._job = out, job
        self.folder = folder_of(out)
        self.chunk, self.sums = chunk, FleetSums(year)
        self.done: set[int] = set()
        self.failed = self.digest = 0
        self._written = time.monotonic()

    def begin(self, resume: bool) -> None:
        """Make the folder, or read it.

        Parameters
        ----------
        resume : bool
            Whether to go on with what is there; else it is removed.

        Raises
        ------
        OutputError
            There is nothing to go on with, or it is of other homes or options; or the system refuses.
        """
        if resume:
            self._read()
            return
        try:
            shutil.rmtree(self.folder, ignore_errors=True)
            self.folder.mkdir()
        except OSError as error:
            raise OutputError(f"{self.folder}: cannot be made: {error.strerror}") from None

    def keep(self, number: int, answer: ChunkAnswer, cells: "pa.Table") -> None:
        """Write the rows of a chunk, and from time to time which chunks are there.

        Parameters
        ----------
        number : int
            Of the chunk.
        answer : ChunkAnswer
            Its rows and sums.
        cells : pyarrow.Table
            What the table of homes has on each of its homes.

        Raises
        ------
        OutputError
            The system refuses, because the disk is full for example.
        """
        write_table(self._file(number), beside(answer.rows, answer.counts, cells))
        self.sums.merge(answer.sums)
        self.failed += answer.failed
        self.digest = (self.digest + answer.digest) % 2**256
        self.done.add(number)
        if time.monotonic() - self._written > _EVERY_S:
            self.write_state()

    def write_state(self) -> None:
        """Write which chunks are there, and their sum.

        Raises
        ------
        OutputError
            The system refuses.
        """
        import pyarrow as pa

        sums = self.sums
        told = {
            "job": self._job,
            "chunk": self.chunk,
            "done": spans(self.done),
            "failed": self.failed,
            "digest": f"{self.digest:x}",
            "year": sums.year,
            "minutes": sums.minutes,
            "too_many": int(sums.too_many),
        }
        rows = [
            {
                "kind": key.kind,
                "name": key.name,
                "homes": total.homes,
                "import_peaks": total.import_peaks,
                "export_peaks": total.export_peaks,
                "values": total.values.ravel(),
            }
            for key, total in sums.totals.items()
        ]
        kinds = [("kind", pa.string()), ("name", pa.string()), ("homes", pa.int64()), ("import_peaks", pa.int64())]
        schema = pa.schema([*kinds, ("export_peaks", pa.int64()), ("values", pa.list_(pa.int64()))])
        table = pa.Table.from_pylist(rows, schema=schema)
        write_table(self.folder / _STATE, table.replace_schema_metadata({k: str(v) for k, v in told.items()}))
        self._written = time.monotonic()

    def finish(self, count: int, schema: "pa.Schema") -> None:
        """Join all chunks to the result and remove the folder.

        Parameters
        ----------
        count : int
            Number of chunks.
        schema : pyarrow.Schema
            Columns of the result.

        Raises
        ------
        OutputError
            The system refuses; the chunks are still there.
        """
        self.write_state()
        write_joined(self._out, self._parts(count), schema)
        shutil.rmtree(self.folder, ignore_errors=True)

    def drop(self) -> None:
        """Remove what was found so far."""
        shutil.rmtree(self.folder, ignore_errors=True)

    def leave(self) -> bool:
        """Keep what was found for another time; return whether there is any."""
        if not self.done:
            self.drop()
            return False
        with suppress(OutputError):  # the chunks of the last seconds are then run again
            self.write_state()
        return True

    def _parts(self, count: int) -> Iterator["pa.Table"]:
        for number in range(count):
            yield read_table(self._file(number))

    def _file(self, number: int) -> Path:
        return self.folder / f"homes-{number:06d}.parquet"

    def _read(self) -> None:
        """Read which chunks are there, and their sum."""
        if not self.folder.is_dir():
            raise OutputError(f"{self.folder}: is not there, so there is nothing to resume")
        file = self.folder / _STATE
        if not file.exists():  # stopped within the first seconds
            return
        try:
            table = read_table(file)
            told = {key.decode(): value.decode() for key, value in (table.schema.metadata or {}).items()}
            sums = FleetSums(int(told["year"]), int(told["minutes"]), too_many=bool(int(told["too_many"])))
            for row in table.to_pylist():
                values = np.array(row["values"], np.int64).reshape(len(COLUMNS), -1)
                peaks = row["import_peaks"], row["export_peaks"]
                sums.totals[Key(row["kind"], row["name"])] = Total(row["homes"], *peaks, values)
            self.digest, self.failed = int(told["digest"], 16), int(told["failed"])
            done, job, self.chunk = numbers_of(told["done"]), told["job"], int(told["chunk"])
        except (ScenarioError, KeyError, ValueError):
            raise OutputError(f"{file}: is damaged; start anew with --force") from None
        if job != self._job:
            raise OutputError(f"{self.folder}: is of other homes, options or another version; start anew with --force")
        self.sums, self.done = sums, done


def folder_of(out: Path) -> Path:
    """Return the folder of what is not finished of a result."""
    return out.with_name(f"{out.name}.unfinished")


def beside(rows: "pa.Table", counts: Sequence[int], cells: "pa.Table") -> "pa.Table":
    """Return the rows of the result with the cells of their homes after the first columns."""
    import pyarrow as pa

    repeated = cells.take(pa.array(np.repeat(np.arange(len(counts)), counts)))
    head = [name for name in rows.column_names if name in HEAD and name != "currency"]
    names = [*head, *cells.column_names, *(name for name in rows.column_names if name not in head)]
    return pa.table({name: (rows if name in rows.column_names else repeated)[name] for name in names})


def spans(numbers: set[int]) -> str:
    """Return numbers as spans: ``0-5,7``."""
    found: list[list[int]] = []
    for number in sorted(numbers):
        if found and number == found[-1][1] + 1:
            found[-1][1] = number
        else:
            found.append([number, number])
    return ",".join(f"{first}-{last}" for first, last in found)


def numbers_of(text: str) -> set[int]:
    """Return the numbers of spans."""
    pairs = [tuple(map(int, span.split("-"))) for span in text.split(",") if span]
    return {number for first, last in pairs for number in range(first, last + 1)}


def free_bytes(folder: Path) -> int:
    """Return how much room the disk of a folder has [bytes]."""
    there = next(each for each in (folder, *folder.parents) if each.exists())
    return shutil.disk_usage(os.fspath(there)).free
