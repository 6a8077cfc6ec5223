"""The folder for caches: this user's own, or none."""

import os
from pathlib import Path

import pytest

from solarsim.folders import cache_folder, own_folder, staged_beside, writable


@pytest.fixture
def temporary(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    return tmp_path / f"solarsim-{os.getuid()}"


def test_own_folder_is_made_and_found_again(temporary: Path) -> None:
    assert own_folder() == temporary == own_folder()
    assert temporary.stat().st_mode & 0o777 == 0o700


@pytest.mark.parametrize("how", ["others can write", "link", "file", "no temporary folder"])
def test_folder_that_another_could_have_made_is_not_used(temporary: Path, how: str) -> None:
    """What is loaded from a cache is run."""
    if how == "others can write":
        temporary.mkdir()
        temporary.chmod(0o777)
    elif how == "link":
        (temporary.parent / "elsewhere").mkdir(mode=0o700)
        temporary.symlink_to(temporary.parent / "elsewhere")
    elif how == "file":
        temporary.touch()
    else:
        temporary.parent.rmdir()
    assert own_folder() is None


def test_folder_is_writable_where_it_is_or_could_be_made(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    assert writable(tmp_path)
    assert writable(tmp_path / "a" / "b")
    assert not writable(tmp_path / "file" / "a")
    assert not writable(Path("/dev/null/a"))


def test_cache_is_the_user_s_own_or_among_temporary_folders(
    temporary: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "kept"))
    assert cache_folder() == tmp_path / "kept" / "solarsim"
    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setenv("HOME", str(tmp_path / "me"))
    assert cache_folder() == tmp_path / "me" / ".cache" / "solarsim"
    monkeypatch.setattr("sys.platform", "darwin")
    assert cache_folder() == tmp_path / "me" / "Library" / "Caches" / "solarsim"
    monkeypatch.setenv("HOME", "/dev/null")
    assert cache_folder() == temporary


def test_a_staged_file_is_hidden_empty_and_has_the_rights_of_any_new_file(tmp_path: Path) -> None:
    staged = staged_beside(tmp_path / "result.parquet")
    plain = tmp_path / "plain"
    plain.touch()
    assert staged.parent == tmp_path
    assert staged.name.startswith(".result.parquet.")
    assert (staged.stat().st_size, staged.stat().st_mode) == (0, plain.stat().st_mode)
