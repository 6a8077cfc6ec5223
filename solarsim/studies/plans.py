"""One home under many rate plans: a scenario and rate plans in; what every strategy costs under each of them out.

No strategy looks at a price, so each is run once, and its year is billed under every rate plan.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from solarsim.clock.windows import off_step
from solarsim.errors import ScenarioError, UnknownNameError, key_of, nearest
from solarsim.home import Home, home_of
from solarsim.ledger.bill import Bill, bill_notes
from solarsim.ledger.ledger import Ledger, charging_conflict
from solarsim.ledger.money import annual_savings, lowest
from solarsim.ledger.prices import Prices, prices_from
from solarsim.results import Result, computed, fact
from solarsim.run import simulate, without_system
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import OTHER_PLANS, require
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.studies._plan_weeks import PlanWeek, weeks_of_plan

if TYPE_CHECKING:
    import pandas as pd

#: What the command needs beyond what every scenario has.
NEEDS = (OTHER_PLANS,)

_WITHOUT = "no system"


@dataclass(frozen=True, eq=False, repr=False)
class Pair(Result):
    """A strategy under a rate plan."""

    ledger: Ledger | None
    present: Ledger | None  # of the rate plan and the strategy in use
    rate_plan: str = fact("name of the rate plan", "text")
    strategy: str = fact("name of the strategy; empty for the home without any system", "text")
    why_none: str = fact("why the two do not go together; empty where they do", "text", default="")

    @property
    def bill(self) -> Bill | None:
        """The year's bill; None where the two do not go together."""
        return None if self.ledger is None else self.ledger.bill

    @computed("sum of the year's bill lines; null where the two do not go together", "currency")
    def annual_bill(self) -> float | None:
        return None if self.ledger is None else self.ledger.annual_bill

    @computed("fuel of a generator", "currency")
    def fuel_cost(self) -> float | None:
        return None if self.ledger is None else self.ledger.fuel_cost

    @computed("annual_bill + fuel_cost: cash", "currency")
    def energy_cost(self) -> float | None:
        return None if self.ledger is None else self.ledger.energy_cost

    @computed("unserved_kwh at outages.value_of_lost_load; no cash; null without that value", "currency")
    def outage_cost(self) -> float | None:
        return None if self.ledger is None else self.ledger.outage_cost

    @computed("unserved demand", "kWh")
    def unserved_kwh(self) -> float | None:
        return None if self.ledger is None else self.ledger.unserved_kwh

    @computed("time in which some demand was unserved", "h")
    def unserved_h(self) -> float | None:
        return None if self.ledger is None else self.ledger.unserved_h

    @computed("the present pair's energy_cost less energy_cost; null where they are not comparable", "currency")
    def annual_savings(self) -> float | None:
        if self.ledger is None or self.present is None:
            return None
        return annual_savings(self.ledger, self.present)


@dataclass(frozen=True, eq=False, repr=False)
class PlanCosts(Result):
    """What the home costs under one rate plan."""

    _rows = "strategies"

    rate_plan: str = fact("name of the rate plan", "text")
    baseline: Pair = fact("the home without any system", "record")
    strategies: tuple[Pair, ...] = fact("one for each strategy, in the scenario's order", "list")


@dataclass(frozen=True, eq=False, repr=False)
class Plans(Result):
    """A home under every rate plan with every strategy."""

    home: Home  # for the heading
    prices: tuple[Prices, ...]  # of each rate plan, for its weeks
    scenario: str = fact("name of the scenario", "text")
    currency: str = fact("ISO 4217 code of all money here", "text")
    plans: tuple[PlanCosts, ...] = fact("one for each rate plan, the scenario's own first", "list")
    present: Pair = fact(
        "the scenario's own rate plan with the strategy in use; savings are counted from here", "record"
    )
    notes: tuple[str, ...] = fact("what a reader should know", "list")

    @computed("the pair of the lowest cost; of equals the present one, else the first", "record")
    def cheapest(self) -> Pair:
        return self._lowest(self.pairs)

    @computed("the rate plan of the lowest cost with the strategy in use", "record")
    def only_rate_plan(self) -> Pair:
        return self._lowest(each for each in self.pairs if each.strategy == self.present.strategy)

    @computed("the strategy of the lowest cost under the scenario's own rate plan", "record")
    def only_strategy(self) -> Pair:
        return self._lowest(each for each in self.pairs if each.rate_plan == self.present.rate_plan)

    @property
    def pairs(self) -> tuple[Pair, ...]:
        """Every strategy under every rate plan."""
        return tuple(pair for each in self.plans for pair in each.strategies)

    def weeks(self, rate_plan: str | None = None) -> tuple[PlanWeek, ...]:
        """Return a week for each season of a rate plan.

        Parameters
        ----------
        rate_plan : str, optional
            Its name; the scenario's own if left out.

        Returns
        -------
        tuple of PlanWeek
            In the order of the year.

        Raises
        ------
        UnknownNameError
            No rate plan of that name is compared here.
        """
        names = [each.rate_plan.name for each in self.prices]
        if rate_plan is not None and rate_plan not in names:
            raise UnknownNameError(f"rate plan {rate_plan!r} is not compared here{nearest(rate_plan, names)}")
        return weeks_of_plan(self.prices[0 if rate_plan is None else names.index(rate_plan)])

    def pair(self, rate_plan: str, strategy: str) -> Pair:
        """Return a pair by the names of both; the strategy's is empty for the home without any system."""
        plan = next(each for each in self.plans if each.rate_plan == rate_plan)
        return next(each for each in (plan.baseline, *plan.strategies) if each.strategy == strategy)

    def table(self) -> "pd.DataFrame":
        """Return the energy cost as a pandas table: rate plans down, strategies across [currency]."""
        import pandas as pd

        found = {
            each.rate_plan: {pair.strategy or _WITHOUT: pair.energy_cost for pair in (each.baseline, *each.strategies)}
            for each in self.plans
        }
        return pd.DataFrame.from_dict(found, orient="index", dtype=float)

    def _lowest(self, pairs: Iterable[Pair]) -> Pair:
        """Return the pair of the lowest cost, the present one before all."""
        possible = [each for each in (self.present, *pairs) if each.ledger is not None]
        least = lowest(each.ledger for each in possible if each.ledger is not None)[0]
        return next(each for each in possible if each.ledger is least)


