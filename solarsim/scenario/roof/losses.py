"""What keeps light off the modules and power from the inverter, by where it acts: shares, or models with own keys.

Every class is one table of the scenario file; a default is always "there is none of it".
"""

from typing import Annotated, Self

from pydantic import Field, model_validator

from solarsim.fields import FileName, Frozen, Share, field

Shares12 = Annotated[tuple[Share, ...], Field(min_length=12, max_length=12)]
Percent12 = Annotated[tuple[Annotated[float, Field(gt=0, le=100)], ...], Field(min_length=12, max_length=12)]
SnowCm12 = Annotated[tuple[Annotated[float, Field(ge=0, le=1000)], ...], Field(min_length=12, max_length=12)]
Days12 = Annotated[tuple[Annotated[float, Field(ge=0, le=31)], ...], Field(min_length=12, max_length=12)]
_USUAL = (0.0, 0.5)


class SoilingByRain(Frozen):
    """Soiling that grows day by day and that rain washes off (Kimber et al. 2006)."""

    loss_per_day: float = field("share lost for each dry day", "1", gt=0, le=0.05)
    most: float = field("share at which it stops growing", "1", gt=0, le=1)
    cleaning_rain_mm: float = field("rain within 24 hours that washes the modules", "mm", gt=0, le=200)
    grace_days: int = field("days after such a rain in which the ground is too damp for dust", "days", ge=1, le=60)


class SnowCover(Frozen):
    """Snow that covers the modules and slides off, hour by hour (Marion et al. 2013)."""

    blocks_up_slope: int = field(
        "groups of cells that fail together, from the lower edge to the upper: 1 for a module mounted upright, 3"
        " for one"
        " mounted on its side, times the modules above one another",
        "1",
        ge=1,
        le=60,
    )


class SnowByMonth(Frozen):
    """Snow from monthly climate figures (Townsend & Powers 2011)."""

    snowfall_cm: SnowCm12 = field("fresh snow, January to December", "cm")
    snow_days: Days12 = field("days with snowfall, January to December", "days")
    relative_humidity_percent: Percent12 = field("mean relative humidity, January to December", "%")
    lower_edge_m: float = field(
        "height of the modules' lower edge above the surface that the snow slides onto", "m", gt=0, le=50
    )
    slope_m: float = field("length of the modules' surface along the slope", "m", gt=0, le=100)

    @model_validator(mode="after")
    def _days_bring_snow(self) -> Self:
        for number, (fallen, days) in enumerate(zip(self.snowfall_cm, self.snow_days, strict=True), start=1):
            if (fallen > 0) != (days > 0):
                raise ValueError(f"month {number}: {fallen:g} cm of snow on {days:g} days is impossible")
        return self


class Age(Frozen):
    """Years of operation, and the share of power lost in each."""

    years: float = field("years that the modules have been in the sun", "years", ge=0, le=60)
    loss_per_year: float = field("share of power lost each year", "1", ge=0, le=0.05)


class _OneOfEach(Frozen):
    """Causes of loss that may be written in more than one way, of which one may be used."""

    def _check(self, *keys: str) -> None:
        given = [key for key in keys if getattr(self, key) not in (None, 0.0)]
        if len(given) > 1:
            raise ValueError(f"{' and '.join(given)} count the same loss twice; keep one")


class ArrayLosses(_OneOfEach):
    """What keeps light from the cells."""

    shading: Share = field("share of the year's light lost to shade", "1", usual=_USUAL, default=0.0)
    soiling: Share = field("share of the year's light lost to soiling", "1", usual=_USUAL, default=0.0)
    soiling_by_month: Shares12 | None = field(
        "share lost to soiling, January to December, in place of soiling", "1", usual=_USUAL, default=None
    )
    soiling_by_rain: SoilingByRain | None = field(
        "soiling that rain washes off, in place of soiling; needs precipitation", "table", default=None
    )
    snow: Share = field("share of the year's light lost to snow", "1", usual=_USUAL, default=0.0)
    snow_cover: SnowCover | None = field(
        "snow hour by hour, in place of snow; needs precipitation", "table", default=None
    )
    snow_by_month: SnowByMonth | None = field("snow from monthly figures, in place of snow", "table", default=None)

    @model_validator(mode="after")
    def _one_of_each(self) -> Self:
        self._check("soiling", "soiling_by_month", "soiling_by_rain")
        self._check("snow", "snow_cover", "snow_by_month")
        return self


class ModuleLosses(_OneOfEach):
    """What the modules deliver less than their datasheet says; temperature is computed."""

    rating_tolerance: Share = field("share by which modules fall short of their rating", "1", usual=_USUAL, default=0.0)
    light_induced: Share = field("share lost in a module's first days of light", "1", usual=_USUAL, default=0.0)
    aging: Share = field("share lost to age, the same in every year of a life", "1", usual=_USUAL, default=0.0)
    age: Age | None = field("years of operation and loss per year, in place of aging", "table", default=None)

    @model_validator(mode="after")
    def _one_of_each(self) -> Self:
        self._check("aging", "age")
        return self


class WiringLosses(Frozen):
    """What is lost between the modules and the inverter."""

    mismatch: Share = field("share lost because the modules of a string differ", "1", usual=_USUAL, default=0.0)
    cables: Share = field("share lost in cables, connectors and fuses", "1", usual=_USUAL, default=0.0)


class OperationLosses(Frozen):
    """What is lost because the system does not run."""

    downtime: Share = field("share of the year's energy lost while the system is down", "1", usual=_USUAL, default=0.0)


class Losses(Frozen):
    """Shares of DC power lost before the inverter, in the table of where they act; what is not named is 0."""

    array: ArrayLosses = field("on the array: shading, soiling, snow", "table", default=ArrayLosses())
    module: ModuleLosses = field(
        "in the module: tolerance, light-induced degradation, age", "table", default=ModuleLosses()
    )
    wiring: WiringLosses = field("in the wiring: mismatch, cables", "table", default=WiringLosses())
    operation: OperationLosses = field("in operation: downtime", "table", default=OperationLosses())


class Precipitation(Frozen):
    """Rain and snow hour by hour, which files of a typical year mostly lack."""

    file: FileName = field(
        "CSV in standard time with a row for each hour or step from 1 January 00:00 on, with a column rain_mm or"
        " snowfall_cm or both, as the losses that use them need",
        "text",
    )
