"""What a system costs and earns: a comparison in, parts list, savings and simple payback out."""

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from solarsim.errors import ScenarioError
from solarsim.ledger.bill import to_the_cent
from solarsim.run import Run
from solarsim.scenario.costs import Costs, Part
from solarsim.scenario.model import Scenario
from solarsim.studies.compare.compare import Comparison

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class PartLine:
    """One line of the parts list, with its amount to the cent [currency]."""

    part: Part
    amount: Decimal


@dataclass(frozen=True)
class Payback:
    """What one strategy earns.

    Attributes
    ----------
    strategy : str
        Its name.
    annual_bill : float
        [currency a year].
    annual_savings : float or None
        See ``money.annual_savings`` [currency a year].
    simple_payback_years : float or None
        System cost / annual savings [years]; None where the strategy never pays it back.
    """

    strategy: str
    annual_bill: float
    annual_savings: float | None
    simple_payback_years: float | None


@dataclass(frozen=True)
class Savings:
    """What a system costs and what every strategy earns with it.

    Attributes
    ----------
    currency : str
        ISO 4217 code.
    parts : tuple of PartLine
        The parts list.
    installation : decimal.Decimal
        What is paid once beside the parts [currency].
    baseline_bill : float
        A year's bill without any system [currency].
    paybacks : tuple of Payback
        One for each strategy.
    solar_only : Payback, optional
        What the sun alone saves. It has no payback, since the parts list does not say which of its
        parts the battery needs.
    """

    currency: str
    parts: tuple[PartLine, ...]
    installation: Decimal
    baseline_bill: float
    paybacks: tuple[Payback, ...]
    solar_only: Payback | None = None

    @property
    def upfront_cost(self) -> Decimal:
        """Add up parts and installation [currency]."""
        return sum((line.amount for line in self.parts), self.installation)

    def table(self) -> "pd.DataFrame":
        """Give the strategies as a pandas table, indexed by name."""
        import pandas as pd

        return pd.DataFrame([vars(payback) for payback in self.paybacks]).set_index("strategy")


def costs_of(scenario: Scenario) -> Costs:
    """Give what a scenario's system costs.

    Parameters
    ----------
    scenario : Scenario
        With or without costs.

    Returns
    -------
    Costs
        Its parts list.

    Raises
    ------
    ScenarioError
        The scenario lists no costs.
    """
    if scenario.costs is None:
        raise ScenarioError(scenario.problem("lists no costs: add a table [costs] with parts"))
    return scenario.costs


def savings(comparison: Comparison, strategy: str | None = None) -> Savings:
    """Set what a scenario's strategies earn against what its parts cost.

    Parameters
    ----------
    comparison : Comparison
        Every strategy's year.
    strategy : str, optional
        Only this one.

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
    """
    scenario = comparison.home.scenario
    only = None if strategy is None else scenario.strategy(strategy).name
    costs = costs_of(scenario)
    parts = tuple(PartLine(part, to_the_cent(part.quantity * part.unit_price)) for part in costs.parts)
    installation = to_the_cent(costs.installation)
    cost = float(sum((line.amount for line in parts), installation))

    def payback(run: Run, price: float) -> Payback:
        saved = comparison.annual_savings(run)
        pays = saved is not None and saved > 0.0 and price > 0.0
        return Payback(run.strategy, run.ledger.annual_bill, saved, price / saved if saved and pays else None)

    return Savings(
        currency=scenario.rate_plan.currency,
        parts=parts,
        installation=installation,
        baseline_bill=float(comparison.baseline.ledger.bill.total),
        paybacks=tuple(payback(run, cost) for run in comparison.runs if only in (None, run.strategy)),
        solar_only=None if comparison.solar_only is None else payback(comparison.solar_only, 0.0),
    )
