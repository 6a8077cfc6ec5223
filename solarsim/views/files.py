"""Files, written whole or not at all: bytes in, a file out."""

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from solarsim.errors import OutputError
from solarsim.folders import staged_beside


def check_writable(path: Path, force: bool) -> None:
    """Check that a file can be written, before anything is computed.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    force : bool
        Whether an existing file may be replaced.

    Raises
    ------
    OutputError
        The folder does not exist or cannot be written, the path is a folder, or the file exists.
    """
    try:
        exists = path.exists()
    except OSError as error:
        raise OutputError(f"{path}: cannot be written: {error.strerror}") from None
    if path.is_dir():
        raise OutputError(f"{path}: is a folder, must be a file")
    if exists and not path.is_file():
        raise OutputError(f"{path}: is a device or a pipe, must be a regular file")
    if exists and not force:
        raise OutputError(f"{path}: exists; --force replaces it")
    if not path.parent.is_dir():
        raise OutputError(f"{path}: folder {path.parent} does not exist")
    if not os.access(path.parent, os.W_OK):
        raise OutputError(f"{path}: folder {path.parent} cannot be written")


def changed_files(files: Mapping[Path, bytes], main: Path, force: bool) -> dict[Path, bytes]:
    """Return which of some files must be written, and check that they can be.

    Parameters
    ----------
    files : mapping of pathlib.Path to bytes
        The content of each; a folder that is missing must be below an existing one.
    main : pathlib.Path
        The one that is always written; others that are there with the same content are left out.
    force : bool
        Whether existing files may be replaced.

    Returns
    -------
    dict of pathlib.Path to bytes
        In the same order.

    Raises
    ------
    OutputError
        As for ``check_writable``.
    """
    changed = {
        path: content
        for path, content in files.items()
        if path == main or not (path.is_file() and path.read_bytes() == content)
    }
    for path in changed:
        new_folder = not path.parent.exists() and path.parent.parent.is_dir()
        check_writable(path.parent if new_folder else path, force)
    return changed


def check_picture_name(path: Path) -> None:
    """Check that the name of a picture has a known suffix.

    Parameters
    ----------
    path : pathlib.Path
        The file's name.

    Raises
    ------
    OutputError
        The suffix is not png, svg or pdf.
    """
    if path.suffix.lower() not in (".png", ".svg", ".pdf"):
        raise OutputError(f"{path}: a picture's name ends with .png, .svg or .pdf")


def write_whole(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; see ``write_all``.

    Parameters
    ----------
    path : pathlib.Path
        The file; an existing one is replaced.
    content : bytes
        All of it.

    Raises
    ------
    OutputError
        The system refuses.
    """
    write_all({path: content})


def write_all(files: Mapping[Path, bytes]) -> None:
    """Write all of some files or none: each under a temporary name in its folder, then all are renamed.

    A folder that is missing is made.

    Parameters
    ----------
    files : mapping of pathlib.Path to bytes
        The content of each; existing files are replaced.

    Raises
    ------
    OutputError
        The system refuses; what was there before is there again.
    """
    staged: list[Path] = []
    before: dict[Path, bytes | None] = {}
    made: list[Path] = []
    try:
        for path, content in files.items():
            with _refused(path):
                if not path.parent.exists():
                    path.parent.mkdir()
                    made.append(path.parent)
                staged.append(staged_beside(path))
                staged[-1].write_bytes(content)
        for path in files:
            with _refused(path):
                old = path.read_bytes() if path.is_file() else None
                os.replace(staged[len(before)], path)
                before[path] = old
    except BaseException:
        for path, old in before.items():
            _put_back(path, old)
        for name in staged:
            with suppress(OSError):
                name.unlink()
        for folder in made:
            with suppress(OSError):
                folder.rmdir()
        raise


def _put_back(path: Path, old: bytes | None) -> None:
    """Bring a file back to what it was before."""
    with suppress(OSError, OutputError):
        if old is None:
            path.unlink()
        else:
            write_whole(path, old)


@contextmanager
def _refused(path: Path) -> Iterator[None]:
    """Turn what the system refuses into an error of the output file."""
    try:
        yield
    except OSError as error:
        raise OutputError(f"{path}: cannot be written: {error.strerror}") from None
