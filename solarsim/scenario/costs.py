"""What the system costs: parts, labor and inverter sizes with their prices, incentives, how it is paid, O&M.

Every class is one table of the scenario file. Prices are in the rate plan's currency, as of the first year.
"""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from solarsim.fields import CurrentA, Frozen, Money, Name, NotNegative, Positive, PowerKw, field
from solarsim.scenario.financing import Lease, Loan, PowerPurchase, Years
from solarsim.scenario.roof.roof import DcInput
from solarsim.scenario.system import Efficiency

__all__ = ["Costs", "Incentive", "InverterSize", "Labor", "Part", "Per", "Years"]

Per = Literal[
    "module", "array", "string", "kw_dc", "inverter", "kw_ac", "cell", "battery_string", "battery_kwh", "system"
]
PER_ARRAYS, PER_INVERTER, PER_BATTERY = (
    ("module", "array", "string", "kw_dc"),
    ("inverter", "kw_ac"),
    ("cell", "battery_string", "battery_kwh"),
)


_UNDER = {"lease": "a lease", "power_purchase": "a power purchase agreement"}


class _Bought(Frozen):
    """What is bought in a quantity that follows the hardware, or in a fixed one."""

    name: Name = field("what is purchased", "text")
    per: Per | None = field(
        "what the quantity follows: module, array, string (of modules), kw_dc, inverter (the hybrid one), kw_ac, cell,"
        " battery_string, battery_kwh (nameplate) or system (once)",
        "text",
        default=None,
    )
    quantity: Positive | None = field(
        "without per: how many, whatever the hardware is; with per: how many for each (default 1)", "1", default=None
    )
    module: Name | None = field(
        "count only the arrays of this kind of module, with per = module, array, string or kw_dc", "text", default=None
    )
    array: Name | None = field("count only this array, with the same values of per", "text", default=None)
    ac_inverter: Name | None = field(
        "count this inverter of an array instead of the hybrid one, with per = inverter or kw_ac", "text", default=None
    )
    unit_price: Money = field("price of one", "currency", usual=(0, 500_000))

    @property
    def battery_only(self) -> bool:
        """Whether only a battery needs it."""
        return self.per in PER_BATTERY or getattr(self, "of", None) in ("cells", "battery")

    @model_validator(mode="after")
    def _counts_something(self) -> Self:
        if self.per is None and self.quantity is None:
            raise ValueError("give per (what its quantity follows) or a fixed quantity")
        if self.module is not None and self.array is not None:
            raise ValueError("give either module or array")
        for key, allowed in (("module", PER_ARRAYS), ("array", PER_ARRAYS), ("ac_inverter", PER_INVERTER)):
            if getattr(self, key) is not None and self.per not in allowed:
                raise ValueError(f"{key} needs per = {', '.join(allowed[:-1])} or {allowed[-1]}")
        return self


class _Replaced(Frozen):
    """What may be replaced when its life is over."""

    life_years: Years | None = field("full years until it is replaced; default: never", "years", default=None)
    replacement_price: Money | None = field(
        "price of one, installed, when its life is over", "currency", usual=(0, 500_000), default=None
    )

    @model_validator(mode="after")
    def _life_and_price(self) -> Self:
        if (self.life_years is None) != (self.replacement_price is None):
            there, gone = ("life_years", "replacement_price")[:: 1 if self.replacement_price is None else -1]
            raise ValueError(f"{there} is given without {gone}; give both or neither")
        return self


class Part(_Bought, _Replaced):
    """One line of the parts list."""

    owned: NotNegative = field("how many of them are there already and are not purchased", "1", default=0.0)
    of: Literal["modules", "cells", "battery"] | None = field(
        "modules or cells: what ages, and is new again when this part is replaced; battery: what else only the"
        " battery needs",
        "text",
        default=None,
    )


class Labor(_Bought):
    """One line of the installation."""

    of: Literal["battery"] | None = field("battery: only a battery needs it", "text", default=None)


