"""Some homes of a fleet: their rows in, run one after the other; rows of the result and their sum out.

This is what a worker does. It gets scenarios as text, since homes and years are a hundred times as large.
"""

import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from solarsim.errors import InputError, ScenarioError
from solarsim.ledger.flows import NUMBERS
from solarsim.run import Run
from solarsim.scenario.homes import HomeRow, scenario_of
from solarsim.scenario.model import Scenario
from solarsim.studies.compare.compare import Comparison, compare
from solarsim.studies.fleet._rows import digest_of, row_of_failure, rows_of, schema
from solarsim.studies.fleet._shared import SharedParts
from solarsim.studies.fleet._sums import BASELINE, LOWEST, FleetSums, Key
from solarsim.studies.life.life import life

if TYPE_CHECKING:
    import pyarrow as pa

_MOST_BASES = 64


@dataclass(frozen=True)
class Job:
    """What all chunks of a fleet share.

    Attributes
    ----------
    token : str
        Names the run: what a worker kept from another run is not used, since files may have changed.
    year : int
        Calendar year of the sum.
    any_year : bool
        Whether homes of other years are added by weekday; else they are refused.
    with_life : bool
        Whether every home's life is computed, too.
    hourly : str or None
        Folder for the hours of every home.
    """

    token: str
    year: int
    any_year: bool
    with_life: bool
    hourly: str | None


@dataclass(frozen=True)
class Chunk:
    """Some rows of the table of homes, with the text of their scenario files by path."""

    number: int
    rows: tuple[HomeRow, ...]
    texts: dict[str, str]


@dataclass(eq=False)
class ChunkAnswer:
    """What a worker found.

    Attributes
    ----------
    rows : pyarrow.Table
        The rows of the result.
    counts : list of int
        Rows of the result for each home.
    failed : int
        Homes that could not be run.
    sums : FleetSums
        Of the others.
    digest : int
        See ``digest_of``.
    """

    rows: "pa.Table"
    counts: list[int]
    failed: int
    sums: FleetSums
    digest: int


@dataclass(eq=False)
class _Kept:
    """What a worker keeps from one chunk of a run to the next."""

    token: str = ""
    parts: SharedParts = field(default_factory=SharedParts)
    bases: "OrderedDict[str, Scenario | InputError]" = field(default_factory=OrderedDict)


_kept = _Kept()
_lock = threading.Lock()


def run_chunk(job: Job, chunk: Chunk) -> ChunkAnswer:
    """Run the homes of a chunk."""
    import pyarrow as pa

    global _kept  # noqa: PLW0603  # a worker's memory of the run
    with _lock:  # a worker with several threads has one set of parts
        if _kept.token != job.token:
            _kept = _Kept(job.token)
        sums, failed = FleetSums(job.year), 0
        found: list[list[dict[str, Any]]] = []
        hours = _Hours(job, chunk.number)
        for row in chunk.rows:
            try:
                found.append(_home_rows(job, row, chunk.texts, sums, hours))
            except Exception as error:  # a home costs only itself, even where the fault is ours
                found.append([row_of_failure(row.id, _reason(error))])
                failed += 1
        hours.write()
    rows = [row for each in found for row in each]
    table = pa.Table.from_pylist(rows, schema=schema(job.with_life))
    return ChunkAnswer(table, [len(each) for each in found], failed, sums, digest_of(rows))


def _reason(error: Exception) -> str:
    """Return in one line why a home could not be run."""
    if isinstance(error, InputError):
        return "; ".join(error.problems)
    if isinstance(error, MemoryError):
        raise error
    return f"internal error, please report it: {type(error).__name__}: {error}"


