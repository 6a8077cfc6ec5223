"""What a system costs and saves: a scenario with a parts list in; savings and simple payback of each strategy out."""

from dataclasses import dataclass
from decimal import Decimal

from solarsim.errors import ScenarioError
from solarsim.home import Home, home_of
from solarsim.ledger.bill import to_the_cent
from solarsim.ledger.ledger import Ledger
from solarsim.ledger.money import annual_savings
from solarsim.results import Result, computed, fact
from solarsim.scenario.costs import Costs
from solarsim.scenario.model import Scenario
from solarsim.studies.compare.compare import compare


@dataclass(frozen=True, eq=False, repr=False)
class PartLine(Result):
    """One line of the parts list."""

    name: str = fact("name of the part", "text")
    quantity: float = fact("how many", "1")
    unit_price: float = fact("price of one", "currency")
    life_years: int | None = fact("full years until it is replaced; null: never", "years")
    replacement_price: float | None = fact("price of one, fitted, when its life is over", "currency")
    of: str | None = fact("modules, cells or battery: what it belongs to; null for the rest", "text")
    amount: Decimal = fact("quantity x unit_price to the cent, half up", "currency")


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
class StrategySavings(YearSavings):
    """What one strategy saves, and how long the system takes to pay for itself with it."""

    upfront_cost: float
    name: str = fact("name of the strategy", "text")

    @computed("upfront_cost / annual_savings; null where it never pays back or is not comparable", "years")
    def simple_payback_years(self) -> float | None:
        saved = self.annual_savings
        return self.upfront_cost / saved if saved is not None and saved > 0.0 else None


@dataclass(frozen=True, eq=False, repr=False)
class Savings(Result):
    """What a system costs and what each strategy saves with it."""

    _rows = "strategies"

    home: Home  # for the heading
    scenario: str = fact("name of the scenario", "text")
    currency: str = fact("ISO 4217 code of all money here", "text")
    baseline: YearCost = fact("the home without any system", "record")
    solar_only: YearSavings | None = fact(
        "the same arrays and inverter without the battery; null where there is none. It has no payback: the parts list"
        " does not say which of its parts the battery needs",
        "record",
    )
    strategies: tuple[StrategySavings, ...] = fact("one for each strategy, in the scenario's order", "list")
    parts: tuple[PartLine, ...] = fact("the parts list", "list")
    installation: Decimal = fact("work, permits and inspection, beside the parts", "currency")
    notes: tuple[str, ...] = fact("what a reader should know", "list")

    @computed("parts and installation, before incentives", "currency")
    def upfront_cost(self) -> float:
        return float(sum((line.amount for line in self.parts), self.installation))


def costs_of(scenario: Scenario) -> Costs:
    """Return what a scenario's system costs.

    Parameters
    ----------
    scenario : Scenario
        With or without costs.

    Returns
    -------
    Costs
        Its table.

    Raises
    ------
    ScenarioError
        The scenario lists no costs.
    """
    if scenario.costs is None:
        raise ScenarioError(scenario.problem("has no table [costs]; add one with parts"))
    return scenario.costs


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
        The scenario lists no costs.
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
    costs = costs_of(scenario)
    only = None if strategy is None else scenario.strategy(strategy).name
    home = home_of(scenario, home)
    found = compare(scenario, home)
    parts = tuple(PartLine(**dict(part), amount=to_the_cent(part.quantity * part.unit_price)) for part in costs.parts)
    installation = to_the_cent(costs.installation)
    upfront_cost = float(sum((line.amount for line in parts), installation))
    baseline = found.baseline.ledger
    return Savings(
        home=home,
        scenario=scenario.name,
        currency=scenario.rate_plan.currency,
        baseline=YearCost(baseline),
        solar_only=None if found.solar_only is None else YearSavings(found.solar_only.ledger, baseline),
        strategies=tuple(
            StrategySavings(run.ledger, baseline, upfront_cost, run.strategy)
            for run in found.runs
            if only in (None, run.strategy)
        ),
        parts=parts,
        installation=installation,
        notes=tuple(home.notes(*found.runs)),
    )
