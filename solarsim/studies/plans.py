"""One home under many rate plans: a scenario and rate plans in, the bill of every rate plan with every strategy out.

No strategy looks at a price, so each is run once, and its year is billed under every rate plan.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from solarsim.clock.windows import off_step
from solarsim.errors import ScenarioError, key_of
from solarsim.home import Home, home_of
from solarsim.ledger.bill import Bill, bill_notes
from solarsim.ledger.ledger import charging_conflict
from solarsim.ledger.prices import Prices, prices_from
from solarsim.run import Run, simulate, without_system
from solarsim.scenario.model import Scenario
from solarsim.scenario.rate_plan.rate_plan import RatePlan

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Pair:
    """A rate plan with a strategy.

    Attributes
    ----------
    rate_plan, strategy : str
        Their names; the strategy's is empty for the home without any system.
    bill : Bill or None
        The year's; None where the two do not go together.
    why_none : str
        Why they do not.
    """

    rate_plan: str
    strategy: str
    bill: Bill | None
    why_none: str = ""

    @property
    def annual_bill(self) -> float | None:
        """Sum of the year's bill; None where the two do not go together [currency]."""
        return None if self.bill is None else float(self.bill.total)


@dataclass(frozen=True, eq=False)
class Plans:
    """A home under every rate plan with every strategy.

    Attributes
    ----------
    home : Home
        What all of them share.
    runs : tuple of Run
        One for each strategy, in the scenario's order.
    rate_plans : tuple of RatePlan
        The scenario's own first.
    pairs : tuple of Pair
        For each rate plan the home without any system, then every strategy.
    present : Pair
        The scenario's own rate plan with the strategy that is in use.
    """

    home: Home
    runs: tuple[Run, ...]
    rate_plans: tuple[RatePlan, ...]
    pairs: tuple[Pair, ...]
    present: Pair

    def pair(self, rate_plan: str, strategy: str) -> Pair:
        """Find a pair by the names of both."""
        return next(each for each in self.pairs if (each.rate_plan, each.strategy) == (rate_plan, strategy))

    @property
    def cheapest(self) -> Pair:
        """The pair that costs least; of equals the first, but the present one before all."""
        return self._least(self.pairs)

    @property
    def only_rate_plan(self) -> Pair:
        """The cheapest pair with the present strategy."""
        return self._least(each for each in self.pairs if each.strategy == self.present.strategy)

    @property
    def only_strategy(self) -> Pair:
        """The cheapest pair with the present rate plan."""
        return self._least(each for each in self.pairs if each.rate_plan == self.present.rate_plan)

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
        return told + [note for rate_plan in self.rate_plans[1:] for note in bill_notes(rate_plan, step_h)]

    def table(self) -> "pd.DataFrame":
        """Give the bills as a pandas table: rate plans down, strategies across [currency]."""
        import pandas as pd

        found: dict[str, dict[str, float | None]] = {rate_plan.name: {} for rate_plan in self.rate_plans}
        for each in self.pairs:
            found[each.rate_plan][each.strategy or "no system at all"] = each.annual_bill
        return pd.DataFrame.from_dict(found, orient="index", dtype=float)


def plans(
    scenario: Scenario, rate_plans: Sequence[RatePlan], strategy: str | None = None, home: Home | None = None
) -> Plans:
    """Bill every strategy's year under every rate plan.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote; its own rate plan is always one of them.
    rate_plans : sequence of RatePlan
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
        Rate plans are in different currencies, two of them share a name, or the windows of one
        overlap, leave hours without a rate, or begin within a step.
    InputError
        See ``home_from``; or the scenario has no such strategy.
    ValueError
        See ``home_of``.
    """
    present = scenario.strategies[0].name if strategy is None else scenario.strategy(strategy).name
    chosen = _different(scenario.rate_plan, rate_plans, scenario.site.step_minutes)
    home = home_of(scenario, home)
    priced = [prices_from(rate_plan, home.timeline) for rate_plan in chosen]
    runs = tuple(simulate(scenario, each.name, home) for each in scenario.strategies)
    without = without_system(scenario, home)
    pairs = []
    for rate_plan, prices in zip(chosen, priced, strict=True):
        pairs.append(Pair(rate_plan.name, "", _bill(without, prices)))
        for run in runs:
            why = charging_conflict(rate_plan, home.dispatches[run.strategy])
            pairs.append(Pair(rate_plan.name, run.strategy, None if why else _bill(run, prices), why))
    now = next(each for each in pairs if (each.rate_plan, each.strategy) == (scenario.rate_plan.name, present))
    return Plans(home, runs, tuple(chosen), tuple(pairs), now)


def _bill(run: Run, prices: Prices) -> Bill:
    """Return the bill of a run's year under another rate plan."""
    return run.ledger.under(prices).bill


def _different(own: RatePlan, others: Sequence[RatePlan], step_minutes: int) -> list[RatePlan]:
    chosen = [own]
    for rate_plan in others:
        if rate_plan in chosen:
            continue
        if rate_plan.currency != own.currency:
            raise ScenarioError(
                f"rate plan {rate_plan.name!r}: currency is {rate_plan.currency!r}, the scenario's is {own.currency!r};"
                " plans are compared in one currency"
            )
        too_fine = [f"{key_of(place)}: {problem}" for place, problem in off_step(rate_plan, step_minutes)]
        if too_fine:
            raise ScenarioError(*(f"rate plan {rate_plan.name!r}: {each}" for each in too_fine))
        if rate_plan.name in [each.name for each in chosen]:
            raise ScenarioError(f"rate plan {rate_plan.name!r}: another plan has that name; give each its own")
        chosen.append(rate_plan)
    return chosen
