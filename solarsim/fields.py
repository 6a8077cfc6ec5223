"""What every table of a scenario is made of: strict frozen models, numbers with bounds, names."""

from typing import Annotated, TypeVar

from pydantic import BaseModel, ConfigDict, Field

_Item = TypeVar("_Item", str, int)
Share = Annotated[float, Field(ge=0, le=1)]
Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Months12 = Annotated[tuple[NotNegative, ...], Field(min_length=12, max_length=12)]
Money = Annotated[float, Field(ge=0, le=1e9)]  # beyond it cents are no longer exact
Name = Annotated[str, Field(min_length=1, max_length=60)]


class Frozen(BaseModel):
    """What every part of a scenario has in common: strict types, no unknown keys, no changes."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False, defer_build=True)


def no_repeats(values: tuple[_Item, ...]) -> tuple[_Item, ...]:
    """Refuse an empty list, and a list that names something twice.

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
        It is empty, or a value stands in it twice.
    """
    if not values:
        raise ValueError("must not be empty; leave the key out to mean all")
    for value in values:
        if values.count(value) > 1:
            raise ValueError(f"names {value!r} twice")
    return values
