"""The money over a system's life: a scenario in, every year simulated, cash by year and what it is worth out.

Every year runs with that year's panels, cells, load and prices; nothing is scaled from the first.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.engine.year import HOUR_COLUMNS
from solarsim.ledger.cash_flow import internal_rates_of_return, levelised_cost, payback_years, present_value
from solarsim.ledger.payments import Payments, payments_from
from solarsim.ledger.year_sums import YearSums
from solarsim.run import Home, home_of, year_sums, year_sums_without_system
from solarsim.scenario.costs import Costs
from solarsim.scenario.errors import ScenarioError
from solarsim.scenario.life import Lifetime
from solarsim.scenario.model import Scenario
from solarsim.studies.savings import costs_of

if TYPE_CHECKING:
    import pandas as pd

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Rates:
    """What changes from year to year, as shares: the keys of ``Lifetime``, with prices by kind.

    Attributes
    ----------
    panel_degradation, battery_fade : float
        Lost each year, of what the year before had.
    load_growth, energy, fixed, demand, export : float
        Growth each year, of the load and of each kind of price.
    """

    panel_degradation: float
    battery_fade: float
    load_growth: float
    energy: float
    fixed: float
    demand: float
    export: float


def rates_of(life: Lifetime) -> Rates:
    """Take the rates that a scenario states.

    Parameters
    ----------
    life : Lifetime
        Its table.

    Returns
    -------
    Rates
        A battery that is not there does not fade.
    """
    prices = life.price_growth
    return Rates(
        panel_degradation=life.panel_degradation_per_year,
        battery_fade=life.battery_fade_per_year or 0.0,
        load_growth=life.load_growth_per_year,
        energy=prices.energy,
        fixed=prices.fixed,
        demand=prices.demand,
        export=prices.export,
    )


@dataclass(frozen=True, eq=False)
class Course:
    """How the years go.

    Attributes
    ----------
    rates : Rates
        The same in every year.
    sun : array of float
        One entry for each year: solar power / the typical year's.
    weather : array of int
        One entry for each year: which of the homes, each of another weather file, it runs with.
    cells_left : tuple of float, optional
        Capacity / that of new cells by their age, 0 first, in place of the rate: from a model of ageing.
    """

    rates: Rates
    sun: Floats
    weather: NDArray[np.int64]
    cells_left: tuple[float, ...] | None = None


def typical_course(rates: Rates, years: int, cells_left: Sequence[float] | None = None) -> Course:
    """Let every year have the typical year's weather.

    Parameters
    ----------
    rates : Rates
        The same in every year.
    years : int
        How many.
    cells_left : sequence of float, optional
        As in ``Course``.

    Returns
    -------
    Course
        Of that many years.

    Raises
    ------
    ValueError
        The capacities are fewer than the years, or one is not above 0 and at most 1.
    """
    if cells_left is not None and (len(cells_left) < years or not all(0.0 < share <= 1.0 for share in cells_left)):
        raise ValueError(f"cells_left needs a share above 0 and at most 1 for each of {years} years")
    left = None if cells_left is None else tuple(cells_left)
    return Course(rates, np.ones(years), np.zeros(years, np.int64), left)


def homes_by_year(homes: Sequence[Home], course: Course, costs: Costs) -> Iterator[Home]:
    """Give the home of each year, from the first.

    Parameters
    ----------
    homes : sequence of Home
        Of one scenario, each with its own weather.
    course : Course
        How the years go.
    costs : Costs
        Tell when modules and cells are replaced, and are as new again.

    Yields
    ------
    Home
        With that year's panels, cells, load and prices.
    """
    lives = {kind: _life_of(costs, kind) for kind in ("modules", "cells")}
    rates = course.rates
    for year, (sun, weather) in enumerate(zip(course.sun, course.weather, strict=True)):
        panel_age, cell_age = (year % lives[kind] if lives[kind] else year for kind in ("modules", "cells"))
        home = homes[weather]
        kinds = (rates.energy, rates.demand, rates.fixed, rates.export)
        energy, demand, fixed, export = ((1.0 + growth) ** year for growth in kinds)
        yield home.later(
            panels_left=float(sun) * (1.0 - rates.panel_degradation) ** panel_age,
            cells_left=(1.0 - rates.battery_fade) ** cell_age
            if course.cells_left is None
            else course.cells_left[cell_age],
            load_factor=(1.0 + rates.load_growth) ** year,
            tariff=home.scenario.tariff.grown(energy=energy, demand=demand, fixed=fixed, export=export),
        )


def _life_of(costs: Costs, kind: str) -> int:
    return next((part.life_years or 0 for part in costs.parts if part.of == kind), 0)


@dataclass(frozen=True, eq=False)
class StrategyLife:
    """One strategy's years and what they are worth.

    Attributes
    ----------
    strategy : str
        Its name.
    years : tuple of YearSums
        From the first.
    baseline : tuple of YearSums
        The same years without any system.
    payments : Payments
        All money but the savings.
    discount_rate : float
        0-1.
    """

    strategy: str
    years: tuple[YearSums, ...]
    baseline: tuple[YearSums, ...]
    payments: Payments
    discount_rate: float

    @cached_property
    def savings(self) -> Floats:
        """Bill without any system less the bill, 0 in year 0 [currency]."""
        saved = [without.bill - year.bill for without, year in zip(self.baseline, self.years, strict=True)]
        return np.array([0.0, *saved])

    @cached_property
    def cash(self) -> Floats:
        """Savings and all other money, from year 0 [currency]."""
        return np.asarray(self.savings + self.payments.total, np.float64)

    @cached_property
    def net_present_value(self) -> float:
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
    def discounted_payback_years(self) -> float | None:
        """See ``cash_flow.payback_years`` [years]."""
        return payback_years(self.cash, self.discount_rate)

    @property
    def rates_of_return(self) -> tuple[float, ...]:
        """See ``cash_flow.internal_rates_of_return``; only a single one means anything."""
        return internal_rates_of_return(self.cash)

    @property
    def levelised_cost_of_energy(self) -> float | None:
        """Levelise the system's cost, loan aside, over solar energy served and sold, AC [currency/kWh]."""
        solar_kwh = np.array([0.0, *(year.solar_kwh for year in self.years)])
        return levelised_cost(-self.payments.without_loan, solar_kwh, self.discount_rate)

    @property
    def levelised_cost_of_storage(self) -> float | None:
        """Levelise the battery's parts over what it gave, AC, charging not counted [currency/kWh]; or None."""
        if not self.payments.storage.any():
            return None
        given_kwh = np.array([0.0, *(year.battery_kwh for year in self.years)])
        return levelised_cost(-self.payments.storage, given_kwh, self.discount_rate)

    @property
    def worst_residual_kwh(self) -> float:
        """Largest amount by which the books of any year fail to close [kWh]."""
        return max(year.residual_kwh for year in self.years)

    def records(self) -> list[dict[str, float]]:
        """Give one record for each year from year 0, keys as in the glossary."""
        paid = self.payments
        discounted = self.cash * (1.0 + self.discount_rate) ** -np.arange(self.cash.size)
        columns = {
            "purchase": paid.purchase,
            "incentives": paid.incentives,
            "loan": paid.loan,
            "savings": self.savings,
            "upkeep": paid.upkeep,
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
            record |= {"baseline_bill": without.bill, "annual_bill": year.bill, "production_kwh": year.production_kwh}
            record |= {"load_kwh": year.load_kwh, "import_kwh": year.import_kwh, "export_kwh": year.export_kwh}
            record |= {"solar_kwh": year.solar_kwh, "battery_kwh": year.battery_kwh}
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
        return max(self.lives, key=lambda each: each.net_present_value)


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


def life(
    scenario: Scenario,
    strategy: str | None = None,
    home: Home | None = None,
    cells_left: Sequence[float] | None = None,
) -> LifeStudy:
    """Follow a system through its years.

    Parameters
    ----------
    scenario : Scenario
        With costs and a life.
    strategy : str, optional
        Only this one.
    home : Home, optional
        From ``home_from``.
    cells_left : sequence of float, optional
        As in ``Course``.

    Returns
    -------
    LifeStudy
        Taxes on income, depreciation and what a house gains in value are not in it.

    Raises
    ------
    ScenarioError
        The scenario lists no costs, or says nothing of the years to come.
    UnknownNameError
        The scenario has no such strategy.
    InputError
        See ``home_from``.
    ValueError
        See ``home_of`` and ``typical_course``.
    """
    costs, settings = costs_of(scenario), settings_of(scenario)
    names = [each.name for each in scenario.strategies] if strategy is None else [scenario.strategy(strategy).name]
    home = home_of(scenario, home)
    course = typical_course(rates_of(settings), settings.years, cells_left)
    baseline, years = lived(names, homes_by_year([home], course, costs))
    payments = payments_from(costs, settings)
    return LifeStudy(
        home=home,
        settings=settings,
        costs=costs,
        lives=tuple(StrategyLife(name, years[name], baseline, payments, settings.discount_rate) for name in names),
    )


def lived(
    strategies: Sequence[str], homes: Iterable[Home]
) -> tuple[tuple[YearSums, ...], dict[str, tuple[YearSums, ...]]]:
    """Run strategies, and the home without any system, through the years.

    Parameters
    ----------
    strategies : sequence of str
        Their names.
    homes : iterable of Home
        One for each year.

    Returns
    -------
    tuple
        The years without any system, and by name those of each strategy.
    """
    baseline: list[YearSums] = []
    years: dict[str, list[YearSums]] = {name: [] for name in strategies}
    table: Floats | None = None
    for home in homes:
        table = np.empty((len(home.timeline), len(HOUR_COLUMNS))) if table is None else table
        baseline.append(year_sums_without_system(home))
        for name, sums in years.items():
            sums.append(year_sums(home, name, sums[-1].start_soc if sums else None, table))
    return tuple(baseline), {name: tuple(sums) for name, sums in years.items()}
