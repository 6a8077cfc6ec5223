"""What was read from a meter: the part of a load's result that a person checks before believing it."""

from dataclasses import dataclass
from datetime import date

from solarsim.results import Result, fact


@dataclass(frozen=True, repr=False)
class Hole(Result):
    """Hours in a row without a usable reading."""

    start: str = fact("when it begins, by the wall clock", "text")
    hours: int = fact("how many hours", "h")


@dataclass(frozen=True, eq=False, repr=False)
class MeterReport(Result):
    """What was read from the meter, what was filled, and what the simulated year makes of it."""

    first_day: date = fact("first day of the meter's year, by the wall clock", "date")
    last_day: date = fact("its last day, included", "date")
    hours: int = fact("hours from the first day to the last", "h")
    hours_read: int = fact("hours with a usable reading", "h")
    read_kwh: float = fact("load of the hours read", "kWh")
    filled_hours: float = fact("hours of the simulated year that are filled with the median of like hours", "h")
    filled_kwh: float = fact("load of the filled hours", "kWh")
    estimated_share: float = fact("share of the hours read that the utility estimated, 0-1", "1")
    holes: tuple[Hole, ...] = fact("hours without a usable reading", "table")
    impossible: tuple[Hole, ...] = fact("hours with import - export + production below 0; not used", "table")
    warnings: tuple[str, ...] = fact("what makes the readings doubtful", "text")
    raised_kwh: float = fact("part of read_kwh, added by raising small negative hours to 0", "kWh")
    laid_kwh: float = fact("load of the simulated year", "kWh")
    base_load_kw: float = fact("load exceeded in 95% of the hours read", "kW")
    peak_kw: float = fact("highest hour read", "kW")
    peak_hour: str = fact("when the highest hour read begins, by the wall clock", "text")
    notes: tuple[str, ...] = fact("what was found, repaired and assumed", "text")

    @property
    def calendar_kwh(self) -> float:
        """Energy of days that the simulated calendar uses twice, less that of days it does not use [kWh]."""
        return self.laid_kwh - self.filled_kwh - self.read_kwh
