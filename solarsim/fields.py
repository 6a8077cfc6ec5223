"""What every table of a scenario is made of: strict frozen models, and keys with meaning, unit and range."""

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Self, TypeVar, get_args

from pydantic import BaseModel, ConfigDict, Field
from pydantic.fields import FieldInfo

from solarsim.units import units_of

_Item = TypeVar("_Item", str, int)


class _IsFile:
    """Marks a text that is the name of a file, so that all files of a scenario are found by their declaration."""


def names_files(declared: FieldInfo) -> bool:
    """Return whether a key names a file, or a list of files.

    Parameters
    ----------
    declared : pydantic.fields.FieldInfo
        Of the key.

    Returns
    -------
    bool
        By its type, ``FileName``.
    """
    return any(isinstance(each, _IsFile) for each in declared.metadata) or _holds_files(declared.annotation)


def _holds_files(annotation: Any) -> bool:
    inside = (*get_args(annotation), *getattr(annotation, "__metadata__", ()))
    return isinstance(annotation, _IsFile) or any(_holds_files(each) for each in inside)


# The widest ranges are those of a small commercial site: 200 kW of load, arrays of 500 kW, 2 MWh, with a margin.
MOST_KW, MOST_KWH = 1000.0, 5000.0
Share = Annotated[float, Field(ge=0, le=1)]
Positive = Annotated[float, Field(gt=0, le=1e6)]  # a key with a range of its own declares it
NotNegative = Annotated[float, Field(ge=0, le=1e6)]
PowerKw = Annotated[float, Field(gt=0, le=MOST_KW)]
LimitKw = Annotated[float, Field(ge=0, le=MOST_KW)]
LimitA = Annotated[float, Field(ge=0, le=10_000)]
CurrentA = Annotated[float, Field(gt=0, le=10_000)]
MonthKwh = Annotated[float, Field(ge=0, le=150_000)]  # 200 kW through a month of 31 days
Months12Kwh = Annotated[tuple[MonthKwh, ...], Field(min_length=12, max_length=12)]
Money = Annotated[float, Field(ge=0, le=1e9)]  # beyond it cents are no longer exact
Price = Annotated[float, Field(ge=0, le=1e6)]  # of a kWh, a kW or a liter; no currency explains more
Name = Annotated[str, Field(min_length=1, max_length=60)]
FileName = Annotated[str, Field(min_length=1), _IsFile()]
USUAL_PRICE = (0.0, 2.0)  # of a kWh; critical peaks of many plans reach 1 to 1.5 US dollars (from memory)

#: What a number was probably written in: by a key's unit, other units of the same table.
_SLIPS: dict[str, tuple[str, ...]] = {
    "1": ("%",),
    "1/C": ("%/C",),
    "kW": ("W", "MW"),
    "W": ("kW",),
    "kWh": ("Wh", "MWh"),
    "MWh": ("kWh",),
    "A": ("mA",),
    "Ah": ("mAh",),
    "V": ("mV", "kV"),
    "C": ("F",),
    "m": ("mm",),
    "cm": ("mm",),
    "m/s": ("km/h",),
    "kWh/m2": ("MJ/m2", "kWh/m2 of a month", "Wh/m2"),
    "kWh/km": ("kWh/100 km", "Wh/km"),
    "kW/K": ("W/K",),
    "l": ("ml", "m3"),
    "h": ("min",),
    "currency": ("cents",),
}
#: Factors of those in which no value may be written.
_ONLY_SLIPS = {"cents": 0.01, "kWh/m2 of a month": 12.0 / 365.0}
_OFTEN_SHIFTED = ("Ah",)  # where the slip is one of the decimal point


def field(
    meaning: str, unit: str, usual: tuple[float, float] | None = None, dimension: str | None = None, **options: Any
) -> Any:
    """Declare a key of a scenario: the guide, the JSON Schema and the error messages read it from here.

    Parameters
    ----------
    meaning : str
        One line for a person.
    unit : str
        ``kW``, ``deg`` and the like; ``1`` for shares, ratios and counts; ``text``, ``true or false``, ``date``,
        ``table``.
    usual : tuple of float, optional
        Lowest and highest value of most homes: what is beyond, and not 0, is used with a note. Of money in US dollars.
    dimension : str, optional
        The table of units in which it may be written (``solarsim.units``), where that is not its unit's own.
    options
        As for ``pydantic.Field``: ``default``, and the range (``gt``, ``ge``, ``lt``, ``le``, ``min_length``).

    Returns
    -------
    Any
        The field.
    """
    extra: dict[str, Any] = {"unit": unit}
    if usual is not None:
        extra["usual"] = list(usual)
    if dimension is not None:
        extra["dimension"] = dimension
    return Field(description=meaning, json_schema_extra=extra, **options)


def likely_unit(value: float, unit: str, low: float, high: float) -> str:
    """Return what a number outside its range probably is, to follow a message.

    Parameters
    ----------
    value : float
        As written.
    unit : str
        Of its key, as declared.
    low, high : float
        Where the number would be credible.

    Returns
    -------
    str
        The other unit in which it would be, or the power of ten; empty where nothing explains it.

    Examples
    --------
    >>> likely_unit(6000.0, "kW", 0.2, 250.0)
    '; 6000 W is written 6'
    >>> likely_unit(20.0, "1", 0.0, 1.0)
    '; 20% is written 0.2'
    >>> likely_unit(28000.0, "Ah", 50.0, 1200.0)
    '; 280 if it is 100 times too large'
    """
    if unit in _OFTEN_SHIFTED:
        for power in (10, 100):
            if low <= value / power <= high:
                return f"; {value / power:g} if it is {power} times too large"
    for name, meant in _meanings(value, "currency" if unit.startswith("currency") else unit, high):
        if low <= meant <= high and meant != 0:
            return f"; {value:g}{'' if name.startswith('%') else ' '}{name} is written {meant:.5g}"
    return ""


def _meanings(value: float, unit: str, high: float) -> Iterator[tuple[str, float]]:
    """Yield the units in which a number may have been written, with what it then is."""
    if unit == "1" and high > 1:
        return  # a count
    for name in _SLIPS.get(unit, ()):
        other = None if name in _ONLY_SLIPS else units_of(unit)[name]
        yield name, value * _ONLY_SLIPS[name] if other is None else value * float(other.factor) + float(other.offset)


class Frozen(BaseModel):
    """What every part of a scenario has in common: strict types, no unknown keys, no changes, always validated."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False, defer_build=True)

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """Return a copy; with an update it is validated anew."""
        if not update:
            return super().model_copy(deep=deep)
        values = {**{name: getattr(self, name) for name in self.model_fields_set}, **update}
        fields = type(self).model_fields
        found = type(self).model_validate(
            {fields[name].alias or name if name in fields else name: value for name, value in values.items()}
        )
        object.__setattr__(found, "__pydantic_private__", self.__pydantic_private__)
        return found

    @classmethod
    def model_construct(cls, _fields_set: set[str] | None = None, **values: Any) -> Self:  # type: ignore[override]
        """Return a validated model: there is no other kind."""
        return cls.model_validate(values)


def no_repeats(values: tuple[_Item, ...]) -> tuple[_Item, ...]:
    """Check that a list is not empty and names nothing twice.

    Parameters
    ----------
    values : tuple
        Names or numbers.

    Returns
    -------
    tuple
        The same.

    Raises
    ------
    ValueError
        It is empty, or a value is in it twice.
    """
    if not values:
        raise ValueError("must not be empty; leave the key out to mean all")
    for value in values:
        if values.count(value) > 1:
            raise ValueError(f"names {value!r} twice")
    return values
