"""What keeps light off the modules and power from the inverter, by cause: shares, or models with their own keys.

Every class is one table of the scenario file; a default is always "there is none of it".
"""

from typing import Annotated, Self

from pydantic import Field, model_validator

from solarsim.fields import Frozen, NotNegative, Positive, Share

Shares12 = Annotated[tuple[Share, ...], Field(min_length=12, max_length=12)]
Percent12 = Annotated[tuple[Annotated[float, Field(gt=0, le=100)], ...], Field(min_length=12, max_length=12)]
Amounts12 = Annotated[tuple[NotNegative, ...], Field(min_length=12, max_length=12)]


class SoilingByRain(Frozen):
    """Dirt that gathers day by day and that rain washes off (Kimber et al. 2006).

    Attributes
    ----------
    loss_per_day : float
        Share lost for each dry day.
    most : float
        Share at which it stops growing.
    cleaning_rain_mm : float
        Rain within 24 hours that washes the modules [mm].
    grace_days : int
        Days after such a rain in which the ground is too damp for dust.
    """

    loss_per_day: Annotated[float, Field(gt=0, le=0.05)]
    most: Annotated[float, Field(gt=0, le=1)]
    cleaning_rain_mm: Annotated[float, Field(gt=0, le=200)]
    grace_days: Annotated[int, Field(ge=1, le=60)]


class SnowCover(Frozen):
    """Snow that covers the modules and slides off, hour by hour (Marion et al. 2013).

    Attributes
    ----------
    blocks_up_slope : int
        Groups of cells that fail together, from the lower edge to the upper: 1 for a module that stands upright, 3 for
        one that lies on its side, as many times as modules lie above one another.
    """

    blocks_up_slope: Annotated[int, Field(ge=1, le=60)]


class SnowByMonth(Frozen):
    """Snow from monthly climate figures (Townsend & Powers 2011).

    Attributes
    ----------
    snowfall_cm, snow_days : tuple of float
        January to December: fresh snow [cm], and days with snowfall.
    relative_humidity_percent : tuple of float
        January to December, mean [%].
    lower_edge_m : float
        Height of the modules' lower edge above what the snow slides onto [m].
    slope_m : float
        Length of the modules' surface along the slope [m].
    """

    snowfall_cm: Amounts12
    snow_days: Amounts12
    relative_humidity_percent: Percent12
    lower_edge_m: Positive
    slope_m: Positive

    @model_validator(mode="after")
    def _days_bring_snow(self) -> Self:
        for number, (fallen, days) in enumerate(zip(self.snowfall_cm, self.snow_days, strict=True), start=1):
            if (fallen > 0) != (days > 0) or days > 31:
                raise ValueError(f"month {number}: {fallen:g} cm of snow on {days:g} days cannot be")
        return self


class Age(Frozen):
    """Years in the sun, and the share of power lost in each."""

    years: Annotated[float, Field(ge=0, le=60)]
    loss_per_year: Annotated[float, Field(ge=0, le=0.05)]


class Losses(Frozen):
    """Shares of DC power lost before the inverter, by cause; what is not named is 0.

    Attributes
    ----------
    soiling, snow, shading : float
        What keeps light off the modules over the year.
    soiling_by_month : tuple of float, optional
        January to December, in place of ``soiling``.
    soiling_by_rain : SoilingByRain, optional
        Needs rain hour by hour; in place of ``soiling``.
    snow_cover : SnowCover, optional
        Needs snowfall hour by hour; in place of ``snow``.
    snow_by_month : SnowByMonth, optional
        In place of ``snow``.
    mismatch, rating_tolerance, light_induced, aging : float
        Modules unlike each other, below their rating, after their first days of light, after years.
    age : Age, optional
        In place of ``aging``.
    wiring : float
        Cables, connectors, fuses.
    downtime : float
        Hours in which the system stands still.
    """

    soiling: Share = 0.0
    soiling_by_month: Shares12 | None = None
    soiling_by_rain: SoilingByRain | None = None
    snow: Share = 0.0
    snow_cover: SnowCover | None = None
    snow_by_month: SnowByMonth | None = None
    shading: Share = 0.0
    mismatch: Share = 0.0
    rating_tolerance: Share = 0.0
    light_induced: Share = 0.0
    aging: Share = 0.0
    age: Age | None = None
    wiring: Share = 0.0
    downtime: Share = 0.0

    @model_validator(mode="after")
    def _one_of_each(self) -> Self:
        for keys in (
            ("soiling", "soiling_by_month", "soiling_by_rain"),
            ("snow", "snow_cover", "snow_by_month"),
            ("aging", "age"),
        ):
            given = [key for key in keys if getattr(self, key) not in (None, 0.0)]
            if len(given) > 1:
                raise ValueError(f"{' and '.join(given)} count the same loss twice; keep one")
        return self


class Precipitation(Frozen):
    """Rain and snow hour by hour, which files of a typical year mostly lack: a CSV in standard time.

    Attributes
    ----------
    file : str
        Path, relative to the scenario file, of a row for each hour or step from 1 January 00:00 on, with a column
        ``rain_mm`` or ``snowfall_cm`` or both, as the losses that use them need.
    """

    file: str
