"""A life in a few computed years: a home in; the same life as ``life`` computes it, interpolated, out.

What a year saves, as a share of what the home without any system costs in it, changes smoothly from year to year, but
for the years in which modules or cells are as new again. Between those, a few years are computed, and a polynomial
through them (with the capacity of the cells as a further term where a model of aging bends it) gives the others.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any, NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from solarsim.engine.year import HOUR_COLUMNS
from solarsim.home import Home, home_from
from solarsim.ledger.ledger import Ledger
from solarsim.ledger.payments import payments_from
from solarsim.ledger.purchase import costs_of
from solarsim.run import close_year
from solarsim.scenario.costs import Costs
from solarsim.scenario.model import Scenario
from solarsim.studies.life.life import Life, cells_left_by_age, settings_of
from solarsim.studies.life.stages import Stage, later_homes, later_purchases, stages_from
from solarsim.studies.life.strategy_life import StrategyLife
from solarsim.studies.life.years import Course, homes_by_year, lean, rates_of, typical_course, until_removed

Floats = NDArray[np.float64]
_LONGEST_GAP = 8  # years from one computed year to the next
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
    """Return the life of every strategy from a few computed years; ``baselines`` where they are known."""
    costs, settings = costs_of(home.scenario), settings_of(home.scenario)
    stages = stages_from([home], settings, home_for=home_for)
    payments = payments_from(stages[0].purchase, costs, settings, later_purchases(stages))
    table = np.empty((len(home.timeline), len(HOUR_COLUMNS)))
    if baselines is None:
        baselines = baselines_of(home, stages)
    found = []
    for name in home.dispatches:
        left = cells_left_by_age(home, name)
        course = typical_course(rates_of(settings), settings.years, left)
        years = _years_of(stages, name, course, costs, baselines, table)
        lived = cast(Any, until_removed(cast(Sequence[Any], years), baselines, costs))
        found.append(StrategyLife(lived, baselines, payments, settings.discount_rate, name, left))
    return Life(home, settings, costs, stages, tuple(found), None, ())


def baselines_of(home: Home, stages: Sequence[Stage] | None = None) -> tuple[Ledger, ...]:
    """Return the years of the home without any system; ``stages`` where they are known."""
    settings = settings_of(home.scenario)
    stages = stages_from([home], settings) if stages is None else stages
    course = typical_course(rates_of(settings), settings.years, (1.0,) * settings.years)
    name = next(iter(home.dispatches))
    years = homes_by_year([lean(home, name)], course, costs_of(home.scenario), later=later_homes(stages, name))
    return tuple(close_year(each, None) for each in years)


def _years_of(
    stages: Sequence[Stage], strategy: str, course: Course, costs: Costs, baselines: Sequence[Ledger], table: Floats
) -> tuple[YearTotals, ...]:
    """Return every year of a strategy's life, most of them interpolated."""
    home, count = stages[0].homes[0], len(baselines)
    chosen: dict[int, Ledger] = {}
    changed = [each.from_year - 1 for each in stages[1:]]
    segments = _segments(count, [costs.life_of("modules"), costs.life_of("cells")], changed)
    nodes = [_nodes(first, last, course.cells_left is not None) for first, last in segments]
    computed = [year for each in nodes for year in each]
    start_soc = None
    homes = homes_by_year([lean(home, strategy)], course, costs, computed, later_homes(stages, strategy))
    for year, each in zip(computed, homes, strict=True):
        chosen[year] = close_year(each, strategy, start_soc, table)
        start_soc = chosen[year].start_soc
    columns = {key: np.empty(count) for key in _INTERPOLATED}
    before = np.array([each.energy_cost for each in baselines])
    scale = before if before.min() > 0.0 else np.ones(count)
    for (first, last), years in zip(segments, nodes, strict=True):
        whole = np.arange(first, last + 1)
        for key, column in columns.items():
            values = np.array([getattr(chosen[year], key) for year in years])
            by = scale if key == "energy_cost" else np.ones(count)
            column[whole] = by[whole] * _through(years, values / by[years], whole, course.cells_left, costs)
        for year in years:  # computed years are exact
            for key, column in columns.items():
                column[year] = getattr(chosen[year], key)
    value = home.scenario.value_of_lost_load
    return tuple(
        YearTotals(
            energy_cost=float(columns["energy_cost"][year]),
            unserved_kwh=float(columns["unserved_kwh"][year]),
            unserved_h=float(columns["unserved_h"][year]),
            demand_kwh=float(columns["demand_kwh"][year]),
            solar_kwh=float(columns["solar_kwh"][year]),
            outage_cost=None if value is None else value * float(columns["unserved_kwh"][year]),
        )
        for year in range(count)
    )


def _segments(count: int, lives: Sequence[int | None], changed: Sequence[int]) -> list[tuple[int, int]]:
    """Return first and last year of each stretch in which nothing is replaced or changed."""
    starts = {0, *changed} | {year for life in lives if life for year in range(life, count, life)}
    return [(first, after - 1) for first, after in pairwise([*sorted(starts), count])]


def _nodes(first: int, last: int, bent: bool) -> list[int]:
    """Return the years of a stretch that are computed: its ends, and enough between them."""
    gaps = max(1, -(-(last - first) // _LONGEST_GAP)) + (1 if bent else 0)
    return sorted({round(year) for year in np.linspace(first, last, gaps + 1)})


def _through(
    years: Sequence[int], values: Floats, whole: NDArray[np.int64], cells_left: tuple[float, ...] | None, costs: Costs
) -> Floats:
    """Return a smooth curve through the values of computed years, at every year of a stretch."""
    span = max(1, int(whole[-1] - whole[0]))
    x = (whole - whole[0]) / span
    terms = [np.ones(whole.size), x]
    if cells_left is not None:
        life = costs.life_of("cells")
        age = whole % life if life else whole
        terms.append(np.asarray(cells_left)[age])
    terms += [x**2, x**3, x**4]
    basis = np.stack(terms[: len(years)], axis=1)
    weights = np.linalg.lstsq(basis[np.asarray(years) - whole[0]], values, rcond=None)[0]
    return np.asarray(basis @ weights, np.float64)
