"""Many homes: a table of homes in; every home under every strategy as a file, and the sum of all of them, out."""

from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from hashlib import sha256
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self
from uuid import uuid4

from solarsim.errors import MachineError, OutputError, ScenarioError
from solarsim.parquet import check_installed
from solarsim.results import Result, fact
from solarsim.scenario.homes import HomeRow, HomesTable, read_homes
from solarsim.scenario.model import Scenario
from solarsim.studies._cluster import Cluster, version_here
from solarsim.studies.fleet._chunk import Chunk, Job, in_chunks, run_chunk, texts_for
from solarsim.studies.fleet._rows import columns, schema
from solarsim.studies.fleet._store import Store, beside, folder_of, free_bytes
from solarsim.studies.fleet._sums import MOST_NAMES, FleetSums
from solarsim.studies.fleet.spread import SavingsSpread, reasons_of, spreads_of
from solarsim.studies.fleet.totals import FleetSum, in_order, steps_table, sum_of

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa

_REASONS = 5
#: What the hours of a home under one strategy take on disk, by steps [bytes]; measured with the demo, a little more.
_BYTES_OF_STEP = 45.0


@dataclass(frozen=True, eq=False, repr=False)
class Failure(Result):
    """A reason why homes could not be run."""

    reason: str = fact("as in the column error", "text")
    homes: int = fact("homes with this reason", "1")


@dataclass(frozen=True, eq=False, repr=False)
class Fleet(Result):
    """All homes of a table: their rows are in a file, their sum is here."""

    _rows = "strategies"

    path: Path  # the file of all rows
    sums: FleetSums
    homes: int = fact("rows of the table of homes", "1")
    failed: int = fact("of them, homes that could not be run", "1")
    year: int = fact("calendar year of the sums", "year")
    step_minutes: int = fact("length of a step of the sums", "min")
    strategies: tuple[FleetSum, ...] = fact(
        "sum of all homes: without systems, under each strategy, and each under its best one", "table"
    )
    group_by: str | None = fact("the column that groups the homes; null: none", "text")
    savings: tuple[SavingsSpread, ...] = fact("how savings spread over the homes, by group and strategy", "list")
    failures: tuple[Failure, ...] = fact("the most frequent reasons why homes could not be run", "list")
    digest: str = fact(
        "of all rows without the columns of the table of homes; the same for the same homes in any order", "text"
    )
    notes: tuple[str, ...] = fact("what a reader should know", "list")

    def steps(self) -> "pd.DataFrame":
        """Return the sum of every step: indexed by strategy and UTC time, one column for each power [kW]."""
        found: pd.DataFrame = steps_table(self.sums).to_pandas()
        return found.set_index(["kind", "strategy", "time"]).sort_index()


@dataclass(frozen=True)
class FleetOptions:
    """How a fleet is run.

    Attributes
    ----------
    group : str or None
        Column whose values group the savings; it may be a key or a label.
    labels : tuple of str
        Columns of the table that are no keys.
    with_life : bool
        Also compute every home's life: NPV and payback.
    hourly : pathlib.Path or None
        Folder for the hours of every home.
    by_weekday : bool
        Add homes of different calendar years by weekday.
    strict : bool
        Stop at the first home that cannot be run.
    resume : bool
        Go on with a run that was stopped.
    workers : int
        Processes on this machine; 1 runs in this one.
    scheduler : str or None
        Address of a running Dask scheduler.
    chunk : int or None
        Homes that a worker gets at once.
    """

    group: str | None = None
    labels: tuple[str, ...] = ()
    with_life: bool = False
    hourly: Path | None = None
    by_weekday: bool = False
    strict: bool = False
    resume: bool = False
    workers: int = 1
    scheduler: str | None = None
    chunk: int | None = None


Progress = Callable[[int, int, int], None]


