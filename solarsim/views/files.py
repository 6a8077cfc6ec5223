"""Files, written whole or not at all: bytes in, a file out."""

import os
import tempfile
from pathlib import Path

from solarsim.errors import OutputError


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
    """Write a file under a temporary name in its folder, then rename it.

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
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
            os.chmod(name, 0o666 & ~_umask())
            os.replace(name, path)
        except BaseException:
            os.unlink(name)
            raise
    except OSError as error:
        raise OutputError(f"{path}: cannot be written: {error.strerror}") from None


def _umask() -> int:
    """Return which rights new files do not get."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
