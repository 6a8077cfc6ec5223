"""The exception tree: what can be wrong with what the user gave, and nothing else.

SolarsimError                  anything solarsim refuses on purpose
└── InputError                 the user's input; the command line ends with exit code 2
    ├── ScenarioError          a scenario file, one problem a line
    ├── WeatherError           a weather file
    ├── LoadError              a load file
    ├── UnknownNameError       a name that stands nowhere in the scenario
    └── OutputError            a file that cannot or must not be written
"""

from collections.abc import Iterable
from difflib import get_close_matches


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
    """A weather file is missing, cut short, or holds what no sky can do."""


class LoadError(InputError):
    """A load file is missing, of the wrong length, or holds what no meter can read."""


class UnknownNameError(InputError):
    """A name was asked for that the scenario does not hold."""


class OutputError(InputError):
    """A file cannot be written, or exists and must not be replaced."""


def nearest(name: str, allowed: Iterable[str]) -> str:
    """Say which allowed name was probably meant.

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
    close = get_close_matches(name.lower(), [each.lower() for each in names], n=1, cutoff=0.6)
    if close:
        meant = next(each for each in names if each.lower() == close[0])
        return f"; did you mean '{meant}'?"
    return f"; allowed: {', '.join(names)}"