class InverterSize(_Replaced):
    """A hybrid inverter that may be bought, found by its rating; keys left out stay as [inverter] has them."""

    ac_kw: PowerKw = field("rated AC power, as inverter.ac_kw", "kW", usual=(0.2, 250))
    unit_price: Money = field("price", "currency", usual=(0, 500_000))
    efficiency: Efficiency | None = field("as inverter.efficiency", "table", default=None)
    standby_w: float | None = field("as inverter.standby_w", "W", usual=(1, 1000), ge=0, le=20_000, default=None)
    inputs: Annotated[tuple[DcInput, ...], Field(min_length=1)] | None = field(
        "as inverter.inputs", "table", default=None
    )
    battery_charge_a: CurrentA | None = field("as inverter.battery_charge_a", "A", usual=(1, 2000), default=None)
    battery_discharge_a: CurrentA | None = field("as inverter.battery_discharge_a", "A", usual=(1, 2000), default=None)
    battery_charge_kw: PowerKw | None = field("as inverter.battery_charge_kw", "kW", usual=(0.1, 300), default=None)
    battery_discharge_kw: PowerKw | None = field(
        "as inverter.battery_discharge_kw", "kW", usual=(0.1, 300), default=None
    )
    surge_kw: float | None = field("as inverter.surge_kw", "kW", usual=(0.2, 500), gt=0, le=3000, default=None)

    @property
    def changes(self) -> dict[str, Any]:
        """What ``Scenario.changed`` needs for a home with this inverter."""
        prices = ("unit_price", "life_years", "replacement_price")
        written = [key for key in type(self).model_fields if key in self.model_fields_set and key not in prices]
        return {f"inverter.{key}": getattr(self, key) for key in written}


class Incentive(Frozen):
    """Money that somebody else pays towards the system."""

    name: Name = field("the incentive", "text")
    share: float | None = field("of parts and installation", "1", gt=0, le=1, default=None)
    amount: float | None = field("fixed, in place of a share", "currency", gt=0, le=1e9, default=None)
    cap: Money | None = field("limit on the amount of a share", "currency", default=None)
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


class Costs(Frozen):
    """What the system costs to purchase, install, finance and operate."""

    parts: Annotated[tuple[Part, ...], Field(min_length=1)] = field("the parts list", "table")
    inverters: tuple[InverterSize, ...] = field(
        "inverter sizes with a price each; the one with inverter.ac_kw is purchased", "table", default=()
    )
    labor: tuple[Labor, ...] = field("installation that follows the hardware", "table", default=())
    installation: Money = field("labor, permits and other one-time costs", "currency", usual=(0, 500_000), default=0.0)
    complete: bool = field(
        "true: a fixed quantity that contradicts the hardware is an error, not a note", "true or false", default=False
    )
    incentives: tuple[Incentive, ...] = field("payments from a utility, state or other party", "table", default=())
    loan: Loan | None = field("what is borrowed", "table", default=None)
    lease: Lease | None = field("a lease, in place of a purchase", "table", default=None)
    power_purchase: PowerPurchase | None = field(
        "a power purchase agreement, in place of a purchase", "table", default=None
    )
    o_and_m_per_year: Money = field(
        "operation and maintenance (cleaning, insurance, inspection) at first-year prices",
        "currency",
        usual=(0, 50_000),
        default=0.0,
    )

    @property
    def contract(self) -> Lease | PowerPurchase | None:
        """The contract under which somebody else owns the system; None where it is bought."""
        return self.lease or self.power_purchase

    def life_of(self, kind: Literal["modules", "cells"]) -> int | None:
        """Return the life of what is replaced together [years]; None where it is never replaced."""
        return next((part.life_years for part in self.parts if part.of == kind), None)

    @model_validator(mode="after")
    def _one_way_to_pay(self) -> Self:
        ways = [key for key in ("loan", "lease", "power_purchase") if getattr(self, key) is not None]
        if len(ways) > 1:
            raise ValueError(f"{' and '.join(ways)}: a system is paid in one way; keep one")
        shared = [each.name for each in self.incentives if each.share is not None]
        if self.contract is not None and shared:
            raise ValueError(
                f"incentives: {shared[0]!r} is a share of a price that is not paid under {_UNDER[ways[0]]}; write an"
                " amount, or leave it to the owner of the system"
            )
        return self

    @model_validator(mode="after")
    def _wears_together(self) -> Self:
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
        ratings = [each.ac_kw for each in self.inverters]
        twice = next((rating for rating in ratings if ratings.count(rating) > 1), None)
        if twice is not None:
            raise ValueError(f"inverters: more than one has {twice:g} kW; the rating tells them apart")
        return self
