"""What a bill holds beside energy: demand charges, a minimum, percentages, as the user wrote them."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, model_validator

from solarsim.clock.windows import Window
from solarsim.fields import Frozen, Money, Name, Price, Share, field, no_repeats

#: Kinds of bill lines; ``tax`` are all percentages.
Kind = Literal["energy", "rider", "customer_charge", "demand", "export", "credit", "minimum", "tax"]


class Demand(Frozen):
    """A charge on the highest mean power of a bill."""

    name: Name = field("the charge, on the bill", "text")
    price: Price = field(
        "for each kW of the highest interval mean of import, in each bill", "currency/kW", usual=(0, 100)
    )
    windows: tuple[Window, ...] = field("hours that count; default: all", "table", default=())
    ratchet_share: Share | None = field(
        "at least this share of the highest of the bills before is charged", "1", default=None
    )
    ratchet_months: int | None = field("number of bills that the ratchet looks back", "1", ge=1, le=11, default=None)

    @model_validator(mode="after")
    def _whole_ratchet(self) -> Self:
        if (self.ratchet_share is None) != (self.ratchet_months is None):
            raise ValueError("'ratchet_share' and 'ratchet_months' belong together")
        return self


class Minimum(Frozen):
    """Lowest sum of a bill's energy, riders, customer and demand charges, before taxes."""

    per_month: Money | None = field("for each bill", "currency", usual=(0, 1000), default=None)
    per_day: Money | None = field("for each day of the bill", "currency", usual=(0, 50), default=None)

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        if (self.per_month is None) == (self.per_day is None):
            raise ValueError("needs either per_month or per_day, and not both")
        return self


class Adder(Frozen):
    """A percentage on other lines of the same bill: a tax, a franchise fee, a discount."""

    name: Name = field("the percentage, on the bill", "text")
    share: float = field("0.05 is 5%; negative for a discount", "1", usual=(-0.5, 0.5), ge=-1, le=1)
    on: Annotated[tuple[Kind, ...], AfterValidator(no_repeats)] = field(
        "kinds of lines that it acts on: energy, rider, customer_charge, demand, minimum, export, credit, tax"
        " (percentages above this one)",
        "text",
    )
