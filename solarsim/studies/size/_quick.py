"""A life in a few computed years: a home in; the same life as ``life`` computes it, interpolated, out.

The first year is computed for every strategy, and the last for those that the first does not rank far behind. Of those
that both do not rank far behind a few years more are computed, and the rest is interpolated, see ``_between``.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import chain
from typing import Any, NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from solarsim.engine.year import HOUR_COLUMNS
from solarsim.home import Home, home_from
from solarsim.ledger.bill import bill_from
from solarsim.ledger.cash_flow import discount_factors
from solarsim.ledger.ledger import Ledger
from solarsim.ledger.payments import Payments, payments_from
from solarsim.ledger.purchase import costs_of
from solarsim.run import close_year
from solarsim.scenario.costs import Costs
from solarsim.scenario.model import Scenario
from solarsim.studies.life.ages import LaterHomes, renewal_years, sizes_of
from solarsim.studies.life.life import Life, cells_left_by_age, settings_of
from solarsim.studies.life.stages import Stage, later_homes, later_purchases, stages_from
from solarsim.studies.life.strategy_life import StrategyLife
from solarsim.studies.life.years import Rates, homes_by_year, lean, rates_of, typical_course, until_removed
from solarsim.studies.size._between import years_between

Floats = NDArray[np.float64]
#: Share of what the home without any system costs: strategies that seem to cost this much more than the best are left
#: aside. Over 36 designs of seven homes the two years never ranked the best behind another. With the last year only
#: estimated, from the first year's meters at the last year's prices, twice as far.
_FAR_BEHIND = 0.02
_ESTIMATED = 2.0
#: Kinds of charges by what makes them grow; all that is not named grows with the prices of energy.
_PARTS = ("energy", "customer_charge", "demand", "export")
_PART_OF = {"customer_charge": "customer_charge", "minimum": "customer_charge", "demand": "demand", "export": "export"}
_OFFSET = ("same_as_import", "net_metering")  # exports are worth what imports cost
_INTERPOLATED = ("energy_cost", "unserved_kwh", "unserved_h", "demand_kwh", "solar_kwh")


class YearTotals(NamedTuple):
    """What a life needs of a year, in place of its ledger."""

    energy_cost: float
    unserved_kwh: float
    unserved_h: float
    demand_kwh: float
    solar_kwh: float
    outage_cost: float | None


def quick_life(
    home: Home, baselines: tuple[Ledger, ...] | None = None, home_for: Callable[[Scenario], Home] = home_from
) -> Life:
    """Return the life of each strategy that may be the best; ``baselines`` where they are known."""
    costs, settings = costs_of(home.scenario), settings_of(home.scenario)
    stages = stages_from([home], settings, home_for=home_for)
    payments = payments_from(stages[0].purchase, costs, settings, later_purchases(stages))
    if baselines is None:
        baselines = baselines_of(home, stages)
    left = {name: cells_left_by_age(home, name) for name in home.dispatches}
    few = _Few(stages, costs, baselines, left)
    names, last = tuple(left), len(baselines) - 1
    few.compute(names, {0})
    near = _promising(few, names, few.estimated_last(), payments, settings.discount_rate, _ESTIMATED * _FAR_BEHIND)
    few.compute(near, {last})
    ends = {name: few.rows[name][last] for name in near}
    promising = _promising(few, near, ends, payments, settings.discount_rate, _FAR_BEHIND)
    found = []
    for name, years in few.lives(promising).items():
        all_years = cast(Any, until_removed(cast(Sequence[Any], years), baselines, costs))
        found.append(StrategyLife(all_years, baselines, payments, settings.discount_rate, name, left[name]))
    return Life(home, settings, costs, stages, tuple(found), None, ())


def baselines_of(home: Home, stages: Sequence[Stage] | None = None) -> tuple[Ledger, ...]:
    """Return the years of the home without any system; ``stages`` where they are known."""
    settings = settings_of(home.scenario)
    stages = stages_from([home], settings) if stages is None else stages
    course = typical_course(rates_of(settings), settings.years, (1.0,) * settings.years)
    name = next(iter(home.dispatches))
    years = homes_by_year([lean(home, name)], course, costs_of(home.scenario), later=later_homes(stages, name))
    return tuple(close_year(each, None) for each in years)


class _Few:
    """The computed years of a design's strategies."""

    def __init__(
        self,
        stages: Sequence[Stage],
        costs: Costs,
        baselines: Sequence[Ledger],
        left: dict[str, tuple[float, ...] | None],
    ) -> None:
        self.home, self.left = stages[0].homes[0], left
        self.costs, self.count = costs, len(baselines)
        self.before = np.array([each.energy_cost for each in baselines])
        self.rows: dict[str, dict[int, tuple[float, ...]]] = {name: {} for name in left}
        self._parts: dict[str, dict[int, tuple[float, ...]]] = {name: {} for name in left}
        self._first: dict[str, Ledger] = {}
        self._last: Home | None = None  # home of the last year, where all strategies share it
        self._same_home = len(stages) == 1 and len(set(left.values())) == 1
        self._rates = rates_of(settings_of(self.home.scenario))
        self._lean = _lean(self.home)
        self._later = [LaterHomes(each.from_year, [_lean(home) for home in each.homes]) for each in stages[1:]]
        modules, cells = sizes_of([LaterHomes(1, stages[0].homes), *self._later])
        lives = ((modules, costs.life_of("modules")), (cells, costs.life_of("cells")))
        replaced = (renewal_years(sizes, life, self.count) for sizes, life in lives)
        self._starts = (*(each.from_year - 1 for each in stages[1:]), *chain.from_iterable(replaced))
        self._start_soc: dict[str, float] = {}
        self._table = np.empty((len(self.home.timeline), len(HOUR_COLUMNS)))

    def compute(self, names: Sequence[str], years: Collection[int]) -> None:
        """Run strategies through some years, those of the same cells in the same homes."""
        for left in dict.fromkeys(self.left[name] for name in names):
            for year in sorted(years):
                home = self._last if self._last is not None and year == self.count - 1 else self._home(left, year)
                for name in (each for each in names if self.left[each] == left):
                    ledger = close_year(home, name, self._start_soc.get(name), self._table)
                    self._start_soc[name] = ledger.start_soc
                    self.rows[name][year] = tuple(getattr(ledger, key) for key in _INTERPOLATED)
                    self._parts[name][year] = _parts_of(ledger)
                    if year == 0:
                        self._first[name] = ledger

    def _home(self, left: tuple[float, ...] | None, year: int) -> Home:
        """Return the home of a year with cells of which so much is left by age."""
        course = typical_course(self._rates, self.count, left)
        (home,) = homes_by_year([self._lean], course, self.costs, {year}, self._later)
        return home

    def estimated_last(self) -> dict[str, tuple[float, ...]] | None:
        """Return the last year of each strategy as if its meters read what they do in the first; None where unlike.

        Dated changes, cells that wear by their use, and exports priced by the hour make the last year another one.
        """
        readings = [each.readings for each in self._first.values()]
        if not self._same_home or any(each is not None and each.earned is not None for each in readings):
            return None
        self._last = last = self._home(next(iter(self.left.values())), self.count - 1)
        found = {}
        for (name, first), meters in zip(self._first.items(), readings, strict=True):
            bill = 0.0 if meters is None else float(bill_from(meters, last.prices).total)
            found[name] = (bill + first.fuel_cost, *self.rows[name][0][1:])
        return found

    def lives(self, names: Sequence[str]) -> dict[str, tuple[YearTotals, ...]]:
        """Return every year of some strategies; those that agree in all that is computed so far run once."""
        first = {name: next(each for each in names if self._agree(each, name)) for name in names}
        pace, found = abs(self._rates.load_growth) + self._rates.battery_fade, {}
        for left in dict.fromkeys(self.left[name] for name in names):
            life = self.costs.life_of("cells") or self.count
            bent = None if left is None else tuple(left[year % life] for year in range(self.count))
            years = years_between(self._starts, self.count, bent, pace)
            alike = [name for name in dict.fromkeys(first.values()) if self.left[name] == left]
            self.compute(alike, set(years.computed) - {0, self.count - 1})
            for name in alike:
                found[name] = self._every_year(name, list(years.computed), years.matrix)
        return {name: found[first[name]] for name in names}

    def _agree(self, one: str, other: str) -> bool:
        """Return whether two strategies do the same in this home: without a battery most do."""
        return self.rows[one] == self.rows[other] and self.left[one] == self.left[other]

    def _every_year(self, name: str, computed: list[int], matrix: Floats) -> tuple[YearTotals, ...]:
        """Return every year of a strategy from its computed ones."""
        rows = np.array([self.rows[name][year] for year in computed])
        parts = np.array([self._parts[name][year] for year in computed])
        growth = _growth_of_parts(self._rates, self.home.scenario.rate_plan.export.pay in _OFFSET, self.count)
        totals = matrix @ rows
        totals[:, 0] = (growth * (matrix @ (parts / growth[computed]))).sum(axis=1)
        totals[:, 1:] = np.maximum(0.0, totals[:, 1:])
        totals[computed] = rows
        value = self.home.scenario.value_of_lost_load
        return tuple(
            YearTotals(energy, kwh, hours, demand, solar, None if value is None else value * kwh)
            for energy, kwh, hours, demand, solar in totals.tolist()
        )


