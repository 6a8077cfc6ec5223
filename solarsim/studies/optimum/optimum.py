"""The optimum: a home and a reserve in; the lowest cost that any control could reach, and a schedule near it out.

From below, a linear program over the whole year with perfect foresight: the same sun, load, rate plan, hardware, supply
and export limit, but none of a strategy's settings except its reserve. No run costs less. From above, a dynamic program
over the simulated steps, with orders that an inverter takes: a year that the hardware can follow.
"""

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from math import inf
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.dispatch.strategy import dispatch_from
from solarsim.dispatch.supply import with_supply
from solarsim.engine.records import Inputs
from solarsim.engine.year import Year
from solarsim.home import Home
from solarsim.ledger.ledger import Ledger
from solarsim.ledger.money import serves_as_much
from solarsim.results import Result, fact
from solarsim.run import ledger_of
from solarsim.scenario.strategy import Strategy

if TYPE_CHECKING:
    from solarsim.studies.optimum._program import Least

_WORKERS = 2  # programs that are solved side by side
_LEAST_SHARE = 0.01  # of the baseline's cost: what a battery must be able to save for a share of it to mean anything
_NOTHING = 1e-6  # less money is rounding
_DECIMALS = 6  # of kWh to which amounts of unserved energy are told apart


@dataclass(frozen=True, eq=False, repr=False)
class Optimum(Result):
    """The optimum at one reserve. Many ways through the year may cost the same least, so it has a cost but no flows.

    Examples
    --------
    >>> from solarsim import optimum, read_scenario
    >>> from solarsim.home import home_from
    >>> round(optimum(home_from(read_scenario())).energy_cost)
    267
    """

    strategies: tuple[str, ...] = fact("names of the strategies that keep this reserve", "list")
    reserve_low: float = fact("lowest reserve of the year", "1")
    reserve_high: float = fact("highest reserve of the year", "1")
    unserved_kwh: float | None = fact("most that may stay unserved; null for any amount", "kWh")
    energy_cost: float | None = fact(
        "lowest possible energy cost, not rounded to cents; null where there is no bound", "currency"
    )
    scheduled_energy_cost: float | None = fact(
        "energy cost of a schedule that the hardware can follow, made with perfect foresight; null where not computed",
        "currency",
        default=None,
    )
    scheduled_share: float | None = fact(
        "share of the possible battery savings that the schedule earns; null where not known", "1", default=None
    )
    reserve_cost: float | None = fact(
        "energy_cost less that of the optimum without a reserve; null where not computed", "currency", default=None
    )
    why_none: str = fact("why there is no bound; empty where there is one", "text", default="")
    why_loose: str = fact(
        "why the bound may be well below what control can reach; empty where it is close", "text", default=""
    )


def optimum(
    home: Home, strategy: str | None = None, unserved_kwh: float | None = None, wear_price: float = 0.0
) -> Optimum:
    """Compute the lowest energy cost that perfect foresight could reach with a home's hardware.

    Parameters
    ----------
    home : Home
        Series, prices and limits.
    strategy : str, optional
        Whose reserve is kept; left out, none is: the battery may be used down to its low cutoff at any time.
    unserved_kwh : float, optional
        Most that may stay unserved; left out, any amount [kWh].
    wear_price : float
        Wear of the battery for each kWh of ``battery_out_kwh``; it is part of the cost of the bound [currency/kWh].

    Returns
    -------
    Optimum
        The bound, or why there is none: no battery to control, or a bill without a bound. What the home leaves
        unserved in an outage whatever is done must be within ``unserved_kwh``.

    Raises
    ------
    RuntimeError
        The solver failed.
    """
    return _optimum(home, _Kept((), _reserve(home, strategy), unserved_kwh), wear_price=wear_price)


