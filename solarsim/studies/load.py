"""The home's load without any system: a scenario in; its year by month, part, day and hour out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import DAY_KINDS, Timeline
from solarsim.clock.windows import steps_in_any
from solarsim.load.household import Household, household_load
from solarsim.load.meter import MeterReport
from solarsim.load.shapes import season_of
from solarsim.results import Result, computed, fact
from solarsim.scenario.load.appliances import ElectricCar, HousePart
from solarsim.scenario.model import LoadScenario
from solarsim.scenario.needs import Need
from solarsim.weather.source import weather_for

#: What the command needs beyond what every scenario has.
NEEDS: tuple[Need, ...] = ()

Floats = NDArray[np.float64]
_BASE_PERCENT = 5.0


@dataclass(frozen=True, eq=False, repr=False)
class LoadMonth(Result):
    """The load of one month by the wall clock."""

    month: int = fact("1 to 12", "1")
    load_kwh: float = fact("load", "kWh")
    daily_kwh: float = fact("load of a day, mean", "kWh")
    base_load_kw: float = fact("exceeded in 95% of the steps", "kW")
    peak_load_kw: float = fact("highest step; shorter peaks are higher", "kW")


@dataclass(frozen=True, eq=False, repr=False)
class LoadPart(Result):
    """One part of the house."""

    name: str = fact("of the part", "text")
    load_kwh: float = fact("load of the year", "kWh")
    share: float = fact("share of the home's load", "1")
    critical_share: float = fact("share of it that is critical", "1")
    backed_up_share: float | None = fact(
        "share of it that is served in an outage, as outages counts it; null: no [arrangement]", "1"
    )


@dataclass(frozen=True, eq=False, repr=False)
class PluggedIn(Result):
    """Stays of an electric car that begin and end at the same times of day."""

    car: str = fact("name of the part", "text")
    start: str = fact("when it is plugged in, by the wall clock", "HH:MM")
    end: str = fact("when it is unplugged", "HH:MM")
    days_later: int = fact("days from the one to the other; 0: the same day", "1")
    stays_by_weekday: tuple[int, ...] = fact("stays a year that begin on a Monday, ... a Sunday", "list")


@dataclass(frozen=True, eq=False, repr=False)
class MeanDay(Result):
    """The mean day of a season, by hour of the wall clock."""

    months: tuple[int, ...] = fact("months of the season, 1 to 12", "list")
    weekday_kw: Floats = fact("mean load of weekdays by hour, 0 to 23", "kW")
    weekend_kw: Floats = fact("mean load of weekends and holidays by hour, 0 to 23", "kW")


@dataclass(frozen=True, eq=False, repr=False)
class LoadYear(Result):
    """A home's load from all sides; months, days and hours are those of the wall clock."""

    _rows = "months"

    inputs: LoadScenario  # as the user wrote it
    timeline: Timeline
    household: Household  # the load of each step
    scenario: str = fact("name of the scenario", "text")
    months: tuple[LoadMonth, ...] = fact("each month", "table")
    parts: tuple[LoadPart, ...] = fact("each part of the house, the largest load first", "table")
    mean_days: tuple[MeanDay, ...] = fact("the mean day of each season", "table")
    plugged_in: tuple[PluggedIn, ...] = fact(
        "when electric cars are plugged in; none for one that is plugged in all year", "table"
    )
    meter: MeterReport | None = fact("what was read from a meter's file; null without one", "record")
    notes: tuple[str, ...] = fact("what was found, filled or doubted", "list")

    @property
    def load_kw(self) -> Floats:
        """Mean power of each step [kW]."""
        return self.household.load_kw

    @computed("load of the year", "kWh")
    def load_kwh(self) -> float:
        return float(self.load_kw.sum() * self.timeline.step_h)

    @computed("critical load of the year", "kWh")
    def critical_kwh(self) -> float:
        return float(self.household.critical_kw.sum() * self.timeline.step_h)

    @computed("load of the year that outages counts as backed up; null: no [arrangement]", "kWh")
    def backed_up_kwh(self) -> float | None:
        arrangement = self.inputs.arrangement
        return None if arrangement is None else arrangement.served_without_grid(self.load_kwh, self.critical_kwh)

    @computed("exceeded in 95% of the steps of the year", "kW")
    def base_load_kw(self) -> float:
        return float(np.percentile(self.load_kw, _BASE_PERCENT))

    @computed("highest step of the year; shorter peaks are higher", "kW")
    def peak_load_kw(self) -> float:
        return float(self.load_kw.max())

    @computed("when that step begins, by the wall clock", "date and time")
    def peak_load_time(self) -> str:
        return str(self.timeline.wall[self.load_kw.argmax()].astype("datetime64[m]")).replace("T", " ")


