"""What a kilowatt-hour costs and earns, and when: the tariff as the user wrote it."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.scenario.fields import Frozen, Money, Name
from solarsim.scenario.windows import Window


class Rate(Frozen):
    """One named price and the hours in which it holds.

    Attributes
    ----------
    import_price : float
        Paid for energy from the grid [currency/kWh].
    export_price : float, optional
        Earned for energy to the grid [currency/kWh]; only where export pay is ``by_rate``.
    windows : tuple of Window
        When it holds; the one rate without windows holds in all other hours.
    """

    name: Name
    import_price: Money
    export_price: Money | None = None
    windows: tuple[Window, ...] = ()


class ExportPay(Frozen):
    """What energy sold to the grid earns.

    Attributes
    ----------
    pay : str
        ``none``, ``flat`` (one price), ``by_rate`` (each rate's ``export_price``), or
        ``same_as_import`` (each hour at that hour's import price).
    price : float, optional
        The flat price [currency/kWh].
    """

    pay: Literal["none", "flat", "by_rate", "same_as_import"]
    price: Money | None = None

    @model_validator(mode="after")
    def _price_if_flat(self) -> Self:
        if (self.pay == "flat") != (self.price is not None):
            raise ValueError("'price' belongs to pay = 'flat', and only to it")
        return self


class Tariff(Frozen):
    """A rate plan.

    Attributes
    ----------
    currency : str
        ISO 4217 code.
    fixed_per_month : float
        Charged every month whatever flows [currency].
    rates : tuple of Rate
        Every hour of the year belongs to exactly one.
    export : ExportPay
        What exported energy earns.
    """

    name: Name
    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
    fixed_per_month: Money
    rates: Annotated[tuple[Rate, ...], Field(min_length=1, max_length=24)]
    export: ExportPay

    @model_validator(mode="after")
    def _rates_agree(self) -> Self:
        names = [rate.name for rate in self.rates]
        for name in names:
            if names.count(name) > 1:
                raise ValueError(f"two rates are named {name!r}")
        everywhere = [rate.name for rate in self.rates if not rate.windows]
        if len(everywhere) > 1:
            raise ValueError(f"rates {everywhere} have no windows; only one rate can hold in all other hours")
        for rate in self.rates:
            if (self.export.pay == "by_rate") != (rate.export_price is not None):
                raise ValueError(
                    f"rate {rate.name!r}: export_price belongs to export pay 'by_rate', and every rate needs it there"
                )
        return self

    def grown(self, energy: float, demand: float, fixed: float, export: float) -> "Tariff":
        """Give the same plan at other prices.

        Parameters
        ----------
        energy, demand, fixed, export : float
            What each kind of price is multiplied by. Export that is paid as import follows energy.

        Returns
        -------
        Tariff
            The windows are the same.
        """
        del demand  # the plan has no demand charge
        rates = tuple(
            rate.model_copy(
                update={
                    "import_price": rate.import_price * energy,
                    "export_price": None if rate.export_price is None else rate.export_price * export,
                }
            )
            for rate in self.rates
        )
        price = None if self.export.price is None else self.export.price * export
        update = {"rates": rates, "fixed_per_month": self.fixed_per_month * fixed}
        return self.model_copy(update={**update, "export": self.export.model_copy(update={"price": price})})
