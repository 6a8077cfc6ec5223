"""One strategy's year: a scenario in, its flows by month and by step out."""

from dataclasses import dataclass

from solarsim.home import Home, home_of
from solarsim.ledger.ledger import ENERGY
from solarsim.results import Fact, Result, computed, fact
from solarsim.run import Run, simulate
from solarsim.scenario.model import Scenario


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

    @computed("what a reader should know", "list")
    def notes(self) -> list[str]:
        return self.home.notes(self.run)


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
