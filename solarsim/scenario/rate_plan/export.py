"""What energy to the grid earns, and what its credits may offset, as the user wrote it."""

from collections.abc import Mapping
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, Field, PrivateAttr, model_validator

from solarsim.clock.windows import Month, Window
from solarsim.fields import USUAL_PRICE, FileName, Frozen, Price, Share, field, no_repeats

Pay = Literal[
    "none", "flat", "by_rate", "same_as_import", "by_window", "by_month_and_hour", "hourly_file", "net_metering",
    "feed_in",
]  # fmt: skip
Offset = Literal["energy", "rider", "customer_charge", "demand"]
DayPrices = Annotated[tuple[Price, ...], Field(min_length=24, max_length=24)]
MonthHourPrices = Annotated[tuple[DayPrices, ...], Field(min_length=12, max_length=12)]

_BELONGS: dict[str, tuple[Pay, ...]] = {
    "price": ("flat", "by_window", "feed_in"),
    "windows": ("by_window",),
    "prices": ("by_month_and_hour",),
    "weekend_prices": ("by_month_and_hour",),
    "file": ("hourly_file",),
    "net_within": ("net_metering",),
    "surplus": ("net_metering",),
}
_OPTIONAL = ("weekend_prices",)


class PriceWindow(Window):
    """A window with a price for exports."""

    price: Price = field("pay for energy to the grid", "currency/kWh", usual=USUAL_PRICE)


class Credits(Frozen):
    """What money earned by exports may pay."""

    offset: Annotated[tuple[Offset, ...], AfterValidator(no_repeats)] = field(
        "kinds of lines that it may pay: energy, rider, customer_charge, demand; never taxes or a minimum bill", "text"
    )
    leftover: Literal["carried", "lost"] = field("what it cannot pay in a bill is carried to the next, or lost", "text")
    remainder_share: Share | None = field(
        "share of the carried money left at the true-up that is paid out", "1", default=None
    )

    @model_validator(mode="after")
    def _remainder_if_carried(self) -> Self:
        if (self.leftover == "carried") != (self.remainder_share is not None):
            raise ValueError("'remainder_share' belongs to leftover = 'carried', and only to it")
        return self


class ExportPay(Frozen):
    """What energy to the grid earns."""

    pay: Pay = field(
        "none; flat; by_rate (each rate's export_price); same_as_import; by_window, by_month_and_hour,"
        " hourly_file (prices of its own); net_metering (exported kWh offset imported ones); feed_in (all"
        " production is exported and paid, all load is imported)",
        "text",
    )
    price: Price | None = field(
        "of flat and feed_in; of by_window in all hours outside its windows",
        "currency/kWh",
        usual=USUAL_PRICE,
        default=None,
    )
    windows: tuple[PriceWindow, ...] | None = field("of by_window", "table", default=None)
    prices: MonthHourPrices | None = field(
        "of by_month_and_hour: for each month 24 prices, wall-clock hours from midnight",
        "currency/kWh",
        usual=USUAL_PRICE,
        default=None,
    )
    weekend_prices: MonthHourPrices | None = field(
        "the same for weekends and holidays, where they differ", "currency/kWh", usual=USUAL_PRICE, default=None
    )
    file: FileName | None = field(
        "of hourly_file: CSV with a column export_price, 8,760 rows in standard time", "text", default=None
    )
    net_within: Literal["rate", "month"] | None = field(
        "of net_metering: exports offset imports of the same rate only, or of the same month (first those of"
        " their own rate)",
        "text",
        default=None,
    )
    surplus: Literal["carried_as_kwh", "carried_as_money", "paid_monthly"] | None = field(
        "what net metering makes of kWh that a bill cannot offset: carried_as_kwh, carried_as_money or paid_monthly",
        "text",
        default=None,
    )
    true_up_month: Month | None = field(
        "what is carried is settled with the bill of this month, 1 to 12", "month", default=None
    )
    remainder_price: Price | None = field(
        "pay for kWh left at the true-up, or with paid_monthly in each bill",
        "currency/kWh",
        usual=USUAL_PRICE,
        default=None,
    )
    credits: Credits | None = field(
        "what the money may offset; default: it is paid out whatever the other lines are", "table", default=None
    )
    _hourly: tuple[float, ...] | None = PrivateAttr(default=None)

    def model_post_init(self, context: Any) -> None:
        """Keep the hourly prices that the reader found in the file."""
        if isinstance(context, Mapping):
            self._hourly = context["prices"]

    @property
    def hourly(self) -> tuple[float, ...]:
        """The prices that ``file`` holds.

        Returns
        -------
        tuple of float
            One for each hour of the year, standard time [currency/kWh].

        Raises
        ------
        RuntimeError
            The model was built without the reader, which reads the file.
        """
        if self._hourly is None:
            raise RuntimeError("the file of hourly export prices has not been read")
        return self._hourly

    @property
    def starts_after_month(self) -> int:
        """The month (1 to 12) with whose bill the year of credits ends."""
        return 12 if self.true_up_month is None else self.true_up_month

    @model_validator(mode="after")
    def _keys_fit_pay(self) -> Self:
        for key, pays in _BELONGS.items():
            given = getattr(self, key) is not None
            if given != (self.pay in pays) and not (key in _OPTIONAL and not given):
                words = ", ".join(f"'{pay}'" for pay in pays)
                only = "it" if len(pays) == 1 else "them"
                raise ValueError(f"'{key}' belongs to pay = {words}, and only to {only}")
        return self

    @model_validator(mode="after")
    def _credits_are_whole(self) -> Self:
        if self.credits is not None and (
            self.pay in ("none", "feed_in") or self.surplus in ("carried_as_kwh", "paid_monthly")
        ):
            raise ValueError("'credits' belongs to exports that earn money in each bill; here they do not")
        if self.surplus == "carried_as_money" and (self.credits is None or self.credits.leftover != "carried"):
            raise ValueError("surplus = 'carried_as_money' needs 'credits' with leftover = 'carried'")
        carried = self.surplus == "carried_as_kwh" or (self.credits is not None and self.credits.leftover == "carried")
        if carried != (self.true_up_month is not None):
            raise ValueError("'true_up_month' belongs to what is carried from bill to bill, and only to it")
        if (self.surplus in ("carried_as_kwh", "paid_monthly")) != (self.remainder_price is not None):
            raise ValueError(
                "'remainder_price' belongs to surplus = 'carried_as_kwh', 'paid_monthly', and only to them;"
                " 0 means that nothing is paid"
            )
        return self