def _parts_of(ledger: Ledger) -> tuple[float, ...]:
    """Return the parts of a year's energy cost that grow each by a rate of their own [currency]."""
    cents = dict.fromkeys(_PARTS, 0)
    for charges in ledger.bill.charges:
        cents[_PART_OF.get(charges.kind, "energy")] += int(charges.cents.sum())
    return (*(each / 100.0 for each in cents.values()), ledger.fuel_cost)


@lru_cache(maxsize=16)
def _growth_of_parts(rates: Rates, exports_offset: bool, years: int) -> Floats:
    """Return by what prices and load made each part grow in every year (down): the kinds of ``_PARTS``, and fuel."""
    year = np.arange(years, dtype=np.float64)[:, None]
    prices = (rates.energy, rates.customer_charge, rates.demand, rates.energy if exports_offset else rates.export, 0.0)
    load = np.array([rates.load_growth, 0.0, rates.load_growth, 0.0, rates.load_growth])
    return np.asarray(((1.0 + np.array(prices)) * (1.0 + load)) ** year, np.float64)


def _promising(
    few: _Few,
    names: tuple[str, ...],
    last: dict[str, tuple[float, ...]] | None,
    payments: Payments,
    rate: float,
    far_behind: float,
) -> tuple[str, ...]:
    """Return the strategies that may be the best, by a straight line from the first to the last year."""
    if last is None:
        return names
    value = few.home.scenario.value_of_lost_load
    ends = np.array([[few.rows[name][0], last[name]] for name in names])
    unserved = ends[:, :, 1]
    if few.before.min() <= 0.0 or (value is None and np.ptp(unserved, axis=0).max() > 0.0):
        return names  # no share of it is known; or darkness decides, which is no matter of a few percent
    contract = few.costs.contract
    with_system = few.count if contract is None else contract.years_with_system(few.count)
    along = np.linspace(0.0, 1.0, few.count)[:with_system]
    factors = discount_factors(rate, few.count)[1 : with_system + 1]

    def worth(at_ends: Floats, weights: Floats) -> Floats:
        """Return the sum over the years of what the ends say, for each strategy."""
        lines = at_ends[:, :1] * (1.0 - along) + at_ends[:, 1:] * along
        return np.asarray(lines @ weights, np.float64)

    before = few.before[:with_system]
    costs = worth(ends[:, :, 0] / few.before[[0, -1]], factors * before)
    costs += worth(ends[:, :, 4], factors * payments.solar_price[1 : with_system + 1])
    costs += worth(unserved, factors * (value or 0.0))
    limit = costs.min() + far_behind * float(factors @ before)
    return tuple(name for name, cost in zip(names, costs.tolist(), strict=True) if cost <= limit)


def _lean(home: Home) -> Home:
    """Return a home without power by array, faster to make later."""
    return replace(home, production=replace(home.production, array_kw={}, roof=None))