def fleet(
    homes: Path | str,
    out: Path | str,
    options: FleetOptions | None = None,
    progress: Progress | None = None,
    notice: Callable[[str], None] | None = None,
) -> Fleet:
    """Run every home of a table under each of its strategies.

    Parameters
    ----------
    homes : pathlib.Path or str
        The table: CSV or Parquet, one row a home: ``id``, ``scenario``, and keys of the scenario as further columns.
    out : pathlib.Path or str
        The result, a Parquet file: one row for each home and strategy. An existing file is replaced.
    options : FleetOptions, optional
        How.
    progress : callable, optional
        Called with the number of homes done, of all, and of those done by an earlier run.
    notice : callable, optional
        Called with a line on what is about to be written, before any home is run.

    Returns
    -------
    Fleet
        The sum of all homes and the spread of their savings; the rows are in the file.

    Raises
    ------
    ScenarioError
        The table as a whole is wrong, see ``read_homes``; calendar years differ; no home could be run; or a home is
        wrong and ``strict`` is asked for.
    OutputError
        A file cannot be written; a run that was stopped cannot be resumed.
    MachineError
        The extra ``fleet`` is not installed; or the cluster failed, see ``Cluster.answers``.

    Notes
    -----
    What was found so far is kept in a folder beside the result until all is done. A script that asks for more than one
    worker needs ``if __name__ == "__main__":``, since each of its workers imports it.

    Examples
    --------
    >>> from solarsim import fleet
    >>> fleet("homes.csv", "results.parquet").savings[0].p50  # doctest: +SKIP
    1231.5
    """
    options = options or FleetOptions()
    path, out = Path(homes), Path(out)
    check_installed()
    table = read_homes(path, _labels(options))
    _check_names(table, options)
    job = _job_of(table, options)
    _check_room(table, options, notice)
    with _Cluster(options) as cluster:
        size = options.chunk or in_chunks(table.count, cluster.workers)
        store = Store(out, _fingerprint(table, job), size, job.year)
        store.begin(options.resume)
        try:
            _run(table, job, store, cluster, options, progress)
            store.finish(-(-table.count // store.chunk), _whole_schema(table, options))
        except BaseException as error:
            if isinstance(error, ScenarioError):  # of a home, which no second run makes right
                store.drop()
            elif store.leave() and isinstance(error, OutputError | MachineError):
                raise type(error)(f"{error}; --resume goes on") from None
            raise
    return _result(out, table, store, options)


def _labels(options: FleetOptions) -> tuple[str, ...]:
    """Return the columns that are no keys: the group is one where its name is that of no key."""
    group = options.group
    no_key = group is not None and "." not in group and group not in Scenario.model_fields
    return tuple(dict.fromkeys((*options.labels, *([group] if group is not None and no_key else []))))


def _check_names(table: HomesTable, options: FleetOptions) -> None:
    """Refuse columns of the table that the result has itself, and a group that is not there."""
    own = [name for name in table.columns if name != "id" and name in columns(True)]
    if own:
        raise ScenarioError(*(f"{table.path}: column {name!r}: the result has a column of this name" for name in own))
    if options.group is not None and options.group not in table.columns:
        raise ScenarioError(f"{table.path}: has no column {options.group!r} to group by")


def _check_room(table: HomesTable, options: FleetOptions, notice: Callable[[str], None] | None) -> None:
    """Report how much room the hours of all homes take; refuse where the disk has less."""
    if options.hourly is None:
        return
    needed = table.count * table.most_strategies * (525_600 / table.step_minutes) * _BYTES_OF_STEP
    free = free_bytes(options.hourly.absolute())
    told = f"{options.hourly}: the hours of {table.count:,} homes take about {needed / 1e9:,.2g} GB"
    if needed > free:
        raise OutputError(f"{told}, the disk has {free / 1e9:,.2g} GB left")
    if notice is not None:
        notice(told)


def _job_of(table: HomesTable, options: FleetOptions) -> Job:
    years = table.years or (2026,)
    if len(years) > 1 and not options.by_weekday:
        told = ", ".join(map(str, years))
        raise ScenarioError(
            f"{table.path}: the calendar years of the homes differ ({told}): set them with a column site.calendar_year,"
            f" or add the homes by weekday on {years[-1]} with --by-weekday"
        )
    hourly = None if options.hourly is None else str(options.hourly.absolute())
    return Job(uuid4().hex, years[-1], options.by_weekday, options.with_life, hourly)


def _fingerprint(table: HomesTable, job: Job) -> str:
    decided = (version_here(), table.digest, table.labels, job.year, job.any_year, job.with_life, job.hourly)
    return sha256(repr(decided).encode()).hexdigest()


class _Cluster:
    """Where chunks are run: in this process, or by a cluster."""

    def __init__(self, options: FleetOptions) -> None:
        alone = options.workers == 1 and options.scheduler is None
        self._cluster = None if alone else Cluster(options.workers, options.scheduler)

    def __enter__(self) -> Self:
        if self._cluster is not None:
            self._cluster.__enter__()
        return self

    def __exit__(self, *error: Any) -> None:
        if self._cluster is not None:
            self._cluster.__exit__(*error)

    @property
    def workers(self) -> int:
        """How many chunks are run at a time."""
        return 1 if self._cluster is None else self._cluster.workers

    def answers(self, task: Callable[[Chunk], Any], chunks: Iterator[Chunk]) -> Iterable[tuple[Chunk, Any]]:
        """Yield chunks with their answers."""
        if self._cluster is None:
            return ((chunk, task(chunk)) for chunk in chunks)
        return self._cluster.answers(task, chunks)


def _run(
    table: HomesTable, job: Job, store: Store, cluster: _Cluster, options: FleetOptions, progress: Progress | None
) -> None:
    """Run all chunks that are not there yet, and keep each when it is done."""
    cells: dict[int, pa.Table] = {}
    done = before = min(table.count, len(store.done) * store.chunk)
    if progress is not None:
        progress(done, table.count, before)
    for chunk, answer in cluster.answers(partial(run_chunk, job), _chunks(table, store, cells)):
        if options.strict and answer.failed:
            row = next(each for each in answer.rows.select(["id", "error"]).to_pylist() if each["error"])
            raise ScenarioError(f"{table.path}: home {row['id']!r}: {row['error']}")
        store.keep(chunk.number, answer, cells.pop(chunk.number))
        done += len(chunk.rows)
        if progress is not None:
            progress(done, table.count, before)


def _chunks(table: HomesTable, store: Store, cells: "dict[int, pa.Table]") -> Iterator[Chunk]:
    """Yield the chunks that are not done; keep the cells of their rows until they are."""
    rows, texts, number = table.rows(), OrderedDict[str, str](), 0
    while some := tuple(islice(rows, store.chunk)):
        if number not in store.done:
            told, found = texts_for(some, texts)
            cells[number] = _cells_of(table, some)
            yield Chunk(number, told, found)
        number += 1


def _cells_of(table: HomesTable, rows: tuple[HomeRow, ...]) -> "pa.Table":
    """Return the cells of some homes as text, without the id."""
    import pyarrow as pa

    places = [(name, place) for place, name in enumerate(table.columns) if name != "id"]
    texts = {
        name: [None if (cell := row.cells[place]) is None else _text(cell) for row in rows] for name, place in places
    }
    return pa.table({name: pa.array(found, pa.string()) for name, found in texts.items()})


def _text(cell: Any) -> str:
    return cell.strip() if isinstance(cell, str) else str(cell)


def _whole_schema(table: HomesTable, options: FleetOptions) -> "pa.Schema":
    import pyarrow as pa

    inputs = pa.schema([(name, pa.string()) for name in table.columns if name != "id"])
    return beside(schema(options.with_life).empty_table(), [], inputs.empty_table()).schema


def _result(out: Path, table: HomesTable, store: Store, options: FleetOptions) -> Fleet:
    sums = store.sums
    failures = tuple(Failure(*each) for each in reasons_of(out, _REASONS)) if store.failed else ()
    if store.failed == table.count:
        raise ScenarioError(f"{out}: no home could be run: {failures[0].reason}")
    return Fleet(
        path=out,
        sums=sums,
        homes=table.count,
        failed=store.failed,
        year=sums.year,
        step_minutes=sums.minutes,
        strategies=tuple(sum_of(sums, key) for key in in_order(sums)),
        group_by=options.group,
        savings=spreads_of(out, options.group),
        failures=failures,
        digest=f"{store.digest:064x}",
        notes=tuple(_notes(table, sums)),
    )


def _notes(table: HomesTable, sums: FleetSums) -> Iterator[str]:
    if sums.too_many:
        yield f"there are more than {MOST_NAMES} names of strategies: no sum is shown for each"
    if len(table.years) > 1:
        yield f"homes of other years are added by weekday on {sums.year}: moved by up to three days"


def unfinished_folder(out: Path) -> Path:
    """Return the folder in which a run keeps what it has found until the result is whole."""
    return folder_of(out)
