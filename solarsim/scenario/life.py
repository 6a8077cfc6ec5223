"""The coming years: how many, the discount rate, what degrades and what grows, and how uncertain that is.

Every class is one table of the scenario file. Rates are a year's, as shares: 0.03 is 3% a year. What is
not named does not grow.
"""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from solarsim.errors import ScenarioError
from solarsim.fields import Frozen, Money, Name, field
from solarsim.scenario._changes import changes_from
from solarsim.scenario.financing import Years
from solarsim.scenario.site import WeatherFile

LEAST_GROWTH, MOST_GROWTH, MOST_WEAR = -0.2, 0.3, 0.3
Growth = Annotated[float, Field(ge=LEAST_GROWTH, le=MOST_GROWTH)]
Wear = Annotated[float, Field(ge=0, le=MOST_WEAR)]


class Spread(Frozen):
    """How far a yearly rate may be from the value that is stated for it."""

    distribution: Literal["normal", "triangular", "uniform"] = field(
        "normal (the stated value is the mean), triangular (it is the most likely) or uniform", "text"
    )
    standard_deviation: float | None = field("of normal: standard deviation", "1", gt=0, le=0.2, default=None)
    low: Growth | None = field("of triangular and uniform: lowest value", "1", default=None)
    high: Growth | None = field("of triangular and uniform: highest value", "1", default=None)

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
    """Growth per year of what the rate plan charges and pays, by kind."""

    energy: Growth = field("price of a kWh from the grid", "1", default=0.0)
    customer_charge: Growth = field("customer charges and the minimum bill", "1", default=0.0)
    demand: Growth = field("demand charges", "1", default=0.0)
    export: Growth = field("pay for exports, where the plan states a separate price", "1", default=0.0)


class PriceSpread(Frozen):
    """How far each growth of prices may be from what is stated."""

    energy: Spread | None = field("price of a kWh from the grid", "table", default=None)
    customer_charge: Spread | None = field("customer charges and the minimum bill", "table", default=None)
    demand: Spread | None = field("demand charges", "table", default=None)
    export: Spread | None = field("pay for exports", "table", default=None)


class Uncertainty(Frozen):
    """How certain the yearly rates and the weather are, for the command risk; what is not named is certain."""

    lifetimes: int = field("number of lifetimes that are drawn", "1", ge=10, le=100_000)
    seed: int = field("random seed: the same seed, the same result", "1", ge=0, lt=2**63)
    panel_degradation_per_year: Spread | None = field(
        "spread of the rate in life; one value holds through a lifetime", "table", default=None
    )
    battery_fade_per_year: Spread | None = field(
        "spread of the rate in life; one value holds through a lifetime", "table", default=None
    )
    load_growth_per_year: Spread | None = field(
        "spread of the rate in life; one value holds through a lifetime", "table", default=None
    )
    price_growth: PriceSpread = field(
        "spread of each growth of prices, drawn independently", "table", default=PriceSpread()
    )
    weather_standard_deviation: float | None = field(
        "of a year's solar energy relative to the typical year; drawn anew every year", "1", gt=0, le=0.3, default=None
    )
    weather_files: Annotated[tuple[WeatherFile, ...], Field(min_length=2)] | None = field(
        "measured years, in place of a standard deviation; one is drawn for every year", "table", default=None
    )

    @model_validator(mode="after")
    def _one_weather(self) -> Self:
        if self.weather_standard_deviation is not None and self.weather_files is not None:
            raise ValueError("give either weather_standard_deviation or weather_files: both would count weather twice")
        return self


#: Tables that hold for a life as a whole.
_UNCHANGED = ("costs", "description", "life", "name", "production_log", "site", "system", "weather")


class Change(Frozen):
    """What is different in the home from a stated year on."""

    name: Name = field("name of the change, for tables", "text")
    year: int = field("first year in which it applies; year 1 is the home as written", "year", ge=2, le=60)
    set: Annotated[tuple[str, ...], Field(min_length=1)] = field(
        "keys with their new values, each KEY=VALUE as for --set; values are those of the first year and grow as the"
        " rest does",
        "text",
    )
    cost: Money | None = field(
        "what it costs at first-year prices; default: the difference of the upfront costs of both homes, if it rises",
        "currency",
        default=None,
    )

    @property
    def changes(self) -> dict[str, Any]:
        """What ``Scenario.changed`` needs."""
        return changes_from(self.set)

    @model_validator(mode="after")
    def _can_happen(self) -> Self:
        try:
            keys = list(self.changes)
        except ScenarioError as error:
            raise ValueError("\n".join(each.removeprefix("--set ") for each in error.problems)) from None
        for key in keys:
            table = key.split(".")[0].strip()
            if table in _UNCHANGED:
                raise ValueError(f"set: {table!r} holds for the whole life and cannot change within it")
        return self


class Lifetime(Frozen):
    """The years of a system after the first."""

    years: Years = field("length of the study", "years")
    money: Literal["nominal", "real"] = field(
        "nominal: rates include inflation, as loans and quotes do; real: they are on top of it", "text"
    )
    discount_rate: float = field(
        "yearly return that the same money would earn elsewhere", "1", usual=(0.001, 0.25), ge=0, le=0.5
    )
    panel_degradation_per_year: Wear = field(
        "share of solar power lost each year, relative to the year before", "1", usual=(0.0005, 0.03)
    )
    battery_fade_per_year: Wear | None = field(
        "share of capacity lost each year; default: computed by the aging model of the chemistry for each strategy",
        "1",
        usual=(0.001, 0.15),
        default=None,
    )
    load_growth_per_year: Growth = field("growth of the home's load", "1", default=0.0)
    price_growth: PriceGrowth = field("growth of prices of the rate plan", "table", default=PriceGrowth())
    o_and_m_growth_per_year: Growth = field("growth of operation and maintenance", "1", default=0.0)
    replacement_growth_per_year: Growth = field("growth of the prices of replaced parts", "1", default=0.0)
    salvage: Literal["none", "linear"] = field(
        "value at the end: none, or linear (a part is worth its price less the share of its life that is over)",
        "text",
        default="none",
    )
    changes: tuple[Change, ...] = field("what is different from a later year on", "table", default=())
    uncertainty: Uncertainty | None = field("for the command risk", "table", default=None)

    @model_validator(mode="after")
    def _changes_in_order(self) -> Self:
        names = [each.name for each in self.changes]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise ValueError(f"changes: more than one is named {twice!r}")
        return self

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
        """Return every rate with a spread: its key, its stated value, the spread.

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
