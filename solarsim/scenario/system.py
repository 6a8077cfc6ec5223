"""What stands at the house behind the roof: inverter, battery, load, and the utility's limit.

Every class is one table of the scenario file. A key without a default must be written; a default
is always "there is none of it", never a guess that would change a result.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.fields import Frozen, Months12, Name, NotNegative, Positive, Share
from solarsim.scenario.load.appliances import HouseParts
from solarsim.scenario.load.meter import MeterFile
from solarsim.scenario.roof.roof import DcInput


class EfficiencyPoint(Frozen):
    """One point of a datasheet's efficiency curve."""

    load: Annotated[float, Field(gt=0, le=1)]
    efficiency: Annotated[float, Field(gt=0.5, lt=1)]


class Efficiency(Frozen):
    """An inverter's efficiency as its datasheet gives it.

    Attributes
    ----------
    points : tuple of EfficiencyPoint, optional
        At least three points of the curve: share of rated power, efficiency.
    peak, weighted : float, optional
        Peak and weighted efficiency, in place of points.
    weights : str, optional
        Which weighting: ``cec`` (California Energy Commission) or ``european``.
    constant : float, optional
        The same at any load: a simplification for comparisons; no inverter is like that.
    """

    points: Annotated[tuple[EfficiencyPoint, ...], Field(min_length=3)] | None = None
    peak: Annotated[float, Field(gt=0.5, lt=1)] | None = None
    weighted: Annotated[float, Field(gt=0.5, lt=1)] | None = None
    weights: Literal["cec", "european"] | None = None
    constant: Annotated[float, Field(gt=0.5, le=1)] | None = None

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
    """The hybrid inverter: one conversion stage between the DC side and the home.

    Attributes
    ----------
    ac_kw : float
        Rated continuous AC power, either way [kW].
    standby_w : float
        Self-use in every hour of the year [W].
    battery_charge_a, battery_discharge_a : float, optional
        Limits of the battery port [A], at the bank's nominal voltage.
    battery_charge_kw, battery_discharge_kw : float, optional
        Limits of the battery port [kW]; where both are given the lower one holds.
    surge_kw : float, optional
        What it gives for the moment in which a motor starts [kW].
    """

    ac_kw: Positive
    efficiency: Efficiency
    standby_w: NotNegative
    inputs: Annotated[tuple[DcInput, ...], Field(min_length=1)]
    battery_charge_a: Positive | None = None
    battery_discharge_a: Positive | None = None
    battery_charge_kw: Positive | None = None
    battery_discharge_kw: Positive | None = None
    surge_kw: Positive | None = None

    @model_validator(mode="after")
    def _standby_is_small(self) -> Self:
        if self.standby_w >= 200 * self.ac_kw:
            raise ValueError(f"standby_w {self.standby_w} is in watts, not a fifth of the rating or more")
        return self


class AcInverter(Frozen):
    """An inverter of its own behind which arrays stand, on the home's AC side: a string or micro inverter.

    It is taken to throttle where its power may not be sold and nothing takes it, and in an island to follow the hybrid
    inverter's frequency; not every older one can.

    Attributes
    ----------
    ac_kw : float
        Rated AC power, of all such inverters together where there are several alike [kW].
    efficiency : Efficiency
        As its datasheet gives it.
    """

    name: Name
    ac_kw: Positive
    efficiency: Efficiency


class Load(Frozen):
    """What the home uses: from one source of hours, from what stands in the house, or both added.

    Attributes
    ----------
    file : str, optional
        CSV of 8,760 rows, or one for each step, with a column ``load_kw``.
    meter : MeterFile, optional
        A year or more of interval data as a utility's website gives it.
    monthly_kwh : tuple of float, optional
        January to December, as printed on bills [kWh].
    annual_kwh : float, optional
        In place of the months, where the shape knows the seasons' weight itself: ``bdew_h0`` [kWh].
    shape : str, optional
        Which daily shape spreads months or year: ours (``solarsim.load.shapes``), or ``bdew_h0``, the
        German standard profile (``solarsim.load.bdew``).
    shape_file : str, optional
        The data file of ``bdew_h0``.
    critical_share : float, optional
        What of the load without a part of its own stays on in an outage, 0-1.
    parts : tuple of HousePart, optional
        Appliances, cars, heating and the like; they are added to the source, where there is one.
    """

    file: str | None = None
    meter: MeterFile | None = None
    monthly_kwh: Months12 | None = None
    annual_kwh: Positive | None = None
    shape: Literal["evenings", "home_all_day", "bdew_h0"] | None = None
    shape_file: str | None = None
    critical_share: Share | None = None
    parts: HouseParts | None = None

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        sources = sum(each is not None for each in (self.file, self.meter, self.monthly_kwh, self.annual_kwh))
        if sources > 1 or (sources == 0 and self.parts is None):
            raise ValueError(
                "give one of: a file; a meter; monthly_kwh with a shape; annual_kwh with the shape bdew_h0; parts are"
                " added to it"
            )
        if (self.monthly_kwh is None and self.annual_kwh is None) != (self.shape is None):
            raise ValueError("monthly_kwh (or annual_kwh) and shape belong together")
        if self.annual_kwh is not None and self.shape != "bdew_h0":
            raise ValueError(f"annual_kwh needs the shape bdew_h0; {self.shape} spreads monthly_kwh")
        if self.critical_share is not None and sources == 0:
            raise ValueError("critical_share is of the load without a part of its own; here is none")
        if (self.shape == "bdew_h0") != (self.shape_file is not None):
            raise ValueError("shape_file names the data file of the shape bdew_h0, and belongs to it alone")
        return self


class Grid(Frozen):
    """What the utility allows at the meter.

    Attributes
    ----------
    export_limit_kw : float
        Most power that may flow to the grid [kW]; 0 means that no export is permitted.
    """

    export_limit_kw: NotNegative
