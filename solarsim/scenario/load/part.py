"""What every part of the house's load has in common: a name, and whether an outage spares it."""

from typing import Annotated

from pydantic import Field

from solarsim.fields import Frozen, Name

Kw = Annotated[float, Field(gt=0, le=100)]
Watts = Annotated[float, Field(gt=0, le=100_000)]
Cop = Annotated[float, Field(ge=1, le=10)]


class PartOfHouse(Frozen):
    """One thing that uses electricity.

    Attributes
    ----------
    name : str
        Its own name in tables and messages.
    critical : bool
        Whether it stays on in an outage.
    """

    name: Name
    critical: bool
