"""The money over a system's life: a scenario in, every year simulated, cash by year and what it is worth out.

Every year runs with that year's panels, cells, load and prices; nothing is scaled from the first.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import ScenarioError
from solarsim.home import Home, home_of
from solarsim.ledger.cash_flow import internal_rates_of_return, levelized_cost, payback_years, present_value
from solarsim.ledger.ledger import Ledger
from solarsim.ledger.payments import Payments, payments_from
from solarsim.run import simulate
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime
from solarsim.scenario.model import Scenario
from solarsim.studies.life.years import homes_by_year, lived, rates_of, typical_course
from solarsim.studies.savings import costs_of
from solarsim.studies.wear import capacity_by_year

if TYPE_CHECKING:
    import pandas as pd

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class StrategyLife:
    """One strategy's years and what they are worth.

    Attributes
    ----------
    strategy : str
        Its name.
    years : tuple of Ledger
        From the first.
    baseline : tuple of Ledger
        The same years without any system.
    payments : Payments
        All money but the savings.
    discount_rate : float
        0-1.
    cells_left : tuple of float, optional
        See ``cells_left_by_age``.
    """

    strategy: str
    years: tuple[Ledger, ...]
    baseline: tuple[Ledger, ...]
    payments: Payments
    discount_rate: float
    cells_left: tuple[float, ...] | None = None

    @cached_property
    def savings(self) -> Floats:
        """Bill without any system less the bill, 0 in year 0 [currency]."""
        saved = [
            without.energy_cost - year.energy_cost for without, year in zip(self.baseline, self.years, strict=True)
        ]
        return np.array([0.0, *saved])

    @cached_property
    def cash(self) -> Floats:
        """Savings and all other money, from year 0 [currency]."""
        return np.asarray(self.savings + self.payments.total, np.float64)

    @cached_property
    def npv(self) -> float:
        """See ``cash_flow.present_value`` [currency]."""
        return present_value(self.cash, self.discount_rate)

    @property
    def average_savings(self) -> float:
        """Sum of savings / years [currency a year]."""
        return float(self.savings.sum()) / len(self.years)

    @property
    def simple_payback_years(self) -> float | None:
        """See ``cash_flow.payback_years`` [years]."""
        return payback_years(self.cash)

    @property
    def payback_without_loan_years(self) -> float | None:
        """The simple payback if the same system were paid at the purchase, whoever lends the money [years]."""
        return payback_years(self.savings + self.payments.without_loan)

    @property
    def discounted_payback_years(self) -> float | None:
        """See ``cash_flow.payback_years`` [years]."""
        return payback_years(self.cash, self.discount_rate)

    @property
    def rates_of_return(self) -> tuple[float, ...]:
        """See ``cash_flow.internal_rates_of_return``; only a single one means anything."""
        return internal_rates_of_return(self.cash)

    @property
    def lcoe(self) -> float | None:
        """Levelise the system's cost, loan aside, over solar energy served and sold, AC [currency/kWh]."""
        solar_kwh = np.array([0.0, *(year.solar_kwh for year in self.years)])
        return levelized_cost(-self.payments.without_loan, solar_kwh, self.discount_rate)

    @property
    def lcos(self) -> float | None:
        """Levelise the battery's parts over what it gave, AC, charging not counted [currency/kWh]; or None."""
        if not self.payments.storage.any():
            return None
        given_kwh = np.array([0.0, *(year.battery_kwh for year in self.years)])
        return levelized_cost(-self.payments.storage, given_kwh, self.discount_rate)

    @property
    def balance_error_kwh(self) -> float:
        """Largest amount by which the books of any year fail to close [kWh]."""
        return max(year.balance_error_kwh for year in self.years)

    def records(self) -> list[dict[str, float]]:
        """Give one record for each year from year 0, keys as in the glossary."""
        paid = self.payments
        discounted = self.cash * (1.0 + self.discount_rate) ** -np.arange(self.cash.size)
        columns = {
            "purchase": paid.purchase,
            "incentives": paid.incentives,
            "loan": paid.loan,
            "savings": self.savings,
            "o_and_m": paid.o_and_m,
            "replacements": paid.replacements,
            "loan_payments": paid.loan_payments,
            "salvage": paid.salvage,
            "cash": self.cash,
            "balance": np.cumsum(self.cash),
            "discounted_balance": np.cumsum(discounted),
        }
        records = [
            {"year": year, **{key: float(values[year]) for key, values in columns.items()}}
            for year in range(self.cash.size)
        ]
        for record, year, without in zip(records[1:], self.years, self.baseline, strict=True):
            record |= {
                "baseline_bill": without.annual_bill,
                "annual_bill": year.annual_bill,
            }
            record |= {key: year.sums[key] for key in ("pv_available_kwh", "load_kwh", "import_kwh", "export_kwh")}
            record |= {"solar_kwh": year.solar_kwh, "battery_kwh": year.battery_kwh, "capacity_kwh": year.capacity_kwh}
        return records

    def table(self) -> "pd.DataFrame":
        """Give the years as a pandas table, indexed by year from 0, the purchase."""
        import pandas as pd

        return pd.DataFrame(self.records()).set_index("year")


