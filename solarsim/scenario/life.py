"""The years to come: how long, at which discount rate, what wears and what grows, and how sure anybody is.

Every class is one table of the scenario file. Rates are a year's, as shares: 0.03 is 3 % a year. What is
not named does not grow.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.fields import Frozen
from solarsim.scenario.costs import Years
from solarsim.scenario.site import WeatherFile

LEAST_GROWTH, MOST_GROWTH, MOST_WEAR = -0.2, 0.3, 0.3
Growth = Annotated[float, Field(ge=LEAST_GROWTH, le=MOST_GROWTH)]
Wear = Annotated[float, Field(ge=0, le=MOST_WEAR)]


class Spread(Frozen):
    """How far a yearly rate may be from the value that ``Lifetime`` states for it.

    Attributes
    ----------
    distribution : str
        ``normal``: around the stated value, with a standard deviation. ``triangular``: between low and high,
        the stated value the likeliest. ``uniform``: anything between low and high, equally.
    standard_deviation : float, optional
        Of ``normal``; two lifetimes in three fall that close.
    low, high : float, optional
        Of ``triangular`` and ``uniform``; the stated value lies between them.
    """

    distribution: Literal["normal", "triangular", "uniform"]
    standard_deviation: Annotated[float, Field(gt=0, le=0.2)] | None = None
    low: Growth | None = None
    high: Growth | None = None

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        normal = self.distribution == "normal"
        if normal == (self.standard_deviation is None) or any(
            normal != (each is None) for each in (self.low, self.high)
        ):
            needs = "standard_deviation" if normal else "low and high"
            raise ValueError(f"'{self.distribution}' needs {needs}, and nothing else")
        if self.low is not None and self.high is not None and not self.low < self.high:
            raise ValueError(f"low {self.low} is not below high {self.high}")
        return self


class PriceGrowth(Frozen):
    """Growth of what the rate plan charges and pays, by kind.

    Attributes
    ----------
    energy : float
        What a kilowatt-hour from the grid costs.
    customer_charge : float
        What is charged every month whatever flows.
    demand : float
        What the highest power costs.
    export : float
        What energy sold earns, where the plan states a price for it of its own.
    """

    energy: Growth = 0.0
    customer_charge: Growth = 0.0
    demand: Growth = 0.0
    export: Growth = 0.0


class PriceSpread(Frozen):
    """How far each growth of ``PriceGrowth`` may be from what is stated."""

    energy: Spread | None = None
    customer_charge: Spread | None = None
    demand: Spread | None = None
    export: Spread | None = None


class Uncertainty(Frozen):
    """How sure the rates of ``Lifetime`` and the weather are; what is not named is taken as sure.

    Attributes
    ----------
    lifetimes : int
        How many are drawn.
    seed : int
        Of the draws: the same seed gives the same answer.
    panel_degradation_per_year, battery_fade_per_year, load_growth_per_year : Spread, optional
        As in ``Lifetime``; one value holds through a lifetime.
    price_growth : PriceSpread, optional
        As in ``Lifetime``; the kinds are drawn apart from each other.
    weather_standard_deviation : float, optional
        Of a year's solar power against the typical year's, 0-1; every year is drawn anew.
    weather_files : tuple of WeatherFile, optional
        Measured years, in place of a standard deviation; every year draws one of them.
    """

    lifetimes: Annotated[int, Field(ge=10, le=100_000)]
    seed: Annotated[int, Field(ge=0, lt=2**63)]
    panel_degradation_per_year: Spread | None = None
    battery_fade_per_year: Spread | None = None
    load_growth_per_year: Spread | None = None
    price_growth: PriceSpread = PriceSpread()
    weather_standard_deviation: Annotated[float, Field(gt=0, le=0.3)] | None = None
    weather_files: Annotated[tuple[WeatherFile, ...], Field(min_length=2)] | None = None

    @model_validator(mode="after")
    def _one_weather(self) -> Self:
        if self.weather_standard_deviation is not None and self.weather_files is not None:
            raise ValueError("give either weather_standard_deviation or weather_files: both would count weather twice")
        return self


class Lifetime(Frozen):
    """How a system's years go on from the first.

    Attributes
    ----------
    years : int
        How many are looked at [years].
    money : str
        ``nominal``: rates and growth include inflation, as loans and quotes do. ``real``: they are on top of it.
    discount_rate : float
        What the same money would earn elsewhere, 0-1.
    panel_degradation_per_year : float
        Share of solar power lost each year, of what the year before had; the first year is as new.
    battery_fade_per_year : float, optional
        Share of the battery's capacity lost each year, likewise. Left out, the model of its chemistry's aging tells
        what each strategy leaves of it (``wear``); a battery without chemistry needs the rate.
    load_growth_per_year : float
        Of the home's load.
    price_growth : PriceGrowth
        Of the rate plan.
    o_and_m_growth_per_year, replacement_growth_per_year : float
        Of O&M, and of the prices of parts that are replaced.
    salvage : str
        What is left at the end: ``none``, or ``linear``: a part that was replaced is worth its price less the
        share of its life that is over; so is a part with a life that was not.
    uncertainty : Uncertainty, optional
        For the ``risk`` command.
    """

    years: Years
    money: Literal["nominal", "real"]
    discount_rate: Annotated[float, Field(ge=0, le=0.5)]
    panel_degradation_per_year: Wear
    battery_fade_per_year: Wear | None = None
    load_growth_per_year: Growth = 0.0
    price_growth: PriceGrowth = PriceGrowth()
    o_and_m_growth_per_year: Growth = 0.0
    replacement_growth_per_year: Growth = 0.0
    salvage: Literal["none", "linear"] = "none"
    uncertainty: Uncertainty | None = None

    @model_validator(mode="after")
    def _value_within_spread(self) -> Self:
        for name, value, spread in self.spreads():
            wears = name in ("panel_degradation_per_year", "battery_fade_per_year")
            if spread.low is not None and spread.high is not None:
                if value is not None and not spread.low <= value <= spread.high:
                    raise ValueError(
                        f"uncertainty.{name}: low {spread.low} to high {spread.high} leave out the stated {value}"
                    )
                if wears and spread.low < 0.0:
                    raise ValueError(f"uncertainty.{name}: low {spread.low} is below 0: nothing gets newer")
        return self

    def spreads(self) -> list[tuple[str, float | None, Spread]]:
        """Name every rate with a spread: its key, its stated value, the spread.

        Returns
        -------
        list of tuple
            In the order of the keys of ``Uncertainty``.
        """
        unsure = self.uncertainty
        if unsure is None:
            return []
        plain = ("panel_degradation_per_year", "battery_fade_per_year", "load_growth_per_year")
        pairs = [(name, getattr(self, name), getattr(unsure, name)) for name in plain]
        pairs += [
            (f"price_growth.{kind}", getattr(self.price_growth, kind), getattr(unsure.price_growth, kind))
            for kind in PriceGrowth.model_fields
        ]
        return [(name, value, spread) for name, value, spread in pairs if spread is not None]
