"""What a question is, and how the words of a short answer are read: a text in, its numbers and words out."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from solarsim.errors import ScenarioError
from solarsim.units import number_from

Tables = dict[str, Any]
_DIGITS = r"[-+]?(?:\d+(?:\.\d+)?|\.\d+)"
NUMBER = f"({_DIGITS})"


def measured(units: str) -> str:
    """Return the pattern of a number with one of some units, as one group."""
    return f"({_DIGITS} ?(?:{units}))"


_COMMA = re.compile(r"\d,\d")
_PLACE = re.compile(r"At ([-\d.]+), ([-\d.]+)(?:, ([-\d.]+) m)?\.")


@dataclass(frozen=True)
class Setting:
    """What answers are read against, beside the answers before.

    Attributes
    ----------
    folder : pathlib.Path
        What paths in answers are relative to; the tables hold whole paths.
    year : int
        Calendar year of the site.
    weather : mapping or None
        The table ``weather`` that an answer has led to, where it names no file itself; None while that is not known.
    """

    folder: Path
    year: int
    weather: Mapping[str, Any] | None = None


def _always(_: Mapping[str, Any]) -> bool:
    return True


@dataclass(frozen=True)
class Question:
    """One question: what its answer does to a home's tables, and which answer tables hold.

    Attributes
    ----------
    name : str
        One word, which is also the name of its option and of its section in the guide.
    put : callable
        Writes the answer into the raw tables that the questions before have made.
    found : callable
        Returns the answer that tables hold; None where this question cannot express them.
    default : callable
        Returns the answer that is offered, from the tables that the questions before have made.
    asked : callable
        Returns whether the question is asked after the answers before.
    """

    name: str
    put: Callable[[str, Tables, Setting], None]
    found: Callable[[Mapping[str, Any]], str | None]
    default: Callable[[Tables, Setting], str]
    asked: Callable[[Mapping[str, Any]], bool] = _always


class Phrase:
    """A short answer, from which its parts are taken one after the other until nothing is left.

    A comma between digits is refused: it would be a decimal comma to some and a thousands separator to others.
    """

    def __init__(self, text: str, example: str) -> None:
        self._left, self._example = f" {' '.join(text.split())} ", example
        if _COMMA.search(text):
            raise self.refused(f"{text!r}: numbers have a decimal point and no comma")

    def take(self, pattern: str) -> re.Match[str] | None:
        """Remove the first place that matches, whole words only, whatever its capitals.

        Parameters
        ----------
        pattern : str
            A regular expression.

        Returns
        -------
        re.Match or None
            What was there.
        """
        found = re.search(rf"(?<![^\s,])(?:{pattern})(?![^\s,])", self._left, re.IGNORECASE)
        if found is not None:
            self._left = f"{self._left[: found.start()]} {self._left[found.end() :]}"
        return found

    def number(self, pattern: str) -> float | None:
        """Remove a number with the words around it, and return it; None where it is not there."""
        found = self.take(pattern)
        return None if found is None else float(found[1])

    def measure(self, pattern: str, dimension: str, currency: str | None = None) -> float | None:
        """Remove a text with a unit, and return its number in the unit of a dimension; None where it is not there."""
        found = self.take(pattern)
        if found is None:
            return None
        try:
            return number_from(found[1], dimension, currency)
        except ValueError as error:
            raise self.refused(f"{found[1]!r} {error}") from None

    def word(self, *words: str) -> str | None:
        """Remove the first of some words that is there, and return it in lower case."""
        found = self.take("|".join(words))
        return None if found is None else found[0].lower()

    def need(self, value: float | None, what: str) -> float:
        """Return a value that must be there, or refuse the answer."""
        if value is None:
            raise self.refused(f"{what} is missing")
        return value

    def refused(self, problem: str) -> ScenarioError:
        """Return the error of an answer that cannot be read, with an example of one that can."""
        return ScenarioError(f"{problem}; for example: {self._example}")

    def done(self) -> None:
        """Check that nothing is left.

        Raises
        ------
        ScenarioError
            Something is.
        """
        left = self._left.strip(" ,")
        if left:
            raise self.refused(f"{left!r} is not understood")


def parts_of(text: str) -> list[str]:
    """Return the parts of an answer that are separated by semicolons; empty ones are left out."""
    return [each.strip() for each in text.split(";") if each.strip()]


def shown(value: float) -> str:
    """Return a number as short as it can be written without loss."""
    return f"{value:.12g}"


def place_words(latitude_deg: float, longitude_deg: float, elevation_m: float | None) -> str:
    """Return the sentence of a description that says where the home is.

    Parameters
    ----------
    latitude_deg, longitude_deg : float
        North and east positive [deg].
    elevation_m : float or None
        Above sea level [m]; None where it is not known.

    Returns
    -------
    str
        ``place_of`` reads it.

    Examples
    --------
    >>> place_words(36.1, -79.95, 273.0)
    'At 36.1, -79.95, 273 m.'
    """
    height = "" if elevation_m is None else f", {shown(elevation_m)} m"
    return f"At {shown(latitude_deg)}, {shown(longitude_deg)}{height}."


def place_of(tables: Mapping[str, Any]) -> tuple[float, float, float | None] | None:
    """Return latitude and longitude [deg] and elevation [m] of a home; None where its tables do not hold them."""
    told = _PLACE.match(str(tables.get("description", "")))
    if told is not None:
        return float(told[1]), float(told[2]), None if told[3] is None else float(told[3])
    place = tables.get("weather", {}).get("place")
    if place is None:
        return None
    return place["latitude_deg"], place["longitude_deg"], place["elevation_m"]