@dataclass(frozen=True, eq=False)
class LifeStudy:
    """Every strategy over the system's life.

    Attributes
    ----------
    home : Home
        Of the first year.
    settings : Lifetime
        What was assumed.
    costs : Costs
        What is paid.
    lives : tuple of StrategyLife
        In the scenario's order.
    """

    home: Home
    settings: Lifetime
    costs: Costs
    lives: tuple[StrategyLife, ...]

    @property
    def best(self) -> StrategyLife:
        """Give the strategy of the highest net present value."""
        return max(self.lives, key=lambda each: each.npv)


def settings_of(scenario: Scenario) -> Lifetime:
    """Give what a scenario says of the years to come.

    Parameters
    ----------
    scenario : Scenario
        With or without a life.

    Returns
    -------
    Lifetime
        Its table.

    Raises
    ------
    ScenarioError
        The scenario says nothing of them.
    """
    if scenario.life is None:
        keys = "years, money, discount_rate, panel_degradation_per_year"
        raise ScenarioError(scenario.problem(f"says nothing of the years to come: add a table [life] with {keys}"))
    return scenario.life


def cells_left_by_age(home: Home, strategy: str) -> tuple[float, ...] | None:
    """Tell what a strategy leaves of the cells by their age, where the scenario states no rate of fading.

    Parameters
    ----------
    home : Home
        Of the first year, of a scenario with a life.
    strategy : str
        The name of one of its strategies.

    Returns
    -------
    tuple of float or None
        From ``wear.capacity_by_year``: share of the first capacity at the start of each year of their age, as many
        as the life has years; the first is 1. None where a rate is stated, or there is no battery. Only capacity
        falls: the rise of resistance is not in a life.

    Raises
    ------
    ScenarioError
        See ``settings_of`` and ``wear.battery_of``.
    """
    settings, battery = settings_of(home.scenario), home.scenario.battery
    if settings.battery_fade_per_year is not None or battery is None or battery.kwh == 0.0:
        return None
    left = capacity_by_year(simulate(home.scenario, strategy, home), home, settings.years)
    return tuple(left[:-1].tolist())


def life(scenario: Scenario, strategy: str | None = None, home: Home | None = None) -> LifeStudy:
    """Follow a system through its years.

    Parameters
    ----------
    scenario : Scenario
        With costs and a life.
    strategy : str, optional
        Only this one.
    home : Home, optional
        From ``home_from``.

    Returns
    -------
    LifeStudy
        Taxes on income, depreciation and what a house gains in value are not in it.

    Raises
    ------
    ScenarioError
        The scenario lists no costs, or says nothing of the years to come; or see ``cells_left_by_age``.
    UnknownNameError
        The scenario has no such strategy.
    InputError
        See ``home_from``.
    ValueError
        See ``home_of``.
    """
    costs, settings = costs_of(scenario), settings_of(scenario)
    names = [each.name for each in scenario.strategies] if strategy is None else [scenario.strategy(strategy).name]
    home = home_of(scenario, home)
    payments = payments_from(costs, settings)
    lives: list[StrategyLife] = []
    for name in names:
        left = cells_left_by_age(home, name)
        course = typical_course(rates_of(settings), settings.years, left)
        baseline, years = lived(name, homes_by_year([home], course, costs), lives[0].baseline if lives else None)
        lives.append(StrategyLife(name, years, baseline, payments, settings.discount_rate, left))
    return LifeStudy(home, settings, costs, tuple(lives))
