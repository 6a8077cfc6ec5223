"""A system's years: what changes from year to year in, the ledger of every year out."""

from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from solarsim.engine.year import HOUR_COLUMNS
from solarsim.home import Home
from solarsim.ledger.ledger import Ledger
from solarsim.run import close_year
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.studies.life.ages import LaterHomes, left_by_age, shares_left, sizes_of

Floats = NDArray[np.float64]
Y = TypeVar("Y")


@dataclass(frozen=True)
class Rates:
    """What changes from year to year, as shares: the keys of ``Lifetime``, with prices by kind.

    Attributes
    ----------
    panel_degradation, battery_fade : float
        Lost each year, of what the year before had.
    load_growth, energy, customer_charge, demand, export : float
        Growth each year, of the load and of each kind of price.
    """

    panel_degradation: float
    battery_fade: float
    load_growth: float
    energy: float
    customer_charge: float
    demand: float
    export: float


def rates_of(life: Lifetime) -> Rates:
    """Return the rates that a scenario states.

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
        customer_charge=prices.customer_charge,
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
        Capacity / that of new cells by their age, 0 first, in place of the rate: from a model of aging.
    """

    rates: Rates
    sun: Floats
    weather: NDArray[np.int64]
    cells_left: tuple[float, ...] | None = None


def typical_course(rates: Rates, years: int, cells_left: Sequence[float] | None = None) -> Course:
    """Return years that all have the typical year's weather.

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
        The capacities are fewer than the years, or one is not from 0 to 1.
    """
    if cells_left is not None and (len(cells_left) < years or not all(0.0 <= share <= 1.0 for share in cells_left)):
        raise ValueError(f"cells_left needs a share from 0 to 1 for each of {years} years")
    left = None if cells_left is None else tuple(cells_left)
    return Course(rates, np.ones(years), np.zeros(years, np.int64), left)


def lean(home: Home, strategy: str) -> Home:
    """Return a home with what the years of one strategy need: no other dispatch, no power by array.

    Parameters
    ----------
    home : Home
        Of the first year.
    strategy : str
        The name of one of its strategies.

    Returns
    -------
    Home
        Faster to make later, and smaller to send to a worker.
    """
    production = replace(home.production, array_kw={}, roof=None)
    return replace(home, production=production, dispatches={strategy: home.dispatches[strategy]})


def homes_by_year(
    homes: Sequence[Home],
    course: Course,
    costs: Costs,
    years: Container[int] | None = None,
    later: Sequence[LaterHomes] = (),
) -> Iterator[Home]:
    """Yield the home of each year, from the first.

    Parameters
    ----------
    homes : sequence of Home
        Of one scenario, each with its own weather.
    course : Course
        How the years go.
    costs : Costs
        State when modules and cells are replaced.
    years : container of int, optional
        Yield the homes of these years only, counted from 0.
    later : sequence of LaterHomes
        What dated changes make of the home, by year.

    Yields
    ------
    Home
        With that year's panels, cells, load and prices: load and prices grow by (1 + rate)^(year - 1). Modules and
        cells that a change adds are new beside the older ones; all are as new when they are replaced.
    """
    rates, count = course.rates, course.sun.size
    stages = [LaterHomes(1, homes), *later]
    modules, kwh = sizes_of(stages)
    panels = shares_left(modules, costs.life_of("modules"), left_by_age(rates.panel_degradation, count))
    left = left_by_age(rates.battery_fade, count) if course.cells_left is None else course.cells_left[:count]
    cells = shares_left(kwh, costs.life_of("cells"), left)
    for year, (sun, weather) in enumerate(zip(course.sun, course.weather, strict=True)):
        if years is not None and year not in years:
            continue
        home = next(stage.homes for stage in reversed(stages) if stage.from_year <= year + 1)[weather]
        kinds = (rates.energy, rates.demand, rates.customer_charge, rates.export)
        energy, demand, customer_charge, export = ((1.0 + growth) ** year for growth in kinds)
        yield home.later(
            panels_left=float(sun) * panels[year],
            cells_left=cells[year],
            load_factor=(1.0 + rates.load_growth) ** year,
            rate_plan=_grown(_Plan(home.scenario.rate_plan), energy, demand, customer_charge, export),
        )


class _Plan:
    """A rate plan as a key: the very object, since designs and strategies share it."""

    def __init__(self, plan: RatePlan) -> None:
        self.plan = plan

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Plan) and self.plan is other.plan

    def __hash__(self) -> int:
        return id(self.plan)


@lru_cache(maxsize=128)
def _grown(plan: _Plan, energy: float, demand: float, customer_charge: float, export: float) -> RatePlan:
    """Return a rate plan with the prices of a later year."""
    return plan.plan.grown(energy=energy, demand=demand, customer_charge=customer_charge, export=export)


def until_removed(years: Sequence[Y], baselines: Sequence[Y], costs: Costs) -> tuple[Y, ...]:
    """Return the years of a home whose leased system may be removed at the end of its contract.

    Parameters
    ----------
    years : sequence
        With the system.
    baselines : sequence
        The same years without any system.
    costs : Costs
        How the system is paid.

    Returns
    -------
    tuple
        Those with the system, then those without.
    """
    last = len(years) if costs.contract is None else costs.contract.years_with_system(len(years))
    return (*years[:last], *baselines[last:])


def ledgers_by_year(
    strategy: str, homes: Iterable[Home], baselines: tuple[Ledger, ...] | None = None
) -> tuple[tuple[Ledger, ...], tuple[Ledger, ...]]:
    """Run a strategy, and the home without any system, through the years.

    Parameters
    ----------
    strategy : str
        Its name.
    homes : iterable of Home
        One for each year.
    baselines : tuple of Ledger, optional
        The same years without any system, where they have been run: no strategy changes them.

    Returns
    -------
    tuple
        The years without any system, and those of the strategy.
    """
    without: list[Ledger] = []
    years: list[Ledger] = []
    table: Floats | None = None
    for home in homes:
        table = np.empty((len(home.timeline), len(HOUR_COLUMNS))) if table is None else table
        if baselines is None:
            without.append(close_year(home, None, table=table))
        years.append(close_year(home, strategy, years[-1].start_soc if years else None, table))
    return tuple(without) if baselines is None else baselines, tuple(years)