def _home_rows(job: Job, row: HomeRow, texts: dict[str, str], sums: FleetSums, hours: "_Hours") -> list[dict[str, Any]]:
    """Return the rows of one home, and add it to the sums."""
    if row.problem is not None or row.scenario is None:
        raise ScenarioError(row.problem or "no scenario")
    base = _base(row.scenario, texts)
    scenario = base.changed(row.changes) if row.changes else base
    if scenario.site.calendar_year != job.year and not job.any_year:
        raise ScenarioError(
            f"site.calendar_year is {scenario.site.calendar_year}, that of the fleet {job.year}; --by-weekday adds them"
        )
    home = _kept.parts.home(scenario)
    result = compare(scenario, home)
    lived = life(scenario, None, home) if job.with_life else None
    found = list(rows_of(str(row.id), result, lived))
    lowest = result.lowest[0]
    sums.add(result.baseline.flows, [BASELINE])
    for run in result.runs:
        sums.add(run.flows, [Key("strategy", run.name), *([LOWEST] if run is lowest else [])])
    hours.keep(str(row.id), result)
    return found


def _base(path: Path, texts: dict[str, str]) -> Scenario:
    """Return the scenario of a file as written; a wrong one is refused each time it is asked for."""
    name = str(path)
    if name not in _kept.bases:
        try:
            _kept.bases[name] = scenario_of(texts[name], path)
        except InputError as error:
            _kept.bases[name] = error
    _kept.bases.move_to_end(name)
    while len(_kept.bases) > _MOST_BASES:
        _kept.bases.popitem(last=False)
    found = _kept.bases[name]
    if isinstance(found, InputError):
        raise found
    return found


class _Hours:
    """The hours of a chunk's homes, one Parquet file for each strategy, written when the chunk is done."""

    def __init__(self, job: Job, number: int) -> None:
        self._folder = None if job.hourly is None else Path(job.hourly)
        self._number = number
        self._found: dict[str, list[pa.Table]] = {}

    def keep(self, home: str, result: Comparison) -> None:
        """Keep every strategy's hours of a home."""
        if self._folder is not None:
            for run in result.runs:
                self._found.setdefault(run.name, []).append(hours_table(home, run))

    def write(self) -> None:
        """Write all files of the chunk."""
        import pyarrow as pa

        from solarsim.parquet import write_table

        for name, tables in self._found.items():
            folder = (self._folder or Path()) / f"strategy={quote(name, safe=' ')}"
            folder.mkdir(parents=True, exist_ok=True)
            write_table(folder / f"homes-{self._number:06d}.parquet", pa.concat_tables(tables))


def hours_table(home: str, run: Run) -> "pa.Table":
    """Return the hourly table of one home and strategy, with its id; ``time`` is UTC."""
    import pyarrow as pa

    flows = run.flows
    count = len(flows.timeline)
    columns: dict[str, Any] = {
        "id": pa.array([home] * count, pa.string()).dictionary_encode(),
        "time": pa.array(flows.timeline.utc_start, pa.timestamp("s", "UTC")),
    }
    columns |= {name: pa.array(flows[name]) for name in NUMBERS}
    return pa.table(columns)


def in_chunks(count: int, workers: int) -> int:
    """Return how many homes a chunk holds: some seconds of work, fewer where there are few homes."""
    return max(1, min(100, count // (8 * workers)))


def texts_for(rows: Sequence[HomeRow], known: "OrderedDict[str, str]") -> tuple[tuple[HomeRow, ...], dict[str, str]]:
    """Return rows with the texts of their scenario files; a file that cannot be read is a problem of its rows."""
    from solarsim.scenario.homes import text_of_scenario

    found: dict[str, str] = {}
    told: list[HomeRow] = []
    for row in rows:
        name = str(row.scenario)
        if row.problem is None and row.scenario is not None and name not in found:
            try:
                if name not in known:
                    known[name] = text_of_scenario(row.scenario)
                    while len(known) > _MOST_BASES:
                        known.popitem(last=False)
                found[name] = known[name]
            except InputError as error:
                row = row._replace(problem="; ".join(error.problems))  # noqa: PLW2901
        told.append(row._replace(cells=()))
    return tuple(told), found
