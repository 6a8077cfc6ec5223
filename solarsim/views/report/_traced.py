"""A value that knows which command owns it: a result in; its facts, each with its place in that command's JSON, out.

A template reads results only through this, so that no number in a report is one that no command prints.
"""

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from math import isfinite
from typing import Any

from solarsim.results import Result


class Traced:
    """A value of a result, and the path to it.

    A path is ``NUMBER/COMMAND:KEY/KEY``, or ``NUMBER/COMMAND@STRATEGY:KEY/KEY`` where the command has an option
    ``--strategy``: the number of the scenario and that of the strategy from 0, and the keys of ``COMMAND --json``.
    """

    __slots__ = ("_path", "_value")

    def __init__(self, value: object, path: str) -> None:
        self._value = value
        self._path = path

    def __getattr__(self, key: str) -> "Traced":
        value = self._value
        if isinstance(value, Result):
            if key in value.facts():
                return self._inner(getattr(value, key), key)
        elif isinstance(value, Mapping) and key in value:
            return self._inner(value[key], key)
        raise AttributeError(f"{type(value).__name__} declares no {key!r}")

    def __getitem__(self, place: int) -> "Traced":
        value: Any = self._value
        return self._inner(value[place], str(place))

    def __iter__(self) -> Iterator["Traced"]:
        value: Any = self._value
        return (self._inner(each, str(place)) for place, each in enumerate(value))

    def __len__(self) -> int:
        value: Any = self._value
        return len(value)

    def __bool__(self) -> bool:
        return bool(self._value)

    def __repr__(self) -> str:
        return f"Traced({self._path})"

    def _inner(self, value: object, key: str) -> "Traced":
        separator = "" if self._path.endswith(":") else "/"
        return Traced(value, f"{self._path}{separator}{key}")


def value_of(traced: Traced) -> Any:
    """Return the value itself."""
    return traced._value  # this module is where both are known


def path_of(traced: Traced) -> str:
    """Return the path."""
    return traced._path


def machine_text(value: object) -> str:
    """Return a value as the attribute ``value`` of an HTML ``data`` element bears it: as JSON writes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Decimal):
        value = float(value)
    if isinstance(value, float):
        return repr(float(value) + 0.0) if isfinite(value) else ""
    if isinstance(value, date):
        return value.isoformat()
    return "" if value is None else str(value)
