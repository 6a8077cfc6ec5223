"""What a system costs and saves: a scenario with a parts list in; savings and simple payback of each strategy out."""

from dataclasses import dataclass

from solarsim.home import Home, home_of
from solarsim.ledger.ledger import Ledger
from solarsim.ledger.money import annual_savings
from solarsim.ledger.purchase import Purchase, costs_of, purchase_from
from solarsim.results import Result, computed, fact
from solarsim.scenario.costs import Costs
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import COSTS, require
from solarsim.studies.compare.compare import compare

#: What the command needs beyond what every scenario has.
NEEDS = (COSTS,)


@dataclass(frozen=True, eq=False, repr=False)
class YearCost(Result):
    """What one year costs, and what it leaves unserved."""

    ledger: Ledger

    @computed("sum of the year's bill lines; negative if the year earns", "currency")
    def annual_bill(self) -> float:
        return self.ledger.annual_bill

    @computed("fuel of a generator", "currency")
    def fuel_cost(self) -> float:
        return self.ledger.fuel_cost

    @computed("annual_bill + fuel_cost: cash", "currency")
    def energy_cost(self) -> float:
        return self.ledger.energy_cost

    @computed("unserved_kwh at outages.value_of_lost_load; no cash; null without that value", "currency")
    def outage_cost(self) -> float | None:
        return self.ledger.outage_cost

    @computed("unserved demand", "kWh")
    def unserved_kwh(self) -> float:
        return self.ledger.unserved_kwh

    @computed("time in which some demand was unserved", "h")
    def unserved_h(self) -> float:
        return self.ledger.unserved_h

    @property
    def demand_kwh(self) -> float:
        """Load and standby [kWh]."""
        return self.ledger.demand_kwh


@dataclass(frozen=True, eq=False, repr=False)
class YearSavings(YearCost):
    """The same, against the year without any system."""

    baseline: Ledger

    @computed("the baseline's energy_cost less energy_cost; null where too much is unserved to compare", "currency")
    def annual_savings(self) -> float | None:
        return annual_savings(self.ledger, self.baseline)


@dataclass(frozen=True, eq=False, repr=False)
class PricedSavings(YearSavings):
    """The same, with what the system costs and how long it takes to pay for itself."""

    cost: float | None

    @computed(
        "parts and installation, before incentives; null where it is not known, or not paid under a contract",
        "currency",
    )
    def upfront_cost(self) -> float | None:
        return self.cost

    @computed("upfront_cost / annual_savings; null where it never pays back or is not comparable", "years")
    def simple_payback_years(self) -> float | None:
        return payback_of(self.cost, self.annual_savings)


@dataclass(frozen=True, eq=False, repr=False)
class StrategySavings(PricedSavings):
    """What one strategy saves, and what the battery adds to solar alone with it."""

    solar_only: PricedSavings | None
    name: str = fact("name of the strategy", "text")

    @computed("annual_savings less those of solar without a battery; null where either is not known", "currency")
    def battery_savings(self) -> float | None:
        alone = None if self.solar_only is None else self.solar_only.annual_savings
        return None if alone is None or self.annual_savings is None else self.annual_savings - alone

    @computed("battery_cost / battery_savings; null where it never pays back or is not known", "years")
    def battery_payback_years(self) -> float | None:
        alone = None if self.solar_only is None else self.solar_only.cost
        cost = None if alone is None or self.cost is None else self.cost - alone
        return payback_of(cost, self.battery_savings)


@dataclass(frozen=True, eq=False, repr=False)
class Savings(Result):
    """What a system costs and what each strategy saves with it."""

    _rows = "strategies"

    home: Home  # for the heading
    scenario: str = fact("name of the scenario", "text")
    currency: str = fact("ISO 4217 code of all money here", "text")
    baseline: YearCost = fact("the home without any system", "record")
    solar_only: PricedSavings | None = fact(
        "the same arrays and inverter without the battery and what only it needs; null where there is none", "record"
    )
    strategies: tuple[StrategySavings, ...] = fact("one for each strategy, in the scenario's order", "list")
    purchase: Purchase = fact("what is purchased, line by line", "record")
    notes: tuple[str, ...] = fact("what a reader should know", "list")

    @property
    def costs(self) -> Costs:
        """The scenario's table."""
        return costs_of(self.home.scenario)

    @computed("parts and installation, before incentives; under a lease or the like its owner pays them", "currency")
    def upfront_cost(self) -> float:
        return float(self.purchase.upfront_cost)


def payback_of(cost: float | None, yearly: float | None) -> float | None:
    """Return cost / yearly savings; None where either is not known, or nothing is saved.

    Parameters
    ----------
    cost : float or None
        Paid once [currency].
    yearly : float or None
        Saved every year [currency].

    Returns
    -------
    float or None
        Simple payback [years].
    """
    return cost / yearly if cost is not None and yearly is not None and yearly > 0.0 else None


def savings(scenario: Scenario, strategy: str | None = None, home: Home | None = None) -> Savings:
    """Compare what a scenario's strategies save in the first year with what its parts cost.

    Parameters
    ----------
    scenario : Scenario
        With costs.
    strategy : str, optional
        Only this one.
    home : Home, optional
        From ``home_from`` of this scenario.

    Returns
    -------
    Savings
        Simple payback leaves out interest, incentives, price growth, aging, replacements and O&M.

    Raises
    ------
    ScenarioError
        See ``purchase_from``.
    UnknownNameError
        The scenario has no such strategy.
    InputError
        See ``home_from``.
    ValueError
        See ``home_of``.

    Examples
    --------
    >>> from solarsim import read_scenario, savings
    >>> found = savings(read_scenario(), "zero export")
    >>> found.upfront_cost > 10_000, found.strategies[0].simple_payback_years < 12.0
    (True, True)
    """
    require(scenario, *NEEDS)
    purchase = purchase_from(scenario)
    contract = costs_of(scenario).contract
    only = None if strategy is None else scenario.strategy(strategy).name
    home = home_of(scenario, home)
    found = compare(scenario, home)
    baseline = found.baseline.ledger
    alone = None
    if found.solar_only is not None:
        known = purchase.battery_cost is not None and contract is None
        alone = PricedSavings(
            found.solar_only.ledger, baseline, purchase.without_battery.upfront_cost if known else None
        )
    return Savings(
        home=home,
        scenario=scenario.name,
        currency=scenario.rate_plan.currency,
        baseline=YearCost(baseline),
        solar_only=alone,
        strategies=tuple(
            StrategySavings(run.ledger, baseline, None if contract else purchase.upfront_cost, alone, run.strategy)
            for run in found.runs
            if only in (None, run.strategy)
        ),
        purchase=purchase,
        notes=(*home.notes(*found.runs), *purchase.notes),
    )
