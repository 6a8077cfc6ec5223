"""What an array really made, and where it is written: one table of the scenario, for the command calibrate."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from solarsim.fields import FileName, Frozen, MonthKwh, Name, field
from solarsim.scenario.load.meter import Column, IntervalCsv
from solarsim.scenario.site import WeatherFile

MOST_AHEAD_MIN = 840  # a log in the local time of the zone farthest from UTC, read as UTC
_FIRST_YEAR, _LAST_YEAR = 1990, 2099


def _known_month(text: str) -> str:
    year, dash, month = text.partition("-")
    if not (
        (dash, len(year), len(month)) == ("-", 4, 2)
        and year.isdecimal()
        and month.isdecimal()
        and _FIRST_YEAR <= int(year) <= _LAST_YEAR
        and 1 <= int(month) <= 12
    ):
        raise ValueError(f"is no month, must be like '2024-07', from {_FIRST_YEAR} to {_LAST_YEAR}")
    return text


def _quarter_hours(value: int) -> int:
    if value % 15:
        raise ValueError("must be whole quarters of an hour")
    return value


Month = Annotated[str, AfterValidator(_known_month)]


class FitSpan(Frozen):
    """The months on which the factor is fitted; the log's other months then test how well it predicts."""

    first: Month = field("first month, such as 2023-01", "month")
    last: Month = field("last month, included", "month")
    without: tuple[Month, ...] = field(
        "months from first to last that are excluded because of a known fault", "month", default=()
    )

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.last < self.first:
            raise ValueError(f"last {self.last} is before first {self.first}")
        return self


class MeasuredProduction(IntervalCsv):
    """A log of what the arrays delivered in known months, for the command calibrate."""

    file: FileName | None = field("CSV of intervals of an hour or less, or of days", "text", default=None)
    column: Column | None = field("column of the file that holds the production", "text", default=None)
    every: Literal["day"] | None = field(
        "day where a row is a day; left out where rows are intervals of an hour or less", "text", default=None
    )
    monthly_kwh: Annotated[dict[Month, MonthKwh], Field(min_length=1)] | None = field(
        "whole months, such as 2024-07 = 612.5, in place of a file", "kWh", default=None
    )
    side: Literal["ac", "dc"] = field("ac: measured at the inverter's output; dc: at its solar inputs", "text")
    strategy: Name | None = field(
        "the strategy in use while it was logged, if it curtailed production; left out where nothing did",
        "text",
        default=None,
    )
    clock_ahead_min: (
        Annotated[int, Field(ge=-MOST_AHEAD_MIN, le=MOST_AHEAD_MIN), AfterValidator(_quarter_hours)] | None
    ) = field("how far the log's clock runs ahead all year, negative where it runs behind", "min", default=None)
    weather: Annotated[tuple[WeatherFile, ...], Field(min_length=1)] | None = field(
        "the log's own calendar years, one file each; default: the scenario's typical year", "table", default=None
    )
    fit: FitSpan | None = field("months to fit; default: all months of the log", "table", default=None)
    by_season: bool = field("whether a factor is fitted for each quarter of the year", "true or false", default=False)

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        if (self.file is None) == (self.monthly_kwh is None):
            raise ValueError("needs either a file or monthly_kwh, and not both")
        if self.file is not None and self.column is None:
            raise ValueError("column is missing: which column of the file holds the production")
        given = {key: getattr(self, key) for key in (*IntervalCsv.model_fields, "column", "every", "clock_ahead_min")}
        for key, value in given.items():
            if value is None:
                continue
            if self.file is None:
                raise ValueError(f"{key} belongs to a file, not to monthly_kwh")
            if self.every == "day" and key in ("clock", "labels", "kind", "clock_ahead_min"):
                raise ValueError(f'{key} belongs to intervals, not to every = "day"')
        if self.every == "day" and self.unit in ("kw", "w"):
            raise ValueError(f"unit {self.unit!r} is a power; a day's energy is in kwh or wh")
        for source in self.weather or ():
            if source.other_files is not None:
                raise ValueError("weather: write one table for each year, not other_files")
        return self
