"""What every part of the house's load has in common: a name, and whether it is critical."""

from typing import Annotated

from pydantic import Field

from solarsim.fields import Frozen, Name, field

Kw = Annotated[float, Field(gt=0, le=100)]
Watts = Annotated[float, Field(gt=0, le=100_000)]
Cop = Annotated[float, Field(ge=1, le=10)]


class PartOfHouse(Frozen):
    """One thing that uses electricity."""

    name: Name = field("the part, for tables", "text")
    critical: bool = field(
        "whether it is critical: on in an outage even where arrangement.backed_up is critical", "true or false"
    )
    in_bills: bool | None = field(
        "whether the bills, meter or file of the load already hold it: true takes it out of them, false adds it to"
        " them; required where the load and a part are both given",
        "true or false",
        default=None,
    )