def optima(home: Home, unserved_kwh: Mapping[str, float]) -> tuple[Optimum, ...]:
    """Compute one optimum for each distinct reserve and amount of unserved energy of a home's strategies.

    Parameters
    ----------
    home : Home
        Series, prices and limits.
    unserved_kwh : mapping of str to float
        What each strategy leaves unserved, by its name [kWh].

    Returns
    -------
    tuple of Optimum
        In the order of their first strategies, each with its schedule and what its reserve costs.

    Raises
    ------
    RuntimeError
        The solver failed.
    """
    kept = _distinct(home, unserved_kwh)
    free = {each.unserved_kwh: replace(each, strategies=(), reserve=_reserve(home, None)) for each in kept}
    asked = [*kept, *(each for each in free.values() if not any(each.same(other) for other in kept))]
    with ThreadPoolExecutor(_WORKERS) as pool:  # the solver and the compiled program let go of Python's lock
        found = list(pool.map(lambda each: _optimum(home, each, scheduled=bool(each.strategies)), asked))
    without = {each.unserved_kwh: each.energy_cost for each in found if each.reserve_high <= _low(home)}
    return tuple(_with_reserve_cost(each, without[each.unserved_kwh]) for each in found[: len(kept)])


def best_schedule(home: Home, strategy: str, unserved_kwh: float | None = None) -> Year | None:
    """Return the year of the schedule with perfect foresight that costs least at a strategy's reserve.

    Parameters
    ----------
    home : Home
        Series, prices and limits.
    strategy : str
        Whose reserve is kept.
    unserved_kwh : float, optional
        Most that may stay unserved; left out, any amount [kWh].

    Returns
    -------
    Year or None
        A run of the engine; None where the bill has no bound, or no schedule serves as much.

    Raises
    ------
    RuntimeError
        The solver failed.
    """
    from solarsim.studies.optimum._bill import why_not_convex

    if home.has_grid and why_not_convex(home.rate_plan):
        return None
    kept = _Kept((strategy,), _reserve(home, strategy), unserved_kwh)
    found = _scheduled(home, kept, *_least(home, kept))
    return min(found, key=lambda each: each[0].exact_energy_cost)[1] if found else None


def free_year(home: Home, strategy: str) -> Inputs:
    """Return a home's inputs with a dispatch that keeps a strategy's reserve and has no other setting of a user.

    Parameters
    ----------
    home : Home
        Series and limits.
    strategy : str
        Whose reserve is kept; one of the home's dispatches.

    Returns
    -------
    Inputs
        The battery serves the home and is charged by the sun, under the utility's limits.
    """
    return _free_year(home, _reserve(home, strategy))


def battery_savings_share(
    energy_cost: float | None, solar_only: float, baseline: float, optimum: float | None
) -> float | None:
    """Return the share of the savings a battery could add that a year earns.

    Parameters
    ----------
    energy_cost : float or None
        Of the year [currency].
    solar_only : float
        The same home's without its battery [currency].
    baseline : float
        The same home's without any system [currency].
    optimum : float or None
        At the same reserve [currency]. All four before rounding to cents: ``Ledger.exact_energy_cost``.

    Returns
    -------
    float or None
        (solar_only - energy_cost) / (solar_only - optimum); None where the battery could save less than 1% of the
        baseline, or where a cost is not known.

    Examples
    --------
    >>> battery_savings_share(400.0, 860.0, 1790.0, 270.0)
    0.7796610169491526
    """
    if energy_cost is None or optimum is None or solar_only - optimum < max(_LEAST_SHARE * baseline, _NOTHING):
        return None
    return (solar_only - energy_cost) / (solar_only - optimum)


@dataclass(frozen=True, eq=False)
class _Kept:
    """What an optimum is bound to: the reserve of each step, 0-1, and what may stay unserved [kWh]."""

    strategies: tuple[str, ...]
    reserve: NDArray[np.float64]
    unserved_kwh: float | None

    def same(self, other: "_Kept") -> bool:
        """Return whether one optimum holds for both."""
        return self.unserved_kwh == other.unserved_kwh and np.array_equal(self.reserve, other.reserve)


def _low(home: Home) -> float:
    """Return the low cutoff as a state of charge, 0-1."""
    return home.limits.minimum_kwh / home.limits.capacity_kwh if home.limits.capacity_kwh > 0.0 else 0.0


