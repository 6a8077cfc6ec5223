"""Results: what a study returns. A field declares meaning and unit; JSON, glossary, repr and tables come from there.

>>> from dataclasses import dataclass
>>> @dataclass(frozen=True, eq=False, repr=False)
... class Leg(Result):
...     name: str = fact("name of the leg", "text")
...     distance_km: float = fact("how far it goes", "km")
...     hours: float = fact("how long it takes", "h")
...     map: object = None  # no fact: not for JSON
...
...     @computed("mean speed", "km/h")
...     def speed_km_per_h(self) -> float:
...         return self.distance_km / self.hours
>>> Leg("first", 12.0, 3.0).record()
{'name': 'first', 'distance_km': 12.0, 'hours': 3.0, 'speed_km_per_h': 4.0}
>>> Leg.facts()["hours"]
Fact(meaning='how long it takes', unit='h')
"""

import dataclasses
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple

import numpy as np

from solarsim.result_html import result_html

if TYPE_CHECKING:
    import pandas as pd

_MOST_CHARACTERS = 300  # of a repr


class Fact(NamedTuple):
    """What a field means, and its unit ("1" for shares and counts, "text", "table")."""

    meaning: str
    unit: str


def fact(meaning: str, unit: str, without: tuple[str, ...] = (), **options: Any) -> Any:
    """Declare a field of a result.

    Parameters
    ----------
    meaning : str
        One line for the glossary; for a number with its sign.
    unit : str
        ``kWh``, ``currency``, ``1`` and the like.
    without : tuple of str
        Keys that the result in this field does not show here: a home without a strategy has no name.
    options
        As for ``dataclasses.field``: ``default`` above all.

    Returns
    -------
    Any
        The field.
    """
    return dataclasses.field(metadata={"fact": Fact(meaning, unit), "without": without}, **options)


class computed(property):  # noqa: N801 - it is used as a decorator, as property is
    """A property of a result that is shown like its fields: ``@computed("meaning", "unit")``."""

    def __init__(self, meaning: str, unit: str) -> None:
        super().__init__()
        self.fact = Fact(meaning, unit)

    def __call__(self, function: Callable[[Any], Any]) -> Any:
        """Return the property whose value this function computes."""
        found = property.__new__(type(self))
        property.__init__(found, function, doc=function.__doc__ or f"{self.fact.meaning} [{self.fact.unit}].")
        found.fact = self.fact
        return found


class Result:
    """Base of every result: a frozen dataclass whose public fields are declared with ``fact``.

    ``_rows`` names the field that holds the rows of ``table``, a tuple of results; a result without rows is a table
    of one row.
    """

    _rows: ClassVar[str] = ""

    @classmethod
    def facts(cls) -> dict[str, Fact]:
        """Return meaning and unit of every key of ``record``, fields first, in the order of their declaration."""
        found = {
            field.name: field.metadata["fact"]
            for field in dataclasses.fields(cls)  # type: ignore[arg-type]  # every subclass is a dataclass
            if "fact" in field.metadata
        }
        for base in reversed(cls.__mro__):
            found.update({name: each.fact for name, each in vars(base).items() if isinstance(each, computed)})
        return found

    def record(self) -> dict[str, Any]:
        """Return the declared fields as plain dicts, lists, text and numbers, for JSON."""
        found = {name: plain(getattr(self, name)) for name in self.facts()}
        for field in dataclasses.fields(self):  # type: ignore[arg-type]  # every subclass is a dataclass
            for key in field.metadata.get("without", ()):
                if found[field.name] is not None:
                    del found[field.name][key]
        return found

    def table(self) -> "pd.DataFrame":
        """Return the result as a pandas table: one row for each entry, indexed by its first key."""
        import pandas as pd

        rows = getattr(self, self._rows) if self._rows else (self,)
        records = [{key: value for key, value in row.record().items() if not _nested(value)} for row in rows]
        table = pd.DataFrame(records)
        return table.set_index(table.columns[0]) if len(table.columns) > 1 else table

    def __repr__(self) -> str:
        shown = ", ".join(f"{name}={_short(getattr(self, name))}" for name in self.facts())
        text = f"{type(self).__name__}({shown})"
        return text if len(text) <= _MOST_CHARACTERS else f"{text[: _MOST_CHARACTERS - 4]}...)"

    def _repr_html_(self) -> str:
        return result_html(self, self._rows)


def plain(value: object) -> Any:
    """Return a value as JSON knows it: results as records, arrays as lists, dates as text, Decimal as float.

    Parameters
    ----------
    value : object
        A field of a result.

    Returns
    -------
    Any
        Dicts, lists, text, numbers, truth values, None.
    """
    if isinstance(value, Result):
        return value.record()
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, tuple | list):
        return [plain(inner) for inner in value]
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, date):  # datetime too
        return value.isoformat()
    return value


def all_facts(base: type[Result] = Result) -> Iterator[tuple[str, str, Fact]]:
    """Yield class, key and fact of every result class that has been imported, for the glossary."""
    for each in base.__subclasses__():
        if dataclasses.is_dataclass(each):
            for key, what in each.facts().items():
                yield each.__name__, key, what
        yield from all_facts(each)


def _nested(value: object) -> bool:
    """Return whether a value needs more than a cell of a table."""
    return isinstance(value, dict | list)


def _short(value: object) -> str:
    """Return a value in a few characters."""
    if isinstance(value, Result):
        return type(value).__name__
    if isinstance(value, tuple | list | np.ndarray | Mapping):
        return f"<{len(value)}>"
    return f"{value:.6g}" if isinstance(value, float) else repr(value)
