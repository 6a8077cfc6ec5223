"""What a bill holds beside energy: demand charges, a minimum, percentages, as the user wrote them."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from solarsim.clock.windows import Window
from solarsim.fields import Frozen, Money, Name, Share, no_repeats

#: Kinds of bill lines; ``tax`` are all percentages.
Kind = Literal["energy", "rider", "customer_charge", "demand", "export", "credit", "minimum", "tax"]


class Demand(Frozen):
    """A charge on the highest mean power of a bill.

    Attributes
    ----------
    price : float
        For each kW of the highest interval mean of import, in each bill [currency/kW].
    windows : tuple of Window
        Hours that count; all where there are none. Bills without any such hour have no charge.
    ratchet_share : float, optional
        At least this share of the highest of the ``ratchet_months`` bills before is charged.
    ratchet_months : int, optional
        How many bills the ratchet looks back; the year is a circle.
    """

    name: Name
    price: Money
    windows: tuple[Window, ...] = ()
    ratchet_share: Share | None = None
    ratchet_months: Annotated[int, Field(ge=1, le=11)] | None = None

    @model_validator(mode="after")
    def _whole_ratchet(self) -> Self:
        if (self.ratchet_share is None) != (self.ratchet_months is None):
            raise ValueError("'ratchet_share' and 'ratchet_months' belong together")
        return self


class Minimum(Frozen):
    """What a bill's energy, riders, customer and demand charges come to at least, before taxes.

    Credits do not reach below it. What exports are paid without ``export.credits`` stands aside.

    Attributes
    ----------
    per_month : float, optional
        [currency].
    per_day : float, optional
        Times the days of the bill [currency].
    """

    per_month: Money | None = None
    per_day: Money | None = None

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        if (self.per_month is None) == (self.per_day is None):
            raise ValueError("needs either per_month or per_day, and not both")
        return self


class Adder(Frozen):
    """A percentage on other lines of the same bill: a tax, a franchise fee, a discount.

    Attributes
    ----------
    share : float
        0.05 is 5 %; negative for a discount.
    on : tuple of str
        Kinds of lines: ``energy``, ``rider``, ``customer_charge``, ``demand``, ``minimum``, ``export`` and
        ``credit`` (what exports earn makes it smaller), ``tax`` (percentages that stand above this
        one). It never acts on less than nothing.
    """

    name: Name
    share: Annotated[float, Field(ge=-1, le=1)]
    on: Annotated[tuple[Kind, ...], AfterValidator(no_repeats)]
