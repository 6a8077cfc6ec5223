"""A rate plan as the user wrote it: energy, exports and all other charges of one rate plan table or file."""

from typing import Annotated, Any, Literal, Self, TypeVar

from pydantic import AfterValidator, BaseModel, Field, model_validator

from solarsim.clock.holidays import Holidays
from solarsim.fields import Frozen, Money, Name, field
from solarsim.scenario._doubts import unusual_numbers
from solarsim.scenario.rate_plan.charges import Adder, Demand, Kind, Minimum
from solarsim.scenario.rate_plan.energy import Allowance, Rate, Rider, Tier
from solarsim.scenario.rate_plan.export import Credits, ExportPay

__all__ = [
    "Adder",
    "Allowance",
    "Credits",
    "Demand",
    "ExportPay",
    "Kind",
    "Minimum",
    "Rate",
    "Rider",
    "RatePlan",
    "Tier",
]


_Table = TypeVar("_Table", bound=Frozen)


def _in_every_month(day: int) -> int:
    if not 1 <= day <= 28:
        raise ValueError(
            "is no day of every month, February has none above 28: must be 1 to 28; leave it out for calendar months"
        )
    return day


class RatePlan(Frozen):
    """A utility's prices and rules."""

    name: Name = field("the plan, for headings and tables", "text")
    currency: str = field("ISO 4217 code of all money in the scenario, such as USD", "text", pattern=r"^[A-Z]{3}$")
    customer_charge_per_month: Money = field("fixed charge in every bill", "currency", usual=(0, 500))
    customer_charge_per_day: Money = field(
        "fixed charge for every day of a bill", "currency", usual=(0, 20), default=0.0
    )
    rates: Annotated[tuple[Rate, ...], Field(min_length=1, max_length=24)] = field(
        "energy prices; every hour of the year belongs to exactly one", "table"
    )
    tiers_count: Literal["own_rate", "all_rates"] | None = field(
        "whether tiers count the kWh of their own_rate, or of all_rates of the bill, split by energy",
        "text",
        default=None,
    )
    allowances: Annotated[tuple[Allowance, ...], Field(max_length=12)] = field("baseline credits", "table", default=())
    riders: Annotated[tuple[Rider, ...], Field(max_length=12)] = field(
        "charges on each kWh imported", "table", default=()
    )
    demand: Annotated[tuple[Demand, ...], Field(max_length=12)] = field("demand charges", "table", default=())
    minimum: Minimum | None = field("minimum bill", "table", default=None)
    adders: Annotated[tuple[Adder, ...], Field(max_length=12)] = field(
        "percentages, in the order of the bill", "table", default=()
    )
    export: ExportPay = field("what exported energy earns", "table")
    holidays: Holidays | None = field("holidays of the plan's windows; default: the site's", "table", default=None)
    reading_day: Annotated[int, AfterValidator(_in_every_month)] | None = field(
        "day of the month on which the meter is read, 1 to 28; default: bills are calendar months", "day", default=None
    )

    def grown(self, energy: float, demand: float, customer_charge: float, export: float) -> "RatePlan":
        """Return the plan with its prices multiplied; kWh limits and percentages stay.

        What exports earn by offsetting (net metering, ``same_as_import``) follows ``energy``, since
        it is the price of an imported kWh; only its ``remainder_price`` follows ``export``.

        Parameters
        ----------
        energy : float
            Factor of rates, tiers, riders and allowance credits.
        demand : float
            Factor of demand charges.
        customer_charge : float
            Factor of customer charges and the minimum bill.
        export : float
            Factor of all prices of exports.

        Returns
        -------
        Rate plan
            The plan with other prices.
        """
        return _priced(
            self,
            {
                "customer_charge_per_month": customer_charge * self.customer_charge_per_month,
                "customer_charge_per_day": customer_charge * self.customer_charge_per_day,
                "rates": tuple(
                    _priced(
                        _times(rate, import_price=energy, export_price=export),
                        {"tiers": tuple(_times(tier, price=energy) for tier in rate.tiers)},
                    )
                    for rate in self.rates
                ),
                "allowances": tuple(_times(each, credit_price=energy) for each in self.allowances),
                "riders": tuple(_times(each, price=energy) for each in self.riders),
                "demand": tuple(_times(each, price=demand) for each in self.demand),
                "minimum": self.minimum and _times(self.minimum, per_month=customer_charge, per_day=customer_charge),
                "export": _export_times(self.export, export),
            },
        )

    @property
    def doubts(self) -> tuple[str, ...]:
        """Numbers that are far from what is usual in the plan's currency, one line each."""
        return unusual_numbers(self, self.currency)

    @model_validator(mode="after")
    def _rates_agree(self) -> Self:
        for what in ("rates", "allowances", "riders", "demand", "adders"):
            names = [each.name for each in getattr(self, what)]
            for name in names:
                if names.count(name) > 1:
                    raise ValueError(f"two {what} are named {name!r}")
        everywhere = [rate.name for rate in self.rates if not rate.windows]
        if len(everywhere) > 1:
            raise ValueError(f"rates {everywhere} have no windows; only one rate can hold in all other hours")
        for rate in self.rates:
            if (self.export.pay == "by_rate") != (rate.export_price is not None):
                raise ValueError(
                    f"rate {rate.name!r}: export_price belongs to export pay 'by_rate', and every rate needs it there"
                )
        return self

    @model_validator(mode="after")
    def _tiers_agree(self) -> Self:
        tiered = [rate.name for rate in self.rates if rate.tiers]
        if (bool(tiered) and len(self.rates) > 1) != (self.tiers_count is not None):
            raise ValueError(
                "'tiers_count' belongs to plans with tiers and more than one rate, and they need it: 'own_rate' or"
                " 'all_rates'"
            )
        if tiered and self.export.pay == "same_as_import":
            raise ValueError(
                f"rate {tiered[0]!r} has tiers, so its hours have no one price for pay = 'same_as_import';"
                " use 'by_rate' or 'net_metering'"
            )
        return self


def _times(table: _Table, **factors: float) -> _Table:
    grown = {key: factor * value for key, factor in factors.items() if (value := getattr(table, key)) is not None}
    return _priced(table, grown)


def _priced(table: _Table, prices: dict[str, Any]) -> _Table:
    """Return a copy with computed prices: not input, so it is not validated again, 25 years of 1,000 lifetimes long."""
    return BaseModel.model_copy(table, update=prices)


def _export_times(pay: ExportPay, factor: float) -> ExportPay:
    def each(table: tuple[tuple[float, ...], ...] | None) -> tuple[tuple[float, ...], ...] | None:
        return table and tuple(tuple(factor * price for price in day) for day in table)

    windows = pay.windows and tuple(_times(window, price=factor) for window in pay.windows)
    tables = {"windows": windows, "prices": each(pay.prices), "weekend_prices": each(pay.weekend_prices)}
    grown = _priced(_times(pay, price=factor, remainder_price=factor), tables)
    if pay._hourly is None:
        return grown
    hourly = {"_hourly": tuple(factor * price for price in pay._hourly)}
    object.__setattr__(grown, "__pydantic_private__", hourly)
    return grown
