"""What stands at the house: arrays, inverter, load, the utility's limit, and costs.

Every class is one table of the scenario file. A key without a default must be written; a default
is always "there is none of it", never a guess that would change a result.
"""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from solarsim.scenario.appliances import HouseParts
from solarsim.scenario.fields import Frozen, Money, Months12, Name, NotNegative, Positive, Share


class Array(Frozen):
    """Modules of one orientation on one DC input of the inverter.

    Attributes
    ----------
    tilt_deg : float
        From horizontal [deg].
    azimuth_deg : float
        Clockwise from north [deg]: 90 east, 180 south, 270 west.
    modules_in_series, strings : int
        Modules in each string, and strings in parallel.
    module_w : float
        Power of one module at standard test conditions [W].
    temperature_coefficient_per_c : float
        Change of power per degree of cell temperature, negative [1/C].
    mounting : str
        ``roof`` (close to a roof, warmer) or ``rack`` (open, cooler).
    input : int
        Number of the inverter's DC input, from 1.
    """

    name: Name
    tilt_deg: Annotated[float, Field(ge=0, le=90)]
    azimuth_deg: Annotated[float, Field(ge=0, lt=360)]
    modules_in_series: Annotated[int, Field(ge=1, le=100)]
    strings: Annotated[int, Field(ge=1, le=1000)]
    module_w: Annotated[float, Field(ge=20, le=1000)]
    temperature_coefficient_per_c: Annotated[float, Field(ge=-0.01, le=0)]
    mounting: Literal["roof", "rack"]
    input: Annotated[int, Field(ge=1)]

    @property
    def kw(self) -> float:
        """Power at standard test conditions [kW]."""
        return self.modules_in_series * self.strings * self.module_w / 1000


class Losses(Frozen):
    """Shares of DC power lost before the inverter, by cause; what is not named is 0.

    Attributes
    ----------
    soiling, snow, shading : float
        What keeps light off the modules over the year.
    mismatch, rating_tolerance, light_induced, ageing : float
        Modules unlike each other, below their rating, after their first days of light, after years.
    wiring : float
        Cables, connectors, fuses.
    downtime : float
        Hours in which the system stands still.
    """

    soiling: Share = 0.0
    snow: Share = 0.0
    shading: Share = 0.0
    mismatch: Share = 0.0
    rating_tolerance: Share = 0.0
    light_induced: Share = 0.0
    ageing: Share = 0.0
    wiring: Share = 0.0
    downtime: Share = 0.0


class Production(Frozen):
    """Which published sky model brings irradiance onto the tilted plane."""

    transposition: Literal["perez_driesse", "hay_davies"]


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


class DcInput(Frozen):
    """One DC input of the inverter and the most power it takes [kW]."""

    max_kw: Positive


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
    """

    ac_kw: Positive
    efficiency: Efficiency
    standby_w: NotNegative
    inputs: Annotated[tuple[DcInput, ...], Field(min_length=1)]
    battery_charge_a: Positive | None = None
    battery_discharge_a: Positive | None = None
    battery_charge_kw: Positive | None = None
    battery_discharge_kw: Positive | None = None

    @model_validator(mode="after")
    def _standby_is_small(self) -> Self:
        if self.standby_w >= 200 * self.ac_kw:
            raise ValueError(f"standby_w {self.standby_w} is in watts, not a fifth of the rating or more")
        return self


class Load(Frozen):
    """What the home uses: from one source of hours, from what stands in the house, or both added.

    Attributes
    ----------
    file : str, optional
        CSV of 8,760 rows with a column ``load_kw``.
    green_button : str, optional
        A year or more of interval data as a utility's website gives it (NAESB ESPI, XML).
    monthly_kwh : tuple of float, optional
        January to December, as printed on bills [kWh].
    shape : str, optional
        Which documented daily shape (``solarsim.load.shapes``) spreads the months.
    parts : tuple of HousePart, optional
        Appliances, cars, heating and the like; they are added to the source, where there is one.
    """

    file: str | None = None
    green_button: str | None = None
    monthly_kwh: Months12 | None = None
    shape: Literal["evenings", "home_all_day"] | None = None
    parts: HouseParts | None = None

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        sources = sum(each is not None for each in (self.file, self.green_button, self.monthly_kwh))
        if sources > 1 or (sources == 0 and self.parts is None):
            raise ValueError("give one of: a file; green_button; monthly_kwh with a shape; parts are added to it")
        if (self.monthly_kwh is None) != (self.shape is None):
            raise ValueError("monthly_kwh and shape belong together")
        return self


class Grid(Frozen):
    """What the utility allows at the meter.

    Attributes
    ----------
    export_limit_kw : float
        Most power that may flow to the grid [kW]; 0 means that no export is permitted.
    """

    export_limit_kw: NotNegative


class Part(Frozen):
    """One line of the parts list; the price is in the tariff's currency."""

    name: Name
    quantity: Positive
    unit_price: Money


class Costs(Frozen):
    """What the system costs to buy and install."""

    parts: Annotated[tuple[Part, ...], Field(min_length=1)]
