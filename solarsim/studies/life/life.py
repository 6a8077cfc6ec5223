"""The money over a system's life: a scenario in; every year simulated; cash by year, payback, NPV and IRR out.

Every year runs with that year's panels, cells, load and prices; nothing is scaled from the first.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import ScenarioError
from solarsim.home import Home, home_of
from solarsim.ledger.cash_flow import (
    discount_factors,
    internal_rates_of_return,
    levelized_cost,
    payback_years,
    present_value,
)
from solarsim.ledger.ledger import Ledger
from solarsim.ledger.money import serves_as_much, yearly_savings
from solarsim.ledger.payments import Payments, payments_from
from solarsim.ledger.purchase import Purchase, costs_of, purchase_from
from solarsim.results import Result, computed, fact
from solarsim.run import simulate
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime
from solarsim.scenario.model import Scenario
from solarsim.studies.life.life_year import LifeYear
from solarsim.studies.life.years import homes_by_year, lean, ledgers_by_year, rates_of, typical_course
from solarsim.studies.wear import capacity_by_year

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False, repr=False)
class StrategyLife(Result):
    """One strategy's years, and what they are worth."""

    _rows = "years"

    ledgers: tuple[Ledger, ...]
    baselines: tuple[Ledger, ...]  # the same years without any system
    payments: Payments
    discount_rate: float
    name: str = fact("name of the strategy", "text")
    cells_left: tuple[float, ...] | None = fact(
        "share of the battery's first capacity at the start of each year of its age, from the model of its chemistry;"
        " null where battery_fade_per_year is stated",
        "1",
        default=None,
    )

    @cached_property
    def savings(self) -> Floats | None:
        """Savings by year, 0 in year 0; None where too much is unserved to compare [currency]."""
        saved = yearly_savings(self.ledgers, self.baselines)
        return None if saved is None else np.array([0.0, *saved])

    @cached_property
    def cash(self) -> Floats | None:
        """Savings and all payments, from year 0 [currency]."""
        return None if self.savings is None else np.asarray(self.savings + self.payments.total, np.float64)

    @computed("net present value: cash of all years, discounted to year 0; null where not comparable", "currency")
    def npv(self) -> float | None:
        return None if self.cash is None else present_value(self.cash, self.discount_rate)

    @computed("mean of the years' savings; null where not comparable", "currency")
    def average_savings(self) -> float | None:
        return None if self.savings is None else float(self.savings.sum()) / len(self.ledgers)

    @computed("when the balance first reaches 0; null: never, or not comparable", "years")
    def simple_payback_years(self) -> float | None:
        return None if self.cash is None else payback_years(self.cash)

    @computed("when the discounted balance first reaches 0; null: never, or not comparable", "years")
    def discounted_payback_years(self) -> float | None:
        return None if self.cash is None else payback_years(self.cash, self.discount_rate)

    @computed("internal rate of return: the one rate at which npv is 0; null: none, or several", "1")
    def irr(self) -> float | None:
        return self.rates_of_return[0] if len(self.rates_of_return) == 1 else None

    @computed("every rate at which npv is 0", "1")
    def rates_of_return(self) -> tuple[float, ...]:
        return () if self.cash is None else internal_rates_of_return(self.cash)

    @computed(
        "levelized cost of energy: what the system costs, loan aside, / solar_kwh, both discounted", "currency/kWh"
    )
    def lcoe(self) -> float | None:
        solar_kwh = np.array([0.0, *(year.solar_kwh for year in self.ledgers)])
        return levelized_cost(-self.payments.without_loan, solar_kwh, self.discount_rate)

    @computed(
        "levelized cost of storage: the battery's parts / battery_kwh, both discounted; charging not counted; null"
        " where no part is the battery's",
        "currency/kWh",
    )
    def lcos(self) -> float | None:
        if not self.payments.storage.any():
            return None
        battery_kwh = np.array([0.0, *(year.battery_kwh for year in self.ledgers)])
        return levelized_cost(-self.payments.storage, battery_kwh, self.discount_rate)

    @computed("unserved demand of all years", "kWh")
    def unserved_kwh(self) -> float:
        return sum(year.unserved_kwh for year in self.ledgers)

    @computed("time in which some demand was unserved, in all years", "h")
    def unserved_h(self) -> float:
        return sum(year.unserved_h for year in self.ledgers)

    @computed("unserved_kwh at outages.value_of_lost_load, in all years; in no cash flow; null without it", "currency")
    def outage_cost(self) -> float | None:
        costs = [year.outage_cost for year in self.ledgers if year.outage_cost is not None]
        return sum(costs) if costs else None

    @computed("largest amount by which the energy balance of a year fails to close", "kWh")
    def balance_error_kwh(self) -> float:
        return max(year.balance_error_kwh for year in self.ledgers)

    @computed("each year from year 0, the purchase", "list")
    def years(self) -> tuple[LifeYear, ...]:
        paid, cash, rate = self.payments, self.cash, self.discount_rate
        balance = None if cash is None else np.cumsum(cash)
        discounted = None if cash is None else np.cumsum(cash * discount_factors(rate, cash.size - 1))
        return tuple(
            LifeYear(
                year=year,
                purchase=float(paid.purchase[year]),
                incentives=float(paid.incentives[year]),
                loan=float(paid.loan[year]),
                savings=_of_year(self.savings, year),
                o_and_m=float(paid.o_and_m[year]),
                replacements=float(paid.replacements[year]),
                loan_payments=float(paid.loan_payments[year]),
                salvage=float(paid.salvage[year]),
                cash=_of_year(cash, year),
                balance=_of_year(balance, year),
                discounted_balance=_of_year(discounted, year),
                ledger=self.ledgers[year - 1] if year else None,
                baseline=self.baselines[year - 1] if year else None,
            )
            for year in range(len(self.ledgers) + 1)
        )

    @property
    def payback_without_loan_years(self) -> float | None:
        """The simple payback if the same system were paid at the purchase, whoever lends the money [years]."""
        return None if self.savings is None else payback_years(self.savings + self.payments.without_loan)

    @property
    def energy_cost(self) -> float:
        """Bill and fuel of all years [currency]."""
        return sum(year.energy_cost for year in self.ledgers)

    @property
    def demand_kwh(self) -> float:
        """Load and standby of all years [kWh]."""
        return sum(year.demand_kwh for year in self.ledgers)


