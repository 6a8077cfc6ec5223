"""The money over a system's life: a scenario in; every year simulated; cash by year, payback, NPV and IRR out.

Every year runs with that year's panels, cells, load and prices; nothing is scaled from the first.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from solarsim.errors import ScenarioError
from solarsim.home import Home, home_of
from solarsim.ledger.cash_flow import present_value
from solarsim.ledger.money import serves_as_much
from solarsim.ledger.purchase import Purchase, costs_of
from solarsim.results import Result, computed, fact
from solarsim.run import close_year, simulate
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import COSTS, LIFE, require
from solarsim.studies.life.months import payment_months
from solarsim.studies.life.stages import Stage, later_purchases, replacements_in, stages_from, why_no_solar_only
from solarsim.studies.life.strategy_life import StrategyLife
from solarsim.studies.life.system import solar_only_from, system_from
from solarsim.studies.life.years import Course, rates_of, typical_course
from solarsim.studies.wear import capacity_by_year

#: What the command needs beyond what every scenario has.
NEEDS = (COSTS, LIFE)

__all__ = ["ChangeEffect", "Life", "assumed", "cells_left_by_age", "life", "outages_worth", "settings_of"]


@dataclass(frozen=True, eq=False, repr=False)
class ChangeEffect(Result):
    """One dated change, and what it does to the net present value."""

    name: str = fact("name of the change", "text")
    year: int = fact("first year in which it holds", "1")
    keys: tuple[str, ...] = fact("what it sets", "list")
    cost: float = fact("what it costs, at first-year prices", "currency")
    strategy: str = fact("the strategy of these NPVs", "text")
    npv_with: float | None = fact("NPV with all changes; null where not comparable", "currency")
    npv_without: float | None = fact(
        "NPV without this one; null where not comparable, or where other changes need it", "currency"
    )

    @computed("npv_with less npv_without; null where either is", "currency")
    def difference(self) -> float | None:
        return None if self.npv_with is None or self.npv_without is None else self.npv_with - self.npv_without


@dataclass(frozen=True, eq=False, repr=False)
class Life(Result):
    """Every strategy over the system's life."""

    _rows = "strategies"

    home: Home  # of the first year
    settings: Lifetime
    costs: Costs
    stages: tuple[Stage, ...]
    strategies: tuple[StrategyLife, ...] = fact("one for each strategy, in the scenario's order", "list")
    solar_only: StrategyLife | None = fact(
        "the same arrays and inverter without the battery and what only it needs; null where that is not known",
        "record",
    )
    changes: tuple[ChangeEffect, ...] = fact("each dated change within the years", "list")

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
        return (*self.home.notes(), *self.purchase.notes, *_notes_of(self.stages, self.settings, self.costs))

    @property
    def replacements(self) -> dict[str, tuple[int, ...]]:
        """The years at whose end each part is replaced, by its name."""
        return replacements_in(self.stages, self.settings.years)

    @property
    def purchase(self) -> Purchase:
        """What is bought at the start."""
        return self.stages[0].purchase

    @property
    def best(self) -> StrategyLife | None:
        """The strategy of the highest NPV less outage cost; None where none is comparable.

        Without a value of lost load only those count that leave no more unserved than the others.
        """
        least_kwh = min(each.unserved_kwh for each in self.strategies)
        ranked = [
            (each.npv - outages_worth(each), each)
            for each in self.strategies
            if each.npv is not None and (each.outage_cost is not None or serves_as_much(each, least_kwh))
        ]
        return max(ranked, key=lambda pair: pair[0])[1] if ranked else None


def outages_worth(life: StrategyLife) -> float:
    """Return the present value of the outage cost of a strategy's years.

    Parameters
    ----------
    life : StrategyLife
        With or without a value of lost load.

    Returns
    -------
    float
        0 without such a value [currency].
    """
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
    require(scenario, LIFE)
    assert scenario.life is not None  # noqa: S101  # for the type checker: require refuses
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
    require(scenario, *NEEDS)
    costs, settings = costs_of(scenario), settings_of(scenario)
    names = [each.name for each in scenario.strategies] if strategy is None else [scenario.strategy(strategy).name]
    home = home_of(scenario, home)
    stages = stages_from([home], settings)
    found: list[StrategyLife] = []
    for name in names:
        course = _course(settings, cells_left_by_age(home, name))
        system = system_from(stages, name, costs, settings)
        each = system.life(course, found[0].baselines if found else None)
        months = payment_months(costs, stages[0].purchase.upfront_cost, close_year(home, name), each.baselines[0])
        found.append(replace(each, months=months))
    bare = solar_only_from(stages, costs, settings)
    alone = None if bare is None else bare.life(_course(settings, None), found[0].baselines)
    found = [replace(each, solar_only=alone) for each in found]
    result = Life(home, settings, costs, stages, tuple(found), alone, ())
    return replace(result, changes=tuple(_effects(result)))


def _course(settings: Lifetime, left: tuple[float, ...] | None) -> Course:
    """Return the years of a life: the typical weather in all of them."""
    return typical_course(rates_of(settings), settings.years, left)


def _effects(result: Life) -> Iterator[ChangeEffect]:
    """Yield each dated change with the net present value of the best strategy with and without it."""
    shown, settings = result.best or result.strategies[0], result.settings
    for stage, bought in zip(result.stages[1:], later_purchases(result.stages), strict=True):
        change = stage.change
        if change is None:
            continue
        try:
            stages = stages_from([result.home], settings, leave_out=change.name)
            system = system_from(stages, shown.name, result.costs, settings)
            npv = system.life(_course(settings, shown.cells_left)).npv
        except ScenarioError:
            npv = None
        yield ChangeEffect(change.name, change.year, change.set, bought.cost, shown.name, shown.npv, npv)


def _notes_of(stages: tuple[Stage, ...], settings: Lifetime, costs: Costs) -> Iterator[str]:
    """Yield what a reader should know of dated changes and of the home without a battery."""
    for change in settings.changes:
        if change.year > settings.years:
            yield f"life.changes: {change.name!r} in year {change.year} is after the {settings.years} years: no effect"
    known = set(stages[0].homes[0].scenario.notes)
    for stage in stages[1:]:
        own = (each for each in stage.homes[0].scenario.notes if each not in known)
        scenario_notes = (each for each in own if not each.startswith("life.changes:"))  # it has been made
        yield from (f"from year {stage.from_year}: {each}" for each in (*scenario_notes, *stage.purchase.notes))
    why = why_no_solar_only(stages, costs)
    if why:
        yield why
