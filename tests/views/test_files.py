"""Files are written whole or not at all."""

import os
from pathlib import Path

import pytest

from solarsim.errors import OutputError
from solarsim.views.files import check_writable, write_all, write_whole


def test_file_holds_exactly_what_was_given_and_nothing_else_is_left(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    write_whole(path, b"one")
    write_whole(path, b"two")
    assert path.read_bytes() == b"two"
    assert list(tmp_path.iterdir()) == [path]


def test_failed_write_leaves_the_old_file(tmp_path: Path) -> None:
    path = tmp_path / "folder"
    path.mkdir()
    (path / "kept").write_text("x")
    with pytest.raises(OutputError, match="cannot be written"):
        write_whole(path, b"new")
    assert [each.name for each in tmp_path.rglob("*")] == ["folder", "kept"]


def test_several_files_are_written_all_or_none(tmp_path: Path) -> None:
    """The third cannot be renamed into place: what the first two had replaced or made is as before."""
    old, new, folder = tmp_path / "old", tmp_path / "new", tmp_path / "folder"
    old.write_bytes(b"before")
    folder.mkdir()
    (folder / "kept").touch()
    with pytest.raises(OutputError, match=r"folder: cannot be written"):
        write_all({old: b"1", new: b"2", folder: b"3"})
    assert old.read_bytes() == b"before"
    assert sorted(each.name for each in tmp_path.rglob("*")) == ["folder", "kept", "old"]
    write_all({old: b"1", new: b"2"})
    assert (old.read_bytes(), new.read_bytes()) == (b"1", b"2")
    write_all({})


def test_existing_file_needs_force(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    path.write_text("x")
    with pytest.raises(OutputError, match="exists; --force replaces it"):
        check_writable(path, force=False)
    check_writable(path, force=True)


def test_a_pipe_is_refused_even_with_force(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(OutputError, match="is a device or a pipe, must be a regular file"):
        check_writable(tmp_path / "pipe", force=True)


def test_missing_folder_and_folder_in_place_of_file_are_refused(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="does not exist"):
        check_writable(tmp_path / "none" / "out.csv", force=False)
    with pytest.raises(OutputError, match="is a folder"):
        check_writable(tmp_path, force=True)


def test_file_is_renamed_into_place_with_the_usual_rights(tmp_path: Path) -> None:
    """A second name of the old file still shows the old bytes: nothing was written into it."""
    path, other = tmp_path / "out.csv", tmp_path / "other"
    path.write_bytes(b"old")
    os.link(path, other)
    write_whole(path, b"new")
    assert (path.read_bytes(), other.read_bytes()) == (b"new", b"old")
    assert path.stat().st_mode == other.stat().st_mode
