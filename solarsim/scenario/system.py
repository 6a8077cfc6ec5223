"""Inverters, load, and the utility's limit.

Every class is one table of the scenario file. A key without a default must be written; a default
is always "there is none of it", never a guess that would change a result.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.fields import CurrentA, FileName, Frozen, LimitKw, Months12Kwh, Name, PowerKw, Share, field
from solarsim.scenario.load.appliances import HouseParts
from solarsim.scenario.load.meter import MeterFile
from solarsim.scenario.programmable import Programmable
from solarsim.scenario.roof.roof import DcInput


class EfficiencyPoint(Frozen):
    """One point of a datasheet's efficiency curve."""

    load: float = field("AC output as a share of rated power", "1", gt=0, le=1)
    efficiency: float = field("AC output / DC input", "1", gt=0.5, lt=1)


class Efficiency(Frozen):
    """An inverter's efficiency as its datasheet states it."""

    points: Annotated[tuple[EfficiencyPoint, ...], Field(min_length=3)] | None = field(
        "at least three points of the curve", "table", default=None
    )
    peak: float | None = field(
        "peak efficiency, with weighted and weights, in place of points", "1", gt=0.5, lt=1, default=None
    )
    weighted: float | None = field("weighted efficiency", "1", gt=0.5, lt=1, default=None)
    weights: Literal["cec", "european"] | None = field(
        "the weighting: cec (California Energy Commission) or european", "text", default=None
    )
    constant: float | None = field(
        "the same efficiency at every load: for comparisons only; no real inverter has one",
        "1",
        gt=0.5,
        le=1,
        default=None,
    )

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        pair = (self.peak, self.weighted, self.weights)
        given = [self.points is not None, any(each is not None for each in pair), self.constant is not None]
        if sum(given) != 1:
            raise ValueError("give one of: points; peak with weighted and weights; constant")
        if given[1] and any(each is None for each in pair):
            raise ValueError("peak, weighted and weights belong together; one of them is missing")
        if self.peak is not None and self.weighted is not None and self.weighted > self.peak:
            raise ValueError(f"weighted efficiency {self.weighted} is above the peak {self.peak}")
        if self.points is not None and len({point.load for point in self.points}) < 3:
            raise ValueError("points need at least three different loads")
        return self


class Inverter(Frozen):
    """The hybrid inverter: one conversion stage between the DC side and the home."""

    ac_kw: PowerKw = field("rated continuous AC power, in either direction", "kW", usual=(0.2, 250))
    efficiency: Efficiency = field("conversion efficiency", "table")
    standby_w: float = field("standby consumption in every hour of the year", "W", usual=(1, 1000), ge=0, le=20_000)
    inputs: Annotated[tuple[DcInput, ...], Field(min_length=1)] = field("its DC inputs for arrays", "table")
    battery_charge_a: CurrentA | None = field(
        "current limit of the battery port for charging, at the bank's nominal voltage",
        "A",
        usual=(1, 2000),
        default=None,
    )
    battery_discharge_a: CurrentA | None = field(
        "current limit of the battery port for discharging", "A", usual=(1, 2000), default=None
    )
    battery_charge_kw: PowerKw | None = field(
        "power limit of the battery port for charging; the lower of A and kW holds",
        "kW",
        usual=(0.1, 300),
        default=None,
    )
    battery_discharge_kw: PowerKw | None = field(
        "power limit of the battery port for discharging; the lower of A and kW holds",
        "kW",
        usual=(0.1, 300),
        default=None,
    )
    surge_kw: float | None = field(
        "power for the moment in which a motor starts", "kW", usual=(0.2, 500), gt=0, le=3000, default=None
    )
    programmable: Programmable | None = field(
        "what can be programmed; every strategy is checked against it", "table", default=None
    )

    @model_validator(mode="after")
    def _standby_is_small(self) -> Self:
        if self.standby_w >= 200 * self.ac_kw:
            raise ValueError(
                f"standby_w {self.standby_w} W are a fifth of ac_kw {self.ac_kw} kW or more: one is in another unit"
            )
        return self


class AcInverter(Frozen):
    """A string inverter or microinverters of some arrays, on the home's AC side."""

    name: Name = field("its name, which arrays refer to", "text")
    ac_kw: PowerKw = field(
        "rated AC power, of all units together where there are several alike", "kW", usual=(0.2, 500)
    )
    efficiency: Efficiency = field("conversion efficiency", "table")


class Load(Frozen):
    """What the home uses: from one source of hours, from parts of the home, or both added."""

    file: FileName | None = field(
        "CSV of 8,760 rows, or one for each step, with a column load_kw, in standard time", "text", default=None
    )
    meter: MeterFile | None = field("a year or more of interval data from the utility", "table", default=None)
    monthly_kwh: Months12Kwh | None = field(
        "January to December, as printed on bills; with a shape", "kWh", usual=(1, 60_000), default=None
    )
    annual_kwh: float | None = field(
        "the year's sum, in place of the months: evenings and home_all_day spread it evenly over all days",
        "kWh",
        usual=(10, 600_000),
        gt=0,
        le=1_800_000,
        default=None,
    )
    shape: Literal["evenings", "home_all_day", "bdew_h0"] | None = field(
        "daily shape that spreads months or year: evenings, home_all_day, or bdew_h0 (the German standard profile)",
        "text",
        default=None,
    )
    shape_file: FileName | None = field("data file of the shape bdew_h0", "text", default=None)
    critical_share: Share | None = field(
        "share that is critical, of the load that is not listed as a part", "1", default=None
    )
    parts: HouseParts | None = field(
        "appliances, cars, heating and the like, added to the source where there is one", "table", default=None
    )

    @property
    def source(self) -> str | None:
        """The key of the bills, the meter or the file; None where there are only parts."""
        sources = ("file", "meter", "monthly_kwh", "annual_kwh")
        return next((key for key in sources if getattr(self, key) is not None), None)

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        sources = sum(each is not None for each in (self.file, self.meter, self.monthly_kwh, self.annual_kwh))
        if sources > 1 or (sources == 0 and self.parts is None):
            raise ValueError(
                "give one of: a file; a meter; monthly_kwh or annual_kwh with a shape; parts are added to it"
            )
        if (self.monthly_kwh is None and self.annual_kwh is None) != (self.shape is None):
            raise ValueError("monthly_kwh (or annual_kwh) and shape belong together")
        if self.critical_share is not None and sources == 0:
            raise ValueError("critical_share is of the load without a part of its own; here is none")
        if (self.shape == "bdew_h0") != (self.shape_file is not None):
            raise ValueError("shape_file names the data file of the shape bdew_h0, and belongs to it alone")
        return self


class Grid(Frozen):
    """What the utility permits at the meter."""

    export_limit_kw: LimitKw = field("highest export; 0 means that none is permitted", "kW", usual=(0.05, 500))
