"""What the system costs: parts and how long they last, installation, incentives, a loan, O&M.

Every class is one table of the scenario file. Prices are in the rate plan's currency, as of the first year.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.fields import Frozen, Money, Name, Positive

Years = Annotated[int, Field(ge=1, le=60)]


class Part(Frozen):
    """One line of the parts list.

    Attributes
    ----------
    quantity : float
        How many.
    unit_price : float
        Of one [currency].
    life_years : int, optional
        Full years until it is replaced [years]; a part without lasts as long as anybody counts.
    replacement_price : float, optional
        Of one, fitted, when its life is over [currency]; belongs to ``life_years``.
    of : str, optional
        ``modules`` or ``cells``: what wears, and is as new when this part is replaced; a battery in one piece is
        ``cells``. ``battery``: what else only the battery needs. Cells and battery make up the battery's price.
    """

    name: Name
    quantity: Positive
    unit_price: Money
    life_years: Years | None = None
    replacement_price: Money | None = None
    of: Literal["modules", "cells", "battery"] | None = None

    @model_validator(mode="after")
    def _life_and_price(self) -> Self:
        if (self.life_years is None) != (self.replacement_price is None):
            raise ValueError("life_years and replacement_price belong together; one of them is missing")
        return self


class Incentive(Frozen):
    """Money that somebody else pays towards the system.

    Attributes
    ----------
    share : float, optional
        Of parts and installation, whatever other incentives pay, 0-1.
    amount : float, optional
        Fixed, in place of a share [currency].
    cap : float, optional
        Most that a share comes to [currency].
    year : int
        When it is paid: 0 with the purchase, 1 at the end of the first year, and so on.
    """

    name: Name
    share: Annotated[float, Field(gt=0, le=1)] | None = None
    amount: Annotated[float, Field(gt=0, le=1e9)] | None = None
    cap: Money | None = None
    year: Annotated[int, Field(ge=0, le=60)]

    @model_validator(mode="after")
    def _share_or_amount(self) -> Self:
        if (self.share is None) == (self.amount is None):
            raise ValueError("give either share or amount")
        if self.cap is not None and self.share is None:
            raise ValueError("cap belongs to a share; a fixed amount needs none")
        return self

    def paid(self, upfront_cost: float) -> float:
        """Tell what it pays towards a system of this cost [currency]."""
        if self.share is None:
            return self.amount or 0.0
        return self.share * upfront_cost if self.cap is None else min(self.cap, self.share * upfront_cost)


class Loan(Frozen):
    """A loan with equal monthly payments.

    Attributes
    ----------
    share : float, optional
        Of parts and installation, 0-1.
    amount : float, optional
        In place of a share [currency].
    rate : float
        Nominal interest a year, 0-1; a twelfth of it each month.
    years : int
        Until it is paid off [years].
    """

    share: Annotated[float, Field(gt=0, le=1)] | None = None
    amount: Annotated[float, Field(gt=0, le=1e9)] | None = None
    rate: Annotated[float, Field(ge=0, le=0.5)]
    years: Years

    @model_validator(mode="after")
    def _share_or_amount(self) -> Self:
        if (self.share is None) == (self.amount is None):
            raise ValueError("give either share or amount")
        return self

    def borrowed(self, upfront_cost: float) -> float:
        """Tell what is borrowed for a system of this cost [currency]."""
        return (self.amount or 0.0) if self.share is None else self.share * upfront_cost


class Costs(Frozen):
    """What the system costs to buy, install, pay for and keep.

    Attributes
    ----------
    parts : tuple of Part
        The parts list.
    installation : float
        Labour, permits and what else is paid once [currency].
    incentives : tuple of Incentive
        What others pay.
    loan : Loan, optional
        What is borrowed.
    o_and_m_per_year : float
        Cleaning, insurance, inspection: at the prices of the first year [currency].
    """

    parts: Annotated[tuple[Part, ...], Field(min_length=1)]
    installation: Money = 0.0
    incentives: tuple[Incentive, ...] = ()
    loan: Loan | None = None
    o_and_m_per_year: Money = 0.0

    @property
    def total(self) -> float:
        """Parts and installation [currency]."""
        return sum(part.quantity * part.unit_price for part in self.parts) + self.installation

    def life_of(self, kind: Literal["modules", "cells"]) -> int | None:
        """Give the life of what wears together [years]; None where it is never replaced."""
        return next((part.life_years for part in self.parts if part.of == kind), None)

    @property
    def battery_parts(self) -> tuple[Part, ...]:
        """The parts that are cells or that only the battery needs."""
        return tuple(part for part in self.parts if part.of in ("cells", "battery"))

    @property
    def battery_price(self) -> float | None:
        """What those parts cost when the system is bought; None where no part is marked [currency]."""
        parts = self.battery_parts
        return sum(part.quantity * part.unit_price for part in parts) if parts else None

    @model_validator(mode="after")
    def _money_adds_up(self) -> Self:
        # A millionth of slack: shares are multiplied in floating point.
        most = self.total * (1 + 1e-6)
        paid = [(each, each.paid(self.total)) for each in self.incentives]
        if sum(amount for _, amount in paid) > most:
            raise ValueError(
                f"incentives of {sum(amount for _, amount in paid):,.2f} are more than parts and installation cost"
                f" ({self.total:,.2f})"
            )
        if self.loan is not None:
            open_cost = most - sum(amount for each, amount in paid if each.year == 0)
            if self.loan.borrowed(self.total) > open_cost:
                raise ValueError(
                    f"the loan of {self.loan.borrowed(self.total):,.2f} is more than what is to be paid at the purchase"
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
