"""What could be purchased: the axes along which a home may be sized, and what roof, inverter and utility allow.

Every class is one table of the scenario file. A limit that is left out does not hold.
"""

from typing import Annotated, Any, Self

from pydantic import Field, model_validator

from solarsim.fields import Frozen, Money, Name, PowerKw, field


class SizeAxis(Frozen):
    """One key of the scenario, with the values that it may have."""

    key: str = field('dotted key, as for --set: battery.bank.0.strings, arrays."south roof".modules_in_series', "text")
    values: Annotated[tuple[Any, ...], Field(max_length=1000)] = field(
        'its values, at least two; 0 strings or modules removes the entry, "none" the key', "list"
    )


class Face(Frozen):
    """A face of the roof and how many modules fit on it."""

    arrays: Annotated[tuple[Name, ...], Field(min_length=1)] = field("names of the arrays that are on it", "text")
    most_modules: int = field("how many modules fit on it, for all these arrays together", "1", ge=1, le=10_000)


class Band(Frozen):
    """A lowest and a highest value."""

    low: float = field("lowest", "1", gt=0, le=20)
    high: float = field("highest", "1", gt=0, le=20)

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.low > self.high:
            raise ValueError(f"low {self.low:g} is above high {self.high:g}")
        return self


class Size(Frozen):
    """Axes and limits for the command size."""

    axes: tuple[SizeAxis, ...] = field(
        "keys to vary; every combination of their values is a design", "list", default=()
    )
    faces: tuple[Face, ...] = field("faces of the roof, with how many modules fit on each", "list", default=())
    equal_strings: bool = field(
        "whether strings on one DC input must have equally many modules in series", "true or false", default=False
    )
    input_most_kw: tuple[PowerKw, ...] = field(
        "highest rated array power on each DC input, in the inverter's order; one value applies to all",
        "kW",
        default=(),
    )
    dc_ac_ratio: Band | None = field("array rating / inverter rating", "table", default=None)
    most_ac_kw: PowerKw | None = field("the utility's cap on the rating of all inverters", "kW", default=None)
    most_share_of_use: float | None = field(
        "the utility's cap on yearly production, as a share of the yearly load", "1", gt=0, le=20, default=None
    )
    battery_unit_kwh: float | None = field(
        "energy of one battery unit, where battery.capacity_kwh is purchased in whole units",
        "kWh",
        gt=0,
        le=1000,
        default=None,
    )
    least_charge_c_rate: float | None = field(
        "lowest charge power / capacity that the battery needs; default 0.1 for lead-acid, none for lithium",
        "1/h",
        gt=0,
        le=5,
        default=None,
    )
    stage_cost: Money = field("permit and installation of each stage", "currency", default=0.0)
    stage_years: int = field("years from one stage to the next; 0: all at once", "years", ge=0, le=20, default=0)

    @model_validator(mode="after")
    def _names_once(self) -> Self:
        keys = [axis.key for axis in self.axes]
        if len(set(keys)) < len(keys):
            raise ValueError(f"axes: more than one varies {next(key for key in keys if keys.count(key) > 1)!r}")
        return self
