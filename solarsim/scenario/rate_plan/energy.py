"""What a kilowatt-hour from the grid costs: rates, their tiers, riders and allowances as the user wrote them."""

from itertools import pairwise
from typing import Annotated, Self

from pydantic import Field, model_validator

from solarsim.clock.windows import Season, Window
from solarsim.fields import USUAL_PRICE, Frozen, Name, Price, field

_BillKwh = Annotated[float, Field(gt=0, le=1_000_000)]
_DayKwh = Annotated[float, Field(gt=0, le=10_000)]


class Tier(Frozen):
    """One step of a tiered rate."""

    price: Price = field("price of the energy in this tier", "currency/kWh", usual=USUAL_PRICE)
    up_to_kwh: _BillKwh | None = field(
        "where the tier ends in a bill, counted from its first kWh; by days where a bill covers part of the season",
        "kWh",
        usual=(1, 50_000),
        default=None,
    )
    up_to_kwh_per_day: _DayKwh | None = field(
        "the same per day, times the days of the bill", "kWh", usual=(0.1, 2000), default=None
    )

    @property
    def end(self) -> float | None:
        """Where the tier ends, in whichever way it was written; None for "never" [kWh]."""
        return self.up_to_kwh if self.up_to_kwh_per_day is None else self.up_to_kwh_per_day


class Rate(Frozen):
    """One named price, or one list of tiers, and the hours in which it holds."""

    name: Name = field("the rate, on the bill", "text")
    import_price: Price | None = field(
        "price of energy from the grid; either this or tiers", "currency/kWh", usual=USUAL_PRICE, default=None
    )
    tiers: tuple[Tier, ...] = field(
        "prices that change with the energy of a bill; the last tier has no end", "table", default=()
    )
    export_price: Price | None = field(
        "pay for energy to the grid, where export.pay is by_rate", "currency/kWh", usual=USUAL_PRICE, default=None
    )
    windows: tuple[Window, ...] = field(
        "when it applies; the one rate without windows applies in all other hours", "table", default=()
    )

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
                raise ValueError(f"tier {number} is the last and must have no end: all further kWh are in it")
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
    """A charge or a relief on every kilowatt-hour imported, which exports do not offset."""

    name: Name = field("the rider, on the bill", "text")
    price: float = field("on each kWh imported; negative for a relief", "currency/kWh", usual=(-2, 2), ge=-1e6, le=1e6)
    windows: tuple[Window, ...] = field("when it applies; default: always", "table", default=())


class Allowance(Season):
    """A baseline: a credit on the first kilowatt-hours of a bill; a bill with part of its season counts by days."""

    name: Name = field("the allowance, on the bill", "text")
    kwh_per_day: _DayKwh | None = field(
        "the allowance for each day of the bill", "kWh", usual=(0.1, 2000), default=None
    )
    kwh_per_month: _BillKwh | None = field(
        "the allowance for each bill, in place of kwh_per_day", "kWh", usual=(1, 50_000), default=None
    )
    credit_price: Price = field("credit on each kWh within it", "currency/kWh", usual=USUAL_PRICE)

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        if (self.kwh_per_day is None) == (self.kwh_per_month is None):
            raise ValueError("needs either kwh_per_day or kwh_per_month, and not both")
        return self
