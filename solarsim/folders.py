"""Where files go: folders for what is kept from one run to the next, and files that are not whole yet."""

import os
import stat
import sys
import tempfile
from pathlib import Path


def writable(folder: Path) -> bool:
    """Return whether a folder can be written in, or can be made.

    Parameters
    ----------
    folder : pathlib.Path
        It need not exist.

    Returns
    -------
    bool
        False where the system refuses or cannot tell.
    """
    try:
        there = next(each for each in (folder, *folder.parents) if each.exists())
    except OSError:
        return False
    return there.is_dir() and os.access(there, os.W_OK)


def cache_folder() -> Path | None:
    """Return the folder for what can be fetched again: the user's own of this system, else among temporary ones.

    Returns
    -------
    pathlib.Path or None
        It need not exist; None where nothing can be written.
    """
    homes = {"darwin": ("", "~/Library/Caches"), "win32": ("LOCALAPPDATA", "~/AppData/Local")}
    variable, usual = homes.get(sys.platform, ("XDG_CACHE_HOME", "~/.cache"))
    try:
        folder = Path(os.environ.get(variable) or usual).expanduser() / "solarsim"
    except RuntimeError:  # nobody's home
        return own_folder()
    return folder if writable(folder) else own_folder()


def own_folder() -> Path | None:
    """Return a folder among the temporary ones that no other user can write in.

    Returns
    -------
    pathlib.Path or None
        None where there is none: what others can write, they could have made.
    """
    user = getattr(os, "getuid", lambda: 0)()  # where there are no such numbers, temporary files are the user's own
    try:
        folder = Path(tempfile.gettempdir()) / f"solarsim-{user}"
        folder.mkdir(mode=0o700, exist_ok=True)
        found = folder.lstat()
    except OSError:
        return None
    safe = stat.S_ISDIR(found.st_mode) and found.st_uid == user and not found.st_mode & 0o022
    return folder if safe and writable(folder) else None


def staged_beside(path: Path) -> Path:
    """Make an empty file beside another, to be written and then renamed to it; it has the rights of any new file.

    Parameters
    ----------
    path : pathlib.Path
        The file that is to be.

    Returns
    -------
    pathlib.Path
        In the same folder, under a hidden name.

    Raises
    ------
    OSError
        The system refuses.
    """
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:100]}.")
    os.close(handle)
    mask = os.umask(0)
    os.umask(mask)
    try:
        os.chmod(name, 0o666 & ~mask)
    except OSError:
        os.unlink(name)
        raise
    return Path(name)