@dataclass(frozen=True, eq=False, repr=False)
class Life(Result):
    """Every strategy over the system's life."""

    _rows = "strategies"

    home: Home  # of the first year
    settings: Lifetime
    costs: Costs
    purchase: Purchase
    strategies: tuple[StrategyLife, ...] = fact("one for each strategy, in the scenario's order", "list")

    @computed("name of the scenario", "text")
    def scenario(self) -> str:
        return self.home.scenario.name

    @computed("ISO 4217 code of all money here", "text")
    def currency(self) -> str:
        return self.home.scenario.rate_plan.currency

    @computed("parts and installation, before incentives", "currency")
    def upfront_cost(self) -> float:
        return float(self.purchase.upfront_cost)

    @computed("the tables [life] and [costs]", "record")
    def assumed(self) -> dict[str, Any]:
        return assumed(self.settings, self.costs)

    @computed("what a reader should know", "list")
    def notes(self) -> tuple[str, ...]:
        return (*self.home.notes(), *self.purchase.notes)

    @property
    def best(self) -> StrategyLife | None:
        """The strategy of the highest NPV less outage cost; None where none is comparable.

        Without a value of lost load only those count that leave no more unserved than the others.
        """
        least_kwh = min(each.unserved_kwh for each in self.strategies)
        ranked = [
            (each.npv - _outages_worth(each), each)
            for each in self.strategies
            if each.npv is not None and (each.outage_cost is not None or serves_as_much(each, least_kwh))
        ]
        return max(ranked, key=lambda pair: pair[0])[1] if ranked else None


def _of_year(amounts: Floats | None, year: int) -> float | None:
    """Return an amount of one year; None where none is known."""
    return None if amounts is None else float(amounts[year])


def _outages_worth(life: StrategyLife) -> float:
    """Return the present value of the outage cost [currency]."""
    return present_value(np.array([0.0, *(year.outage_cost or 0.0 for year in life.ledgers)]), life.discount_rate)


def assumed(settings: Lifetime, costs: Costs) -> dict[str, Any]:
    """Return the tables that an answer rests on, as the user may write them.

    Parameters
    ----------
    settings : Lifetime
        The scenario's ``life``.
    costs : Costs
        Its ``costs``.

    Returns
    -------
    dict
        Without what was left out.
    """
    return {"life": settings.model_dump(exclude_none=True), "costs": costs.model_dump(exclude_none=True)}


def settings_of(scenario: Scenario) -> Lifetime:
    """Return the table ``life`` of a scenario.

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
        The scenario has no such table.
    """
    if scenario.life is None:
        keys = "years, money, discount_rate, panel_degradation_per_year"
        raise ScenarioError(scenario.problem(f"has no table [life]; add one with {keys}"))
    return scenario.life


def cells_left_by_age(home: Home, strategy: str) -> tuple[float, ...] | None:
    """Return the share of the cells' capacity by their age, where the scenario states no rate of fading.

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


def life(scenario: Scenario, strategy: str | None = None, home: Home | None = None) -> Life:
    """Simulate every year of a system's life.

    Parameters
    ----------
    scenario : Scenario
        With costs and a life.
    strategy : str, optional
        Only this one.
    home : Home, optional
        From ``home_from`` of this scenario.

    Returns
    -------
    Life
        Taxes on income, depreciation and what a house gains in value are not in it.

    Raises
    ------
    ScenarioError
        The scenario has no ``costs`` or no ``life``; or see ``cells_left_by_age``.
    UnknownNameError
        The scenario has no such strategy.
    InputError
        See ``home_from``.
    ValueError
        See ``home_of``.

    Examples
    --------
    >>> from solarsim import life, read_scenario
    >>> found = life(read_scenario(), "zero export").strategies[0]
    >>> len(found.years), found.npv > 0.0
    (26, True)
    """
    costs, settings = costs_of(scenario), settings_of(scenario)
    names = [each.name for each in scenario.strategies] if strategy is None else [scenario.strategy(strategy).name]
    home = home_of(scenario, home)
    purchase = purchase_from(scenario)
    payments = payments_from(purchase, costs, settings)
    found: list[StrategyLife] = []
    for name in names:
        left = cells_left_by_age(home, name)
        course = typical_course(rates_of(settings), settings.years, left)
        baselines, ledgers = ledgers_by_year(
            name, homes_by_year([lean(home, name)], course, costs), found[0].baselines if found else None
        )
        found.append(StrategyLife(ledgers, baselines, payments, settings.discount_rate, name, left))
    return Life(home, settings, costs, purchase, tuple(found))