def plans(
    scenario: Scenario,
    rate_plans: Sequence[RatePlan] | None = None,
    strategy: str | None = None,
    home: Home | None = None,
) -> Plans:
    """Bill every strategy's year under every rate plan.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote; its own rate plan is always one of them.
    rate_plans : sequence of RatePlan, optional
        Others; one that equals an earlier one is left out. The scenario's table ``plans`` if left out.
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
        There is no other rate plan, or a file of one is wrong; rate plans are in different currencies, two of them
        share a name, or the windows of one overlap, leave hours without a rate, or begin within a step.
    InputError
        See ``home_from``; or the scenario has no such strategy.
    ValueError
        See ``home_of``.

    Examples
    --------
    >>> from solarsim import plans, read_scenario
    >>> plans(read_scenario()).present.annual_savings
    0.0
    """
    if rate_plans is None:
        require(scenario, *NEEDS)
        rate_plans = scenario.other_rate_plans()
    in_use = scenario.strategies[0].name if strategy is None else scenario.strategy(strategy).name
    chosen = _different(scenario.rate_plan, rate_plans, scenario.site.step_minutes)
    home = home_of(scenario, home)
    priced = [prices_from(rate_plan, home.timeline) for rate_plan in chosen]
    runs = [simulate(scenario, each.name, home) for each in scenario.strategies]
    without = without_system(scenario, home).ledger
    present = next(run.ledger for run in runs if run.strategy == in_use)
    found = []
    for rate_plan, prices in zip(chosen, priced, strict=True):
        own = rate_plan is chosen[0]
        pairs = []
        for run in runs:
            why = charging_conflict(rate_plan, home.dispatches[run.strategy])
            ledger = None if why else run.ledger if own else run.ledger.under(prices)
            pairs.append(Pair(ledger, present, rate_plan.name, run.strategy, why))
        baseline = Pair(without if own else without.under(prices), present, rate_plan.name, "")
        found.append(PlanCosts(rate_plan.name, baseline, tuple(pairs)))
    return Plans(
        home=home,
        prices=tuple(priced),
        scenario=scenario.name,
        currency=scenario.rate_plan.currency,
        plans=tuple(found),
        present=next(each for each in found[0].strategies if each.strategy == in_use),
        notes=(
            *home.notes(*runs),
            *(note for rate_plan in chosen[1:] for note in bill_notes(rate_plan, home.timeline.step_h)),
        ),
    )


def _different(own: RatePlan, others: Sequence[RatePlan], step_minutes: int) -> list[RatePlan]:
    """Return the rate plans without repetitions, the scenario's own first; raise where they cannot be compared."""
    chosen = [own]
    for rate_plan in others:
        if rate_plan in chosen:
            continue
        if rate_plan.currency != own.currency:
            raise ScenarioError(
                f"rate plan {rate_plan.name!r}: currency is {rate_plan.currency!r}, the scenario's is {own.currency!r};"
                " rate plans are compared in one currency"
            )
        too_fine = [f"{key_of(place)}: {problem}" for place, problem in off_step(rate_plan, step_minutes)]
        if too_fine:
            raise ScenarioError(*(f"rate plan {rate_plan.name!r}: {each}" for each in too_fine))
        if rate_plan.name in [each.name for each in chosen]:
            raise ScenarioError(f"rate plan {rate_plan.name!r}: another one has that name; give each its own")
        chosen.append(rate_plan)
    return chosen
