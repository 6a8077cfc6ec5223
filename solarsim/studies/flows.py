"""One strategy's year: a scenario in, its flows by month, by day and by step out."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.errors import ScenarioError
from solarsim.home import Home, home_of
from solarsim.ledger.energy_flow import EnergyFlow, energy_flow_from
from solarsim.ledger.ledger import ENERGY
from solarsim.results import Fact, Result, computed, fact
from solarsim.run import Run, simulate
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import Need

#: What the command needs beyond what every scenario has.
NEEDS: tuple[Need, ...] = ()

_NOTICED_KWH = 0.05  # of unserved energy in a week


@dataclass(frozen=True, eq=False, repr=False)
class MonthOfFlows(Result):
    """A month; sums of energy are keys, too, see ``ledger.ENERGY``."""

    kwh: dict[str, float]
    month: int = fact("1 to 12, by the wall clock", "1")
    bill: float = fact("the bill of the month: the calendar month, or that in which the meter is read", "currency")

    @classmethod
    def facts(cls) -> dict[str, Fact]:
        """Return month, sums of energy, bill."""
        own = super().facts()
        return {"month": own["month"], **ENERGY, "bill": own["bill"]}

    def __getattr__(self, key: str) -> float:
        if key in ENERGY:
            return self.kwh[key]
        raise AttributeError(f"{type(self).__name__!r} has no attribute {key!r}")


@dataclass(frozen=True, eq=False, repr=False)
class DayOfFlows(Result):
    """A day by the wall clock; sums of energy are keys, too, see ``ledger.ENERGY``."""

    kwh: dict[str, float]
    day: str = fact("by the wall clock", "ISO 8601")
    soc_lowest: float | None = fact("lowest state of charge at the end of a step; null without a battery", "1")
    soc_highest: float | None = fact("highest state of charge at the end of a step; null without a battery", "1")

    @classmethod
    def facts(cls) -> dict[str, Fact]:
        """Return day, sums of energy, state of charge."""
        own = super().facts()
        return {"day": own["day"], **ENERGY, "soc_lowest": own["soc_lowest"], "soc_highest": own["soc_highest"]}

    def __getattr__(self, key: str) -> float:
        if key in ENERGY:
            return self.kwh[key]
        raise AttributeError(f"{type(self).__name__!r} has no attribute {key!r}")


@dataclass(frozen=True, eq=False, repr=False)
class FlowsYear(Result):
    """A strategy's year by month; its steps are in ``run.flows``."""

    _rows = "months"

    home: Home
    run: Run
    scenario: str = fact("name of the scenario", "text")
    currency: str = fact("ISO 4217 code of all money", "text")

    @computed("the strategy's year", "record")
    def strategy(self) -> Run:
        return self.run

    @computed("January to December", "table")
    def months(self) -> tuple[MonthOfFlows, ...]:
        ledger = self.run.ledger
        return tuple(
            MonthOfFlows(
                {key: float(values[month - 1]) for key, values in ledger.monthly_kwh.items()},
                month,
                float(ledger.bill.month_total(month)),
            )
            for month in range(1, 13)
        )

    @computed("what each source fed to each use in the year", "record")
    def energy_flow(self) -> EnergyFlow:
        return energy_flow_from(self.run.ledger.sums)

    @computed("what a reader should know", "list")
    def notes(self) -> list[str]:
        return self.home.notes(self.run)

    @property
    def timeline(self) -> Timeline:
        """The steps."""
        return self.run.flows.timeline

    def days(self, month: int | None = None) -> tuple[DayOfFlows, ...]:
        """Return the days of the year, or of one month, by the wall clock.

        Parameters
        ----------
        month : int, optional
            1 to 12.

        Returns
        -------
        tuple of DayOfFlows
            In the order of the calendar.
        """
        flows, timeline = self.run.flows, self.timeline
        names, place = np.unique(timeline.wall.astype("datetime64[D]")), timeline.day_of_year
        kwh = self.run.ledger.kwh_by(place, names.size)
        low, high = np.full(names.size, np.inf), np.full(names.size, -np.inf)
        np.minimum.at(low, place, flows["soc"])
        np.maximum.at(high, place, flows["soc"])
        battery = flows.capacity_kwh > 0.0
        return tuple(
            DayOfFlows(
                {key: float(values[number]) for key, values in kwh.items()},
                str(name),
                float(low[number]) if battery else None,
                float(high[number]) if battery else None,
            )
            for number, name in enumerate(names)
            if month is None or int(str(name)[5:7]) == month
        )

    def steps_of_days(self, first: date, count: int) -> NDArray[np.int64]:
        """Return the steps of some days by the wall clock, in its order.

        Parameters
        ----------
        first : date
            The first day, in the calendar year.
        count : int
            Days; those beyond the year's end are left out.

        Returns
        -------
        array of int
            Their numbers.

        Raises
        ------
        ScenarioError
            The day is not in the calendar year.
        """
        timeline = self.timeline
        if first.year != timeline.year:
            raise ScenarioError(f"{first} is not in {timeline.year}, the calendar year of the scenario")
        day = timeline.wall.astype("datetime64[D]")
        last = np.datetime64(first + timedelta(days=count - 1))
        return _by_clock(timeline, (day >= np.datetime64(first)) & (day <= last))

    def steps_of_month(self, month: int) -> NDArray[np.int64]:
        """Return the steps of a month by the wall clock, in its order; ``month`` is 1 to 12."""
        return _by_clock(self.timeline, self.timeline.month == month)

    def hardest_week(self) -> date:
        """Return the Monday of the week with the most unserved energy; where there is none, with the highest import."""
        days = self.days()
        monday = next(number for number, each in enumerate(days) if not date.fromisoformat(each.day).weekday())
        weeks = range(monday, len(days) - 6, 7)
        unserved = [sum(each.unserved_kwh for each in days[start : start + 7]) for start in weeks]
        imported = [sum(each.import_kwh for each in days[start : start + 7]) for start in weeks]
        chosen = unserved if max(unserved) >= _NOTICED_KWH else imported
        return date.fromisoformat(days[weeks[int(np.argmax(chosen))]].day)


def _by_clock(timeline: Timeline, inside: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return the numbers of steps in the order of the wall clock."""
    chosen = np.flatnonzero(inside)
    return chosen[np.argsort(timeline.wall[chosen], kind="stable")]


def flows(scenario: Scenario, strategy: str | None = None, home: Home | None = None) -> FlowsYear:
    """Run one strategy and sum its flows by month.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    strategy : str, optional
        The first one if left out.
    home : Home, optional
        From ``home_from``.

    Returns
    -------
    FlowsYear
        Its year.

    Raises
    ------
    InputError
        See ``home_from``; or the strategy is not in the scenario.
    ValueError
        See ``home_of``.

    Examples
    --------
    >>> from solarsim import flows, read_scenario
    >>> flows(read_scenario(), "zero export").months[6].export_kwh
    0.0
    """
    chosen = scenario.strategies[0].name if strategy is None else strategy
    home = home_of(scenario, home)
    run = simulate(scenario, chosen, home)
    return FlowsYear(home, run, scenario.name, scenario.rate_plan.currency)
