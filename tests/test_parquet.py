"""Parquet files: whole or not at all, and the same bytes however their rows were parted."""

import importlib.util
from pathlib import Path

import pyarrow as pa
import pytest

from solarsim import parquet
from solarsim.errors import MachineError, OutputError, ScenarioError


def test_joined_file_does_not_depend_on_its_parts(tmp_path: Path) -> None:
    whole = pa.table({"a": list(range(1000)), "b": [f"text {n % 7}" for n in range(1000)]})
    files = []
    for size in (1000, 333, 1):
        parts = [whole.slice(first, size) for first in range(0, 1000, size)]
        files.append(tmp_path / f"{size}.parquet")
        parquet.write_joined(files[-1], parts, whole.schema)
    assert len({file.read_bytes() for file in files}) == 1
    assert parquet.read_table(files[0]).equals(whole)


def test_groups_of_rows_do_not_depend_on_parts_either(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parquet, "_ROWS_OF_GROUP", 64)
    whole = pa.table({"a": list(range(1000))})
    for size in (999, 50):
        parts = (whole.slice(first, size) for first in range(0, 1000, size))
        parquet.write_joined(tmp_path / f"{size}.parquet", parts, whole.schema)
    assert (tmp_path / "999.parquet").read_bytes() == (tmp_path / "50.parquet").read_bytes()


def test_failure_leaves_the_file_that_was_there(tmp_path: Path) -> None:
    file = tmp_path / "a.parquet"
    parquet.write_table(file, pa.table({"a": [1]}))
    before = file.read_bytes()
    with pytest.raises(RuntimeError, match="on the way"):
        _fail_on_the_way(file)
    assert file.read_bytes() == before
    assert list(tmp_path.iterdir()) == [file]
    with pytest.raises(OutputError, match=r"nowhere/a\.parquet: cannot be written: No such file or directory"):
        parquet.write_table(tmp_path / "nowhere" / "a.parquet", pa.table({"a": [1]}))


def _fail_on_the_way(file: Path) -> None:
    with parquet.replacing(file) as staged:
        staged.write_text("half")
        raise RuntimeError("on the way")


def test_what_is_no_parquet_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.parquet").write_text("no such thing")
    for read in (parquet.read_table, lambda path: parquet.schema_of(path, ScenarioError)):
        with pytest.raises(ScenarioError, match=r"a\.parquet: is not a Parquet file"):
            read(tmp_path / "a.parquet")
    with pytest.raises(ScenarioError, match=r"a\.parquet: is not a Parquet file"):
        list(parquet.batches(tmp_path / "a.parquet", ScenarioError))


def test_missing_extra_is_named_with_the_command_that_installs_it(monkeypatch: pytest.MonkeyPatch) -> None:
    parquet.check_installed()
    there = importlib.util.find_spec
    monkeypatch.setattr(parquet, "find_spec", lambda name: None if name == "distributed" else there(name))
    with pytest.raises(MachineError, match=r"needs distributed: python -m pip install 'solarsim\[fleet\]'"):
        parquet.check_installed()
