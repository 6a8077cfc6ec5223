"""One home under many rate plans: a scenario and tariffs in, the bill of every tariff with every strategy out.

No strategy looks at a price, so each is run once, and its year is billed under every tariff.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from solarsim.home import Home, home_of
from solarsim.ledger.bill import Bill, bill_doubts
from solarsim.ledger.books import bill_of, charging_conflict
from solarsim.ledger.prices import prices_from
from solarsim.run import Run, simulate, without_system
from solarsim.scenario.errors import ScenarioError, key_of
from solarsim.scenario.model import Scenario
from solarsim.scenario.tariff import Tariff
from solarsim.scenario.windows import off_step

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Pair:
    """A tariff with a strategy.

    Attributes
    ----------
    tariff, strategy : str
        Their names; the strategy's is empty for the home without any system.
    bill : Bill or None
        The year's; None where the two do not go together.
    why_none : str
        Why they do not.
    """

    tariff: str
    strategy: str
    bill: Bill | None
    why_none: str = ""

    @property
    def annual_bill(self) -> float | None:
        """Sum of the year's bill; None where the two do not go together [currency]."""
        return None if self.bill is None else float(self.bill.total)


@dataclass(frozen=True, eq=False)
class Plans:
    """A home under every tariff with every strategy.

    Attributes
    ----------
    home : Home
        What all of them share.
    runs : tuple of Run
        One for each strategy, in the scenario's order.
    tariffs : tuple of Tariff
        The scenario's own first.
    pairs : tuple of Pair
        For each tariff the home without any system, then every strategy.
    present : Pair
        The scenario's own tariff with the strategy that is in use.
    """

    home: Home
    runs: tuple[Run, ...]
    tariffs: tuple[Tariff, ...]
    pairs: tuple[Pair, ...]
    present: Pair

    def pair(self, tariff: str, strategy: str) -> Pair:
        """Find a pair by the names of both."""
        return next(each for each in self.pairs if (each.tariff, each.strategy) == (tariff, strategy))

    @property
    def cheapest(self) -> Pair:
        """The pair that costs least; of equals the first, but the present one before all."""
        return self._least(self.pairs)

    @property
    def only_tariff(self) -> Pair:
        """The cheapest pair with the present strategy."""
        return self._least(each for each in self.pairs if each.strategy == self.present.strategy)

    @property
    def only_strategy(self) -> Pair:
        """The cheapest pair with the present tariff."""
        return self._least(each for each in self.pairs if each.tariff == self.present.tariff)

    def annual_savings(self, pair: Pair) -> float:
        """Tell what a pair costs less than the present one [currency a year]."""
        return (
            0.0 if pair.bill is None or self.present.bill is None else float(self.present.bill.total - pair.bill.total)
        )

    def _least(self, pairs: Iterable[Pair]) -> Pair:
        with_system = [self.present, *(each for each in pairs if each.strategy)]
        return max(with_system, key=lambda each: float("-inf") if each.bill is None else -each.bill.total)

    def notes(self) -> list[str]:
        """Say what is doubtful about the home, the runs and the bills."""
        told = self.home.notes(*self.runs)
        step_h = self.home.timeline.step_h
        return told + [note for tariff in self.tariffs[1:] for note in bill_doubts(tariff, step_h)]

    def table(self) -> "pd.DataFrame":
        """Give the bills as a pandas table: tariffs down, strategies across [currency]."""
        import pandas as pd

        found: dict[str, dict[str, float | None]] = {tariff.name: {} for tariff in self.tariffs}
        for each in self.pairs:
            found[each.tariff][each.strategy or "no system at all"] = each.annual_bill
        return pd.DataFrame.from_dict(found, orient="index", dtype=float)


def plans(
    scenario: Scenario, tariffs: Sequence[Tariff], strategy: str | None = None, home: Home | None = None
) -> Plans:
    """Bill every strategy's year under every tariff.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote; its own tariff is always one of them.
    tariffs : sequence of Tariff
        Others; one that equals an earlier one is left out.
    strategy : str, optional
        The one that is in use; the scenario's first if left out.
    home : Home, optional
        From ``home_from`` of this scenario.

    Returns
    -------
    Plans
        Every pair.

    Raises
    ------
    ScenarioError
        Tariffs are in different currencies, two of them share a name, or the windows of one
        overlap, leave hours without a rate, or begin within a step.
    InputError
        See ``home_from``; or the scenario has no such strategy.
    ValueError
        See ``home_of``.
    """
    present = scenario.strategies[0].name if strategy is None else scenario.strategy(strategy).name
    chosen = _different(scenario.tariff, tariffs, scenario.site.step_minutes)
    home = home_of(scenario, home)
    priced = [prices_from(tariff, home.timeline) for tariff in chosen]
    runs = tuple(simulate(scenario, each.name, home) for each in scenario.strategies)
    without = without_system(scenario, home)
    pairs = []
    for tariff, prices in zip(chosen, priced, strict=True):
        pairs.append(Pair(tariff.name, "", bill_of(without.flows, tariff, prices)))
        for run in runs:
            why = charging_conflict(tariff, home.plans[run.strategy])
            pairs.append(Pair(tariff.name, run.strategy, None if why else bill_of(run.flows, tariff, prices), why))
    now = next(each for each in pairs if (each.tariff, each.strategy) == (scenario.tariff.name, present))
    return Plans(home, runs, tuple(chosen), tuple(pairs), now)


def _different(own: Tariff, others: Sequence[Tariff], step_minutes: int) -> list[Tariff]:
    chosen = [own]
    for tariff in others:
        if tariff in chosen:
            continue
        if tariff.currency != own.currency:
            raise ScenarioError(
                f"tariff {tariff.name!r}: currency is {tariff.currency!r}, the scenario's is {own.currency!r};"
                " plans are compared in one currency"
            )
        too_fine = [f"{key_of(place)}: {problem}" for place, problem in off_step(tariff, step_minutes)]
        if too_fine:
            raise ScenarioError(*(f"tariff {tariff.name!r}: {each}" for each in too_fine))
        if tariff.name in [each.name for each in chosen]:
            raise ScenarioError(f"tariff {tariff.name!r}: another plan has that name; give each its own")
        chosen.append(tariff)
    return chosen