def load_year(scenario: LoadScenario) -> LoadYear:
    """Compute a home's load without any system.

    Parameters
    ----------
    scenario : LoadScenario
        Its load, site and weather.

    Returns
    -------
    LoadYear
        The load by month, part, day and hour.

    Raises
    ------
    InputError
        A file that the scenario names is wrong, or a part of the house contradicts itself.

    Examples
    --------
    >>> import solarsim
    >>> year = solarsim.load_year(solarsim.read_scenario())
    >>> round(year.load_kwh), year.peak_load_time
    (10120, '2026-01-02 19:00')
    """
    timeline = scenario.site.timeline()
    weather = weather_for(scenario, timeline)
    household = household_load(scenario, timeline, weather)
    return LoadYear(
        inputs=scenario,
        timeline=timeline,
        household=household,
        scenario=scenario.name,
        months=tuple(_month(household.load_kw[timeline.month == month], timeline, month) for month in range(1, 13)),
        parts=_parts(scenario, household, timeline),
        mean_days=_mean_days(household.load_kw, timeline, weather.latitude_deg),
        plugged_in=tuple(stay for part in scenario.load.parts or () for stay in _stays(part, timeline)),
        meter=household.meter,
        notes=(*(weather.notes if scenario.load.parts else ()), *household.notes),  # parts follow the temperature
    )


def _month(load_kw: Floats, timeline: Timeline, month: int) -> LoadMonth:
    """Return the sums of one month's steps."""
    kwh = float(load_kw.sum() * timeline.step_h)
    base_kw = float(np.percentile(load_kw, _BASE_PERCENT))
    return LoadMonth(month, kwh, kwh / (load_kw.size * timeline.step_h / 24), base_kw, float(load_kw.max()))


def _parts(scenario: LoadScenario, household: Household, timeline: Timeline) -> tuple[LoadPart, ...]:
    """Return the parts of the house, the largest first."""
    critical = {part.name: float(part.critical) for part in scenario.load.parts or ()}
    total = float(household.load_kw.sum()) or 1.0
    parts = []
    for name, kw in household.kw_by_part.items():
        share = critical.get(name, scenario.load.critical_share or 0.0)
        backed_up = None
        if scenario.arrangement is not None:
            backed_up = scenario.arrangement.served_without_grid(1.0, share)
        parts.append(LoadPart(name, float(kw.sum() * timeline.step_h), float(kw.sum()) / total, share, backed_up))
    return tuple(sorted(parts, key=lambda part: -part.load_kwh))


def _stays(part: HousePart, timeline: Timeline) -> list[PluggedIn]:
    """Return the stays of a part that is a car, the most frequent first; the year is a circle."""
    if not isinstance(part, ElectricCar):
        return []
    plugged = steps_in_any(part.plugged_in, timeline, "plugged_in")
    arrives, leaves = (np.flatnonzero(each & ~np.roll(each, 1)) for each in (plugged, ~plugged))
    ends = leaves[np.searchsorted(leaves, arrives) % max(1, leaves.size)]
    day = timeline.day_of_year
    found: dict[tuple[str, str, int], list[int]] = {}
    for arrival, end in zip(arrives.tolist(), ends.tolist(), strict=True):
        # The end of a day is 24:00 of it, not 00:00 of the next.
        key = (_clock(timeline, arrival), _clock(timeline, end - 1, 1), int(day[end - 1] - day[arrival]) % 365)
        found.setdefault(key, [0] * 7)[timeline.weekday[arrival]] += 1
    stays = [PluggedIn(part.name, *key, tuple(counts)) for key, counts in found.items()]
    return sorted(stays, key=lambda stay: -sum(stay.stays_by_weekday))


def _clock(timeline: Timeline, step: int, steps_later: int = 0) -> str:
    """Return the wall clock at the start of a step, or some steps after it, as HH:MM."""
    minutes = int(timeline.minute_of_day[step] + steps_later * timeline.step_h * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _mean_days(load_kw: Floats, timeline: Timeline, latitude_deg: float) -> tuple[MeanDay, ...]:
    """Return the mean days of the three seasons, the one with January first."""
    months = np.arange(1, 13)
    season = season_of(months, latitude_deg)
    free_day = timeline.day_kind != DAY_KINDS.index("weekday")
    hour = timeline.minute_of_day // 60
    found = []
    for each in dict.fromkeys(season.tolist()):
        here = season[timeline.month - 1] == each
        means = [
            np.bincount(hour[days], load_kw[days], minlength=24) / np.bincount(hour[days], minlength=24)
            for days in (here & ~free_day, here & free_day)
        ]
        found.append(MeanDay(tuple(months[season == each].tolist()), *means))
    return tuple(found)
