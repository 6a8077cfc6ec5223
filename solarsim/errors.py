"""The exception tree: what can be wrong with the user's input or with the machine, and nothing else.

SolarsimError                  anything solarsim refuses on purpose
├── InputError                 the user's input; the command line ends with exit code 2
│   ├── ScenarioError          a scenario file, one problem a line
│   ├── WeatherError           a weather file
│   ├── LoadError              a load file
│   ├── UnknownNameError       a name that is not in the scenario
│   └── OutputError            a file that cannot or must not be written
└── MachineError               the machine, out of memory for example; exit code 2 as well
"""

from collections.abc import Iterable, Sequence
from difflib import get_close_matches
from os import fstat
from pathlib import Path
from stat import S_ISDIR, S_ISREG
from typing import BinaryIO

#: A year of minutes with twenty columns is about 60 MB.
_MOST_BYTES = 100_000_000


class SolarsimError(Exception):
    """Anything solarsim refuses on purpose, with a message for a person."""


class InputError(SolarsimError):
    """The user's input is wrong; each problem is one line."""

    def __init__(self, *problems: str) -> None:
        super().__init__("\n".join(problems))
        self.problems = problems


class ScenarioError(InputError):
    """A scenario file is wrong: syntax, a key, a value, or two values together."""


class WeatherError(InputError):
    """A weather file is missing, cut short, or holds impossible values."""


class LoadError(InputError):
    """A load file is missing, of the wrong length, or holds impossible values."""


class UnknownNameError(InputError):
    """A name was asked for that the scenario does not hold."""


class OutputError(InputError):
    """A file cannot be written, or exists and must not be replaced."""


class MachineError(SolarsimError):
    """The machine ended what was needed, worker processes for example."""


def nearest(name: str, allowed: Iterable[str]) -> str:
    """Return which allowed name was probably meant.

    Parameters
    ----------
    name : str
        What the user wrote.
    allowed : iterable of str
        The names that would have been valid.

    Returns
    -------
    str
        ``"; did you mean 'x'?"``, or ``"; allowed: a, b"`` where no name is near.
    """
    names = [str(each) for each in allowed]
    meant = nearest_name(name, names)
    return f"; allowed: {', '.join(names)}" if meant is None else f"; did you mean '{meant}'?"


def nearest_name(name: str, names: list[str]) -> str | None:
    """Return the name that was probably meant, whatever its capitals; None where none is near."""
    close = get_close_matches(name.lower(), [each.lower() for each in names], n=1, cutoff=0.6)
    return next(each for each in names if each.lower() == close[0]) if close else None


def file_bytes(path: Path, refuse: type[InputError]) -> bytes:
    """Read a file whole.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    refuse : type of InputError
        What to raise.

    Returns
    -------
    bytes
        All of it.

    Raises
    ------
    InputError
        See ``open_file``; or the file is longer than 100 MB.
    """
    with open_file(path, refuse) as file:
        stated = fstat(file.fileno()).st_size  # 0 where the system does not know
        raw = file.read(_MOST_BYTES + 1) if stated <= _MOST_BYTES else b""
    if max(stated, len(raw)) > _MOST_BYTES:
        raise refuse(
            f"{path}: is longer than {_MOST_BYTES // 10**6} MB, the most that is read; cut it to the period and columns"
            " that are needed"
        )
    return raw


def open_file(path: Path, refuse: type[InputError]) -> BinaryIO:
    """Open a file that has an end and is there to be read again.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    refuse : type of InputError
        What to raise.

    Returns
    -------
    binary file
        Open for reading.

    Raises
    ------
    InputError
        Of the given type: the file cannot be read, is a directory, a pipe or a device, or no file can have that name.
    """
    try:
        mode = path.stat().st_mode
        if not S_ISREG(mode):
            what = "a directory" if S_ISDIR(mode) else "a pipe or a device"
            raise refuse(f"{path}: cannot be read: is {what}, must be a file")
        return path.open("rb")
    except OSError as error:
        raise refuse(f"{path}: cannot be read: {error.strerror}") from None
    except ValueError:  # a null byte
        raise refuse(f"{path}: cannot be read: no file can have that name") from None


def key_of(where: Sequence[int | str]) -> str:
    """Write a place in a scenario as its user would, and as a change takes it: ``arrays.1st.tilt_deg``."""
    return ".".join(ordinal(part + 1) if isinstance(part, int) else part for part in where)


def ordinal(number: int) -> str:
    """Return a place in a list in words that cannot be taken for an index: ``1st``, ``2nd``, ``3rd``, ``4th``."""
    teens = 10 <= number % 100 <= 20
    return f"{number}{'th' if teens else {1: 'st', 2: 'nd', 3: 'rd'}.get(number % 10, 'th')}"


def place_of_ordinal(text: str) -> int | None:
    """Return the index, from 0, of a place such as ``2nd``; None where the text is none."""
    digits = text[:-2]
    return int(digits) - 1 if digits.isdecimal() and int(digits) > 0 and text == ordinal(int(digits)) else None
