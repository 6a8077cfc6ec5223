"""The bill of one month or of the year, with and without the system: a scenario in, lines out."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from solarsim.home import Home, home_of
from solarsim.ledger.lines import BillLine
from solarsim.ledger.money import annual_savings
from solarsim.results import Result, computed, fact
from solarsim.run import Run, simulate, without_system
from solarsim.scenario.model import BillScenario, Scenario
from solarsim.scenario.needs import Need
from solarsim.scenario.rate_plan.rate_plan import Kind

#: What the command needs beyond what every scenario has.
NEEDS: tuple[Need, ...] = ()


@dataclass(frozen=True, eq=False, repr=False)
class PrintedBill(Result):
    """A bill line by line."""

    _rows = "lines"

    run: Run
    name: str = fact("of the strategy, or that there is no system", "text")
    lines: tuple[BillLine, ...] = fact("the lines of the bill", "table")
    total: float = fact("sum of the lines", "currency")
    fuel_cost: float = fact("fuel of a generator in the year, which is not on the bill", "currency")
    unserved_kwh: float = fact("unserved demand of the year", "kWh")
    unserved_h: float = fact("time in the year in which some demand was unserved", "h")

    @computed("total by month, January to December; 0 in months that are not printed", "currency")
    def monthly_total(self) -> tuple[float, ...]:
        return tuple(map(float, self._by_month(self.lines)))

    def monthly_amounts(self, by_kind: bool = False) -> dict[tuple[Kind, str], tuple[float, ...]]:
        """Return for each kind and name of a line its amounts by month; ``by_kind`` adds up all names of a kind.

        Parameters
        ----------
        by_kind : bool
            True: one entry for each kind, without a name.

        Returns
        -------
        dict
            Twelve amounts each, January to December, in the order of the lines [currency].
        """
        groups: dict[tuple[Kind, str], list[BillLine]] = {}
        for line in self.lines:
            groups.setdefault((line.kind, "" if by_kind else line.what), []).append(line)
        return {key: tuple(map(float, self._by_month(lines))) for key, lines in groups.items()}

    @staticmethod
    def _by_month(lines: Iterable[BillLine]) -> list[Decimal]:
        """Return the sum of some lines in each of twelve months."""
        amounts = [Decimal(0)] * 12
        for line in lines:
            amounts[line.month - 1] += line.amount
        return amounts


@dataclass(frozen=True, eq=False, repr=False)
class BillStudy(Result):
    """The bills of the home without any system, and with it."""

    _rows = "bills"

    home: Home
    scenario: str = fact("name of the scenario", "text")
    currency: str = fact("ISO 4217 code of all money", "text")
    rate_plan: str = fact("name of the rate plan", "text")
    month: int | None = fact("1 to 12; null for the year", "1")
    bills: tuple[PrintedBill, ...] = fact("without any system; and with it, where there is one", "table")

    @computed("energy cost without any system less that with it; null where not comparable", "currency")
    def annual_savings(self) -> float | None:
        return annual_savings(self.bills[-1].run.ledger, self.bills[0].run.ledger)

    @computed("what a reader should know", "list")
    def notes(self) -> list[str]:
        return self.home.notes(*(bill.run for bill in self.bills))


def bill(
    scenario: BillScenario, strategy: str | None = None, month: int | None = None, home: Home | None = None
) -> BillStudy:
    """Bill a year with and without the system.

    Parameters
    ----------
    scenario : BillScenario
        Load, rate plan, site and weather are enough for the bill without any system.
    strategy : str, optional
        The first one if left out.
    month : int, optional
        1 to 12: only this bill; all of the year if left out.
    home : Home, optional
        From ``home_from``.

    Returns
    -------
    BillStudy
        Two bills; one where there is no system.

    Raises
    ------
    InputError
        See ``home_from``; or the strategy is not in the scenario.
    ValueError
        The month is not 1 to 12, or see ``home_of``.

    Examples
    --------
    >>> from solarsim import bill, read_scenario
    >>> [printed.total for printed in bill(read_scenario(), "winter night charge").bills]
    [1786.3, 322.21]
    """
    if month is not None and not 1 <= month <= 12:
        raise ValueError(f"month {month} must be 1 to 12")
    whole = scenario if isinstance(scenario, Scenario) else scenario.on_grid_alone()
    chosen = whole.strategies[0].name if strategy is None else whole.strategy(strategy).name
    home = home_of(whole, home)
    runs = [without_system(whole, home)]
    if whole.has_system:
        runs.append(simulate(whole, chosen, home))
    bills = tuple(_printed(run, month) for run in runs)
    return BillStudy(home, scenario.name, scenario.rate_plan.currency, scenario.rate_plan.name, month, bills)


def _printed(run: Run, month: int | None) -> PrintedBill:
    """Return the lines of a month, or of the year."""
    ledger = run.ledger
    lines = tuple(line for line in ledger.bill.lines if month in (None, line.month))
    total = ledger.bill.total if month is None else ledger.bill.month_total(month)
    name = run.strategy or "no system"
    return PrintedBill(run, name, lines, float(total), ledger.fuel_cost, ledger.unserved_kwh, ledger.unserved_h)