def _reserve(home: Home, strategy: str | None) -> NDArray[np.float64]:
    """Return the reserve of each step, at least the low cutoff, 0-1."""
    if strategy is None:
        return np.full(len(home.timeline), _low(home))
    return np.maximum(home.dispatches[strategy].reserve, _low(home))


def _distinct(home: Home, unserved_kwh: Mapping[str, float]) -> list[_Kept]:
    """Return each reserve and amount of unserved energy once, with its strategies."""
    found: list[_Kept] = []
    for name, amount in unserved_kwh.items():
        one = _Kept((name,), _reserve(home, name), round(amount, _DECIMALS))
        for place, other in enumerate(found):
            if one.same(other):
                found[place] = replace(other, strategies=(*other.strategies, name))
                break
        else:
            found.append(one)
    return found


def _optimum(home: Home, kept: _Kept, scheduled: bool = False, wear_price: float = 0.0) -> Optimum:
    """Compute one optimum."""
    from solarsim.studies.optimum._bill import why_loose, why_not_convex

    low, high = float(kept.reserve.min()), float(kept.reserve.max())
    plan = home.rate_plan
    why = why_not_convex(plan) if home.has_grid else ""
    why = why if home.limits.capacity_kwh > 0.0 else "there is no battery to control"
    if why:
        return Optimum(kept.strategies, low, high, kept.unserved_kwh, None, why_none=why)
    prices = home.prices if home.has_grid else None
    year, least = _least(home, kept, wear_price)
    ledgers = _scheduled(home, kept, year, least) if scheduled else []
    cost = min((each.exact_energy_cost for each, _ in ledgers), default=None)
    loose = "" if prices is None or _export_limit_kw(home) == 0.0 else why_loose(prices)
    return Optimum(kept.strategies, low, high, kept.unserved_kwh, least.cost, cost, why_loose=loose)


def _least(home: Home, kept: _Kept, wear_price: float = 0.0) -> "tuple[Inputs, Least]":
    """Return the year that the program is free in, and its lowest cost."""
    from solarsim.studies.optimum._program import least_cost

    year, prices = _free_year(home, kept.reserve), home.prices if home.has_grid else None
    generator = home.scenario.generator_in_use
    return year, least_cost(year, prices, _export_limit_kw(home), generator, _most_kwh(kept), wear_price)


def _most_kwh(kept: _Kept) -> float:
    """Return what may stay unserved [kWh]."""
    return np.inf if kept.unserved_kwh is None else kept.unserved_kwh


def _scheduled(home: Home, kept: _Kept, year: Inputs, least: "Least") -> list[tuple[Ledger, Year]]:
    """Return the schedules that leave no more unserved than they may, with their ledgers."""
    from solarsim.studies.optimum._schedule import scheduled_years

    prices = home.prices if home.has_grid else None
    years = scheduled_years(year, prices, least, home.scenario.generator_in_use)
    ledgers = [(ledger_of(home, each), each) for each in years]
    return [each for each in ledgers if serves_as_much(each[0], _most_kwh(kept))]


def _free_year(home: Home, reserve: NDArray[np.float64]) -> Inputs:
    """Return a home's inputs with a dispatch that keeps a reserve and has no other setting of a user."""
    scenario = home.scenario
    rule = Strategy(name="optimum", surplus_to="battery", battery_serves_load=True, reserve=0.0)
    dispatch = dispatch_from(rule, scenario.grid, home.timeline)._replace(reserve=reserve)
    dispatch = dispatch if home.supply is None else with_supply(dispatch, home.supply)
    series = home.production.dc_kw, home.ac_solar_kw, home.load_kw
    return Inputs(home.limits, dispatch, home.switching, home.bank.cells, *series)


def _export_limit_kw(home: Home) -> float:
    """Return the utility's limit at the meter; a home off the grid exports nothing [kW]."""
    if not home.stays_connected:
        return 0.0
    return inf if home.scenario.grid is None else home.scenario.grid.export_limit_kw


def _with_reserve_cost(found: Optimum, without: float | None) -> Optimum:
    """Return an optimum with what its reserve costs."""
    if found.energy_cost is None or without is None:
        return found
    return replace(found, reserve_cost=max(0.0, found.energy_cost - without))
