"""What every table of a scenario is made of: strict frozen models, and keys with meaning, unit and range."""

from collections.abc import Mapping
from typing import Annotated, Any, Self, TypeVar

from pydantic import BaseModel, ConfigDict, Field

_Item = TypeVar("_Item", str, int)
Share = Annotated[float, Field(ge=0, le=1)]
Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Months12 = Annotated[tuple[NotNegative, ...], Field(min_length=12, max_length=12)]
Money = Annotated[float, Field(ge=0, le=1e9)]  # beyond it cents are no longer exact
Name = Annotated[str, Field(min_length=1, max_length=60)]


def field(meaning: str, unit: str, **options: Any) -> Any:
    """Declare a key of a scenario: the guide, the JSON Schema and the error messages read it from here.

    Parameters
    ----------
    meaning : str
        One line for a person.
    unit : str
        ``kW``, ``deg`` and the like; ``1`` for shares, ratios and counts; ``text``, ``true or false``, ``date``,
        ``table``.
    options
        As for ``pydantic.Field``: ``default``, and the range (``gt``, ``ge``, ``lt``, ``le``, ``min_length``).

    Returns
    -------
    Any
        The field.
    """
    return Field(description=meaning, json_schema_extra={"unit": unit}, **options)


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
