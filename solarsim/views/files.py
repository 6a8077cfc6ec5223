"""Writing files whole or not at all: bytes in, a file under its name out."""

import os
import tempfile
from pathlib import Path

from solarsim.errors import OutputError


def check_writable(path: Path, force: bool) -> None:
    """Refuse a file that could not be written, before anything is computed.

    Parameters
    ----------
    path : pathlib.Path
        Where a file is to stand.
    force : bool
        Whether an existing file may be replaced.

    Raises
    ------
    OutputError
        The folder does not exist or takes no files, the path is a folder, or a file exists.
    """
    try:
        exists = path.exists()
    except OSError as error:
        raise OutputError(f"{path}: cannot be written: {error.strerror}") from None
    if path.is_dir():
        raise OutputError(f"{path}: is a folder, must be a file")
    if exists and not path.is_file():
        raise OutputError(f"{path}: is a device or a pipe, must be a plain file")
    if exists and not force:
        raise OutputError(f"{path}: exists; --force replaces it")
    if not path.parent.is_dir():
        raise OutputError(f"{path}: folder {path.parent} does not exist")
    if not os.access(path.parent, os.W_OK):
        raise OutputError(f"{path}: folder {path.parent} cannot be written")


def check_picture_name(path: Path) -> None:
    """Refuse a picture whose name has no known suffix.

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
    """Write under a temporary name beside the file, then rename.

    Parameters
    ----------
    path : pathlib.Path
        Where the file is to stand; an existing one is replaced.
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
    mask = os.umask(0)
    os.umask(mask)
    return mask
