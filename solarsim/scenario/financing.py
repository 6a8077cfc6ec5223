"""How the system is paid: a loan, a lease, a power purchase agreement.

Every class is one table of the scenario file. Without any of them the system is paid in cash at the purchase.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.fields import USUAL_PRICE, Frozen, Money, Price, field

Years = Annotated[int, Field(ge=1, le=60)]


class Loan(Frozen):
    """A loan with equal monthly payments."""

    share: float | None = field("of parts and installation", "1", gt=0, le=1, default=None)
    amount: float | None = field("in place of a share", "currency", gt=0, le=1e9, default=None)
    rate: float = field("nominal interest a year; a twelfth of it each month", "1", usual=(0.001, 0.25), ge=0, le=0.5)
    years: Years = field("until it is paid off", "years")
    dealer_fee: float = field(
        "share of the debt that the lender keeps: 0.2 means that 100 are owed for every 80 paid to the installer",
        "1",
        ge=0,
        le=0.6,
        default=0.0,
    )

    @model_validator(mode="after")
    def _share_or_amount(self) -> Self:
        if (self.share is None) == (self.amount is None):
            raise ValueError("give either share or amount")
        return self

    def borrowed(self, upfront_cost: float) -> float:
        """Return what the loan pays of a system of this cost [currency]."""
        return (self.amount or 0.0) if self.share is None else self.share * upfront_cost

    def debt(self, upfront_cost: float) -> float:
        """Return what is owed at the start: what it pays, and the dealer fee [currency]."""
        return self.borrowed(upfront_cost) / (1.0 - self.dealer_fee)


class Buyout(Frozen):
    """The purchase of a leased system from its owner."""

    year: int = field("year at whose end the system is purchased", "year", ge=1, le=60)
    price: Money = field("price in that year's money", "currency")


class _Contract(Frozen):
    """What a lease and a power purchase agreement have in common: somebody else owns the system."""

    years: Years = field("term", "years")
    escalator_per_year: float = field(
        "growth of the price at the start of each year after the first", "1", ge=0, le=0.2
    )
    upfront_payment: Money = field("paid at the start", "currency", default=0.0)
    maintained: bool = field(
        "true: the owner of the system pays O&M and replaced parts during the term", "true or false"
    )
    buyout: Buyout | None = field("purchase of the system during the term or at its end", "table", default=None)
    at_end: Literal["removed", "renewed", "transferred"] | None = field(
        "after the term, where the study is longer and there is no buyout: removed (the home is without a system),"
        " renewed (the payments continue and keep growing) or transferred (the system becomes yours at no cost)",
        "text",
        default=None,
    )

    @model_validator(mode="after")
    def _one_end(self) -> Self:
        if self.buyout is not None:
            if self.at_end is not None:
                raise ValueError("give either buyout or at_end")
            if self.buyout.year > self.years:
                raise ValueError(f"buyout.year {self.buyout.year} is after the {self.years} years of the term")
        return self

    def years_of_payment(self, horizon: int) -> int:
        """Return in how many years of a study payments are made [years]."""
        if self.buyout is not None:
            return min(horizon, self.buyout.year)
        return horizon if self.at_end == "renewed" else min(horizon, self.years)

    def years_with_system(self, horizon: int) -> int:
        """Return for how many years of a study the home has the system [years]."""
        return min(horizon, self.years) if self.at_end == "removed" else horizon


class Lease(_Contract):
    """A lease: a payment each month, whatever the system makes."""

    monthly_payment: Money = field("in the first year", "currency")


class PowerPurchase(_Contract):
    """A power purchase agreement: a price for each kWh of solar energy."""

    price_per_kwh: Price = field(
        "in the first year, for each kWh AC of solar energy used or exported, directly or through the battery",
        "currency/kWh",
        usual=USUAL_PRICE,
    )
