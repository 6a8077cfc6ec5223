"""What the system costs: parts and how long they last, installation, incentives, a loan, O&M.

Every class is one table of the scenario file. Prices are in the rate plan's currency, as of the first year.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.fields import Frozen, Money, Name, Positive, field

Years = Annotated[int, Field(ge=1, le=60)]


class Part(Frozen):
    """One line of the parts list."""

    name: Name = field("the part", "text")
    quantity: Positive = field("how many", "1")
    unit_price: Money = field("price of one", "currency")
    life_years: Years | None = field("full years until it is replaced; left out: never", "years", default=None)
    replacement_price: Money | None = field("price of one, installed, when its life is over", "currency", default=None)
    of: Literal["modules", "cells", "battery"] | None = field(
        "modules or cells: what ages, and is as new when this part is replaced; battery: what else only the"
        " battery needs",
        "text",
        default=None,
    )

    @model_validator(mode="after")
    def _life_and_price(self) -> Self:
        if (self.life_years is None) != (self.replacement_price is None):
            raise ValueError("life_years and replacement_price belong together; one of them is missing")
        return self


class Incentive(Frozen):
    """Money that somebody else pays towards the system."""

    name: Name = field("the incentive", "text")
    share: float | None = field("of parts and installation", "1", gt=0, le=1, default=None)
    amount: float | None = field("fixed, in place of a share", "currency", gt=0, le=1e9, default=None)
    cap: Money | None = field("most that a share comes to", "currency", default=None)
    year: int = field("when it is paid: 0 with the purchase, 1 at the end of the first year", "year", ge=0, le=60)

    @model_validator(mode="after")
    def _share_or_amount(self) -> Self:
        if (self.share is None) == (self.amount is None):
            raise ValueError("give either share or amount")
        if self.cap is not None and self.share is None:
            raise ValueError("cap belongs to a share; a fixed amount needs none")
        return self

    def paid(self, upfront_cost: float) -> float:
        """Return what it pays towards a system of this cost [currency]."""
        if self.share is None:
            return self.amount or 0.0
        return self.share * upfront_cost if self.cap is None else min(self.cap, self.share * upfront_cost)


class Loan(Frozen):
    """A loan with equal monthly payments."""

    share: float | None = field("of parts and installation", "1", gt=0, le=1, default=None)
    amount: float | None = field("in place of a share", "currency", gt=0, le=1e9, default=None)
    rate: float = field("nominal interest a year; a twelfth of it each month", "1", ge=0, le=0.5)
    years: Years = field("until it is paid off", "years")

    @model_validator(mode="after")
    def _share_or_amount(self) -> Self:
        if (self.share is None) == (self.amount is None):
            raise ValueError("give either share or amount")
        return self

    def borrowed(self, upfront_cost: float) -> float:
        """Return what is borrowed for a system of this cost [currency]."""
        return (self.amount or 0.0) if self.share is None else self.share * upfront_cost


class Costs(Frozen):
    """What the system costs to purchase, install, finance and operate."""

    parts: Annotated[tuple[Part, ...], Field(min_length=1)] = field("the parts list", "table")
    installation: Money = field("labor, permits and what else is paid once", "currency", default=0.0)
    incentives: tuple[Incentive, ...] = field("what others pay", "table", default=())
    loan: Loan | None = field("what is borrowed", "table", default=None)
    o_and_m_per_year: Money = field(
        "operation and maintenance (cleaning, insurance, inspection) at first-year prices", "currency", default=0.0
    )

    @property
    def upfront_cost(self) -> float:
        """Parts and installation, before incentives [currency]."""
        return sum(part.quantity * part.unit_price for part in self.parts) + self.installation

    def life_of(self, kind: Literal["modules", "cells"]) -> int | None:
        """Return the life of what is replaced together [years]; None where it is never replaced."""
        return next((part.life_years for part in self.parts if part.of == kind), None)

    @property
    def battery_parts(self) -> tuple[Part, ...]:
        """The parts that are cells or that only the battery needs."""
        return tuple(part for part in self.parts if part.of in ("cells", "battery"))

    @property
    def battery_price(self) -> float | None:
        """What those parts cost at the purchase; None where no part is marked [currency]."""
        parts = self.battery_parts
        return sum(part.quantity * part.unit_price for part in parts) if parts else None

    @model_validator(mode="after")
    def _money_adds_up(self) -> Self:
        # A millionth of slack: shares are multiplied in floating point.
        most = self.upfront_cost * (1 + 1e-6)
        paid = [(each, each.paid(self.upfront_cost)) for each in self.incentives]
        if sum(amount for _, amount in paid) > most:
            raise ValueError(
                f"incentives of {sum(amount for _, amount in paid):,.2f} are more than parts and installation cost"
                f" ({self.upfront_cost:,.2f})"
            )
        if self.loan is not None:
            open_cost = most - sum(amount for each, amount in paid if each.year == 0)
            if self.loan.borrowed(self.upfront_cost) > open_cost:
                raise ValueError(
                    f"the loan of {self.loan.borrowed(self.upfront_cost):,.2f} is more than is paid at the purchase"
                    f" ({open_cost:,.2f}, after incentives of year 0)"
                )
        for kind in ("modules", "cells"):
            lives = {part.life_years for part in self.parts if part.of == kind}
            if len(lives) > 1:
                raise ValueError(f"parts of {kind!r} have different life_years; what wears together needs one life")
        replaced = [part.name for part in self.parts if part.of == "battery" and part.life_years is not None]
        if replaced and not any(part.of == "cells" for part in self.parts):
            raise ValueError(
                f"{replaced[0]!r} of 'battery' is replaced, but no part is of 'cells', so none would make the battery"
                " as new; the part that holds the cells is of = 'cells'"
            )
        return self
