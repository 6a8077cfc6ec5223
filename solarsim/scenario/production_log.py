"""What an array really made, and where it is written: one table of the scenario, for the command calibrate."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from solarsim.fields import Frozen, Name, NotNegative
from solarsim.scenario.load.meter import Column, FileName, IntervalCsv
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
    """The months on which the factor is fitted; the log's other months then show how well it foretells.

    Attributes
    ----------
    first, last : str
        Such as ``2023-01`` and ``2023-12``; both count.
    without : tuple of str
        Months between them that are left out: something was broken then.
    """

    first: Month
    last: Month
    without: tuple[Month, ...] = ()

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.last < self.first:
            raise ValueError(f"last {self.last} is before first {self.first}")
        return self


class MeasuredProduction(IntervalCsv):
    """A log of what the arrays made in known months.

    Attributes
    ----------
    file : str, optional
        A CSV of intervals of an hour or less, or of days.
    column : str, optional
        Which of its columns holds the production.
    every : str, optional
        ``day`` where a row is a day; left out where rows are intervals of an hour or less.
    monthly_kwh : dict of str to float, optional
        Whole months, such as ``2024-07 = 612.5``, in place of a file [kWh].
    side : str
        ``ac``: at the inverter's output; ``dc``: at its solar inputs.
    strategy : str, optional
        Which strategy's program cut the production while it was logged (a zero-export system whose battery was
        full). Left out where all that the arrays could make was taken.
    clock_ahead_min : int, optional
        How far the log's clock runs ahead of the right time, all year [min]; negative where it
        runs behind.
    weather : tuple of WeatherFile, optional
        The log's own calendar years, one file for each. Left out: the scenario's typical year is taken.
    fit : FitSpan, optional
        Left out: all months of the log.
    by_season : bool
        Whether a factor is fitted for each quarter of the year.
    """

    file: FileName | None = None
    column: Column | None = None
    every: Literal["day"] | None = None
    monthly_kwh: Annotated[dict[Month, NotNegative], Field(min_length=1)] | None = None
    side: Literal["ac", "dc"]
    strategy: Name | None = None
    clock_ahead_min: (
        Annotated[int, Field(ge=-MOST_AHEAD_MIN, le=MOST_AHEAD_MIN), AfterValidator(_quarter_hours)] | None
    ) = None
    weather: Annotated[tuple[WeatherFile, ...], Field(min_length=1)] | None = None
    fit: FitSpan | None = None
    by_season: bool = False

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
