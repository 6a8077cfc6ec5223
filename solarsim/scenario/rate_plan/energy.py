"""What a kilowatt-hour from the grid costs: rates, their tiers, riders and allowances as the user wrote them."""

from itertools import pairwise
from typing import Annotated, Self

from pydantic import Field, model_validator

from solarsim.clock.windows import Season, Window
from solarsim.fields import Frozen, Money, Name, Positive


class Tier(Frozen):
    """One step of a tiered rate.

    Attributes
    ----------
    price : float
        Paid for the energy in this tier [currency/kWh].
    up_to_kwh : float, optional
        Where the tier ends in a bill, counted from its first kWh [kWh]; a bill that takes in only
        part of the rate's season counts that part, by days.
    up_to_kwh_per_day : float, optional
        The same as energy a day, times the days of the bill [kWh].
    """

    price: Money
    up_to_kwh: Positive | None = None
    up_to_kwh_per_day: Positive | None = None

    @property
    def end(self) -> float | None:
        """Where the tier ends, in whichever way it was written; None for "never" [kWh]."""
        return self.up_to_kwh if self.up_to_kwh_per_day is None else self.up_to_kwh_per_day


class Rate(Frozen):
    """One named price, or one list of tiers, and the hours in which it holds.

    Attributes
    ----------
    import_price : float, optional
        Paid for energy from the grid [currency/kWh]; either this or ``tiers``.
    tiers : tuple of Tier
        Prices that change with the energy of a bill; the last tier has no end.
    export_price : float, optional
        Earned for energy to the grid [currency/kWh]; only where export pay is ``by_rate``.
    windows : tuple of Window
        When it holds; the one rate without windows holds in all other hours.
    """

    name: Name
    import_price: Money | None = None
    tiers: tuple[Tier, ...] = ()
    export_price: Money | None = None
    windows: tuple[Window, ...] = ()

    @property
    def listed_price(self) -> float:
        """Price of the rate, of its first tier where it has tiers [currency/kWh]."""
        return self.tiers[0].price if self.import_price is None else self.import_price

    @model_validator(mode="after")
    def _tiers_in_order(self) -> Self:
        if (self.import_price is None) == (not self.tiers):
            raise ValueError("needs either import_price or tiers, and not both")
        for number, tier in enumerate(self.tiers, start=1):
            if tier.up_to_kwh is not None and tier.up_to_kwh_per_day is not None:
                raise ValueError(f"tier {number} ends twice: by up_to_kwh and by up_to_kwh_per_day")
            if number == len(self.tiers) and tier.end is not None:
                raise ValueError(f"tier {number} is the last and must have no end: it takes all further kWh")
            if number < len(self.tiers) and tier.end is None:
                raise ValueError(f"tier {number} has no end, but is not the last: give it up_to_kwh")
        ends = self.tiers[:-1]
        if len({tier.up_to_kwh is None for tier in ends}) > 1:
            raise ValueError("some tiers end by up_to_kwh and some by up_to_kwh_per_day; write all in one way")
        for number, (tier, following) in enumerate(pairwise(ends), start=1):
            if (following.end or 0.0) <= (tier.end or 0.0):
                raise ValueError(
                    f"tiers are out of order: tier {number + 1} ends at {following.end:g} kWh,"
                    f" tier {number} already at {tier.end:g}"
                )
        return self


class Rider(Frozen):
    """A charge or a relief on every kilowatt-hour bought, which exports do not offset.

    Attributes
    ----------
    price : float
        On energy through the meter into the home [currency/kWh]; negative where it relieves.
    windows : tuple of Window
        When it holds; always where there are none.
    """

    name: Name
    price: Annotated[float, Field(ge=-1e9, le=1e9)]
    windows: tuple[Window, ...] = ()


class Allowance(Season):
    """A baseline: the first kilowatt-hours of a bill are cheaper by a credit.

    Attributes
    ----------
    kwh_per_day, kwh_per_month : float, optional
        The allowance, one of the two [kWh].
    credit_price : float
        Taken off each kWh billed within it [currency/kWh].
    months, dates
        The season in which it is given, see ``Season``; a bill with only some of its days counts
        these days' share of allowance and energy.
    """

    name: Name
    kwh_per_day: Positive | None = None
    kwh_per_month: Positive | None = None
    credit_price: Money

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        if (self.kwh_per_day is None) == (self.kwh_per_month is None):
            raise ValueError("needs either kwh_per_day or kwh_per_month, and not both")
        return self
