"""What energy to the grid earns, and what its credits may offset, as the user wrote it."""

from collections.abc import Mapping
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, Field, PrivateAttr, model_validator

from solarsim.clock.windows import Month, Window
from solarsim.fields import Frozen, Money, Share, no_repeats

Pay = Literal[
    "none", "flat", "by_rate", "same_as_import", "by_window", "by_month_and_hour", "hourly_file", "net_metering",
    "feed_in",
]  # fmt: skip
Offset = Literal["energy", "rider", "customer_charge", "demand"]
DayPrices = Annotated[tuple[Money, ...], Field(min_length=24, max_length=24)]
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
    """A window with what exports earn in it.

    Attributes
    ----------
    price : float
        [currency/kWh].
    """

    price: Money


class Credits(Frozen):
    """What money earned by exports may pay.

    Attributes
    ----------
    offset : tuple of str
        Kinds of lines that it may pay: ``energy``, ``rider``, ``customer_charge``, ``demand``. Taxes, and a
        minimum bill, it never pays.
    leftover : str
        What it cannot pay in a bill is ``carried`` to the next, or ``lost``.
    remainder_share : float, optional
        Share of what is carried and left at the true-up that is paid out; with ``carried`` only.
    """

    offset: Annotated[tuple[Offset, ...], AfterValidator(no_repeats)]
    leftover: Literal["carried", "lost"]
    remainder_share: Share | None = None

    @model_validator(mode="after")
    def _remainder_if_carried(self) -> Self:
        if (self.leftover == "carried") != (self.remainder_share is not None):
            raise ValueError("'remainder_share' belongs to leftover = 'carried', and only to it")
        return self


class ExportPay(Frozen):
    """What energy sold to the grid earns.

    Attributes
    ----------
    pay : str
        ``none``; ``flat`` (one price); ``by_rate`` (each rate's ``export_price``);
        ``same_as_import`` (each hour at that hour's import price); ``by_window``,
        ``by_month_and_hour`` and ``hourly_file`` (prices of its own); ``net_metering`` (exported
        kWh offset bought ones); ``feed_in`` (all production sold, all load bought).
    price : float, optional
        Of ``flat`` and ``feed_in``; of ``by_window`` in all hours outside its windows [currency/kWh].
    windows : tuple of PriceWindow, optional
        Of ``by_window``.
    prices, weekend_prices : tuple of 12 tuples of 24 floats, optional
        Of ``by_month_and_hour``: January to December, wall-clock hour 0 to 23 [currency/kWh]; the
        second is for weekends and holidays, where they differ.
    file : str, optional
        Of ``hourly_file``: CSV with a column ``export_price``, 8,760 rows in standard time.
    net_within : str, optional
        Of ``net_metering``: exports offset kWh bought in the same ``rate`` only, or any of the same
        ``month``: first those of their own rate, then the others' in the order of the rates.
    surplus : str, optional
        What net metering makes of kWh that a bill cannot offset: ``carried_as_kwh``,
        ``carried_as_money`` (at its rate's price; of a tiered rate, the first tier's) or
        ``paid_monthly`` (at ``remainder_price``).
    true_up_month : int, optional
        With that bill what is carried is settled, and the next starts with nothing.
    remainder_price : float, optional
        Pay for kWh left at the true-up, or with ``paid_monthly`` in each bill [currency/kWh].
    credits : Credits, optional
        What the money may offset. Left out: it is paid out whatever the other lines are.
    """

    pay: Pay
    price: Money | None = None
    windows: tuple[PriceWindow, ...] | None = None
    prices: MonthHourPrices | None = None
    weekend_prices: MonthHourPrices | None = None
    file: str | None = None
    net_within: Literal["rate", "month"] | None = None
    surplus: Literal["carried_as_kwh", "carried_as_money", "paid_monthly"] | None = None
    true_up_month: Month | None = None
    remainder_price: Money | None = None
    credits: Credits | None = None
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
