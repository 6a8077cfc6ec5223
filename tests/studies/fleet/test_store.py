"""What a stopped run leaves: it goes on from there, and the file is the same as without a stop."""

import shutil
from pathlib import Path

import pytest

from solarsim import parquet
from solarsim.errors import OutputError
from solarsim.studies.fleet import _store
from solarsim.studies.fleet._store import folder_of, numbers_of, spans
from solarsim.studies.fleet.fleet import FleetOptions, fleet
from tests.studies.fleet.homes import some_homes, write_base, write_homes


class Stopped(BaseException):
    """Ctrl-C."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    found = tmp_path_factory.mktemp("store")
    write_base(found)
    write_homes(found / "homes.csv", some_homes(6))
    return found


def run(folder: Path, out: str, stop_after: int | None = None, **options: object) -> list[tuple[int, int, int]]:
    """Run the fleet, stopped after some homes; return what the progress was told."""
    told = []

    def progress(done: int, of: int, before: int) -> None:
        told.append((done, of, before))
        if stop_after is not None and done >= stop_after:
            raise Stopped

    fleet(folder / "homes.csv", folder / out, FleetOptions(labels=("feeder",), chunk=2, **options), progress)  # type: ignore[arg-type]
    return told


def test_a_stopped_run_goes_on_and_gives_the_same_file(folder: Path) -> None:
    assert run(folder, "whole.parquet") == [(0, 6, 0), (2, 6, 0), (4, 6, 0), (6, 6, 0)]
    with pytest.raises(Stopped):
        run(folder, "stopped.parquet", stop_after=4)
    assert not (folder / "stopped.parquet").exists()
    assert folder_of(folder / "stopped.parquet").is_dir()
    assert run(folder, "stopped.parquet", resume=True) == [(4, 6, 4), (6, 6, 4)]
    assert (folder / "stopped.parquet").read_bytes() == (folder / "whole.parquet").read_bytes()
    assert not folder_of(folder / "stopped.parquet").exists()


@pytest.mark.slow
def test_sums_of_a_resumed_run_are_those_of_a_whole_one(folder: Path) -> None:
    options = FleetOptions(labels=("feeder",), chunk=2)
    whole = fleet(folder / "homes.csv", folder / "a.parquet", options)
    with pytest.raises(Stopped):
        run(folder, "b.parquet", stop_after=2)
    again = fleet(folder / "homes.csv", folder / "b.parquet", FleetOptions(labels=("feeder",), resume=True, chunk=5))
    assert [each.record() for each in again.strategies] == [each.record() for each in whole.strategies]
    assert again.digest == whole.digest


def test_a_run_stopped_before_its_first_chunk_leaves_nothing(folder: Path) -> None:
    with pytest.raises(Stopped):
        run(folder, "early.parquet", stop_after=0)
    assert not folder_of(folder / "early.parquet").exists()
    with pytest.raises(OutputError, match="is not there, so there is nothing to resume"):
        run(folder, "early.parquet", resume=True)


@pytest.mark.slow
def test_other_homes_options_or_a_damaged_folder_are_not_resumed(folder: Path) -> None:
    with pytest.raises(Stopped):
        run(folder, "changed.parquet", stop_after=2)
    with pytest.raises(OutputError, match="is of other homes, options or another version"):
        run(folder, "changed.parquet", resume=True, by_weekday=True)
    state = folder_of(folder / "changed.parquet") / _store._STATE
    state.write_bytes(state.read_bytes()[:100])
    with pytest.raises(OutputError, match="is damaged; start anew with --force"):
        run(folder, "changed.parquet", resume=True)
    state.unlink()  # killed within its first seconds: chunks are there that nothing names
    assert run(folder, "changed.parquet", resume=True)[0] == (0, 6, 0)


@pytest.mark.slow
def test_an_output_that_fails_says_how_to_go_on(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written = parquet.write_joined

    def full(path: Path, *_: object) -> None:
        raise OutputError(f"{path}: cannot be written: No space left on device")

    monkeypatch.setattr(_store, "write_joined", full)
    with pytest.raises(OutputError, match="No space left on device; --resume goes on"):
        run(folder, "full.parquet")
    monkeypatch.setattr(_store, "write_joined", written)
    assert run(folder, "full.parquet", resume=True) == [(6, 6, 6)]
    shutil.rmtree(folder_of(folder / "full.parquet"), ignore_errors=True)


def test_spans_of_numbers() -> None:
    assert spans({0, 1, 2, 5, 7, 8}) == "0-2,5-5,7-8"
    assert numbers_of(spans({3, 4, 9})) == {3, 4, 9}
    assert numbers_of("") == set()
