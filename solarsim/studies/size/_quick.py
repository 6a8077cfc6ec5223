"""A life in a few computed years: a home in; the same life as ``life`` computes it, interpolated, out.

What a year saves, as a share of what the home without any system costs in it, changes smoothly from year to year, but
for the years in which modules or cells are as new again. Between those, a few years are computed, and a polynomial
through them (with the capacity of the cells as a further term where a model of aging bends it) gives the others.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
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
from solarsim.studies.life.years import LaterHomes, homes_by_year, lean, rates_of, typical_course, until_removed

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
    if baselines is None:
        baselines = baselines_of(home, stages)
    names = tuple(home.dispatches)
    left = {name: cells_left_by_age(home, name) for name in names}
    # Where no model of aging tells the strategies apart, they share the homes of later years.
    together = [names] if not any(left.values()) else [(name,) for name in names]
    years = {
        name: each
        for some in together
        for name, each in _years_of(stages, some, left[some[0]], costs, baselines).items()
    }
    found = tuple(
        StrategyLife(
            cast(Any, until_removed(cast(Sequence[Any], years[name]), baselines, costs)),
            baselines,
            payments,
            settings.discount_rate,
            name,
            left[name],
        )
        for name in names
    )
    return Life(home, settings, costs, stages, found, None, ())


def baselines_of(home: Home, stages: Sequence[Stage] | None = None) -> tuple[Ledger, ...]:
    """Return the years of the home without any system; ``stages`` where they are known."""
    settings = settings_of(home.scenario)
    stages = stages_from([home], settings) if stages is None else stages
    course = typical_course(rates_of(settings), settings.years, (1.0,) * settings.years)
    name = next(iter(home.dispatches))
    years = homes_by_year([lean(home, name)], course, costs_of(home.scenario), later=later_homes(stages, name))
    return tuple(close_year(each, None) for each in years)


def _years_of(
    stages: Sequence[Stage],
    strategies: tuple[str, ...],
    left: tuple[float, ...] | None,
    costs: Costs,
    baselines: Sequence[Ledger],
) -> dict[str, tuple[YearTotals, ...]]:
    """Return every year of some strategies' lives, most of them interpolated."""
    home, count = stages[0].homes[0], len(baselines)
    course = typical_course(rates_of(settings_of(home.scenario)), count, left)
    changed = [each.from_year - 1 for each in stages[1:]]
    segments = _segments(count, [costs.life_of("modules"), costs.life_of("cells")], changed)
    nodes = [_nodes(first, last, left is not None) for first, last in segments]
    computed = [year for each in nodes for year in each]
    homes = homes_by_year([_lean(home)], course, costs, computed, _later(stages))
    table = np.empty((len(home.timeline), len(HOUR_COLUMNS)))
    known: dict[str, list[list[float]]] = {name: [] for name in strategies}
    start_soc: dict[str, float | None] = dict.fromkeys(strategies)
    for each in homes:
        for name in strategies:
            ledger = close_year(each, name, start_soc[name], table)
            start_soc[name] = ledger.start_soc
            known[name].append([getattr(ledger, key) for key in _INTERPOLATED])
    before = np.array([each.energy_cost for each in baselines])
    scale = np.ones((count, len(_INTERPOLATED)))
    if before.min() > 0.0:
        scale[:, 0] = before
    through = _through(segments, nodes, left, costs.life_of("cells"))
    value = home.scenario.value_of_lost_load
    found = {}
    for name, rows in known.items():
        totals = scale * (through @ (np.array(rows) / scale[computed]))
        totals[computed] = rows
        found[name] = tuple(
            YearTotals(energy, kwh, hours, demand, solar, None if value is None else value * kwh)
            for energy, kwh, hours, demand, solar in totals.tolist()
        )
    return found


def _lean(home: Home) -> Home:
    """Return a home without power by array, faster to make later."""
    return replace(home, production=replace(home.production, array_kw={}, roof=None))


def _later(stages: Sequence[Stage]) -> list[LaterHomes]:
    """Return the homes after dated changes, with every strategy."""
    return [LaterHomes(each.from_year, [_lean(home) for home in each.homes]) for each in stages[1:]]


def _segments(count: int, lives: Sequence[int | None], changed: Sequence[int]) -> list[tuple[int, int]]:
    """Return first and last year of each stretch in which nothing is replaced or changed."""
    starts = {0, *changed} | {year for life in lives if life for year in range(life, count, life)}
    return [(first, after - 1) for first, after in pairwise([*sorted(starts), count])]


def _nodes(first: int, last: int, bent: bool) -> list[int]:
    """Return the years of a stretch that are computed: its ends, and enough between them."""
    gaps = max(1, -(-(last - first) // _LONGEST_GAP)) + (1 if bent else 0)
    return sorted({round(year) for year in np.linspace(first, last, gaps + 1)})


def _through(
    segments: Sequence[tuple[int, int]], nodes: Sequence[list[int]], left: tuple[float, ...] | None, life: int | None
) -> Floats:
    """Return the matrix that makes every year (down) of the computed years (across), stretch by stretch."""
    matrix = np.zeros((segments[-1][1] + 1, sum(map(len, nodes))))
    across = 0
    for (first, last), years in zip(segments, nodes, strict=True):
        whole = np.arange(first, last + 1)
        x = (whole - first) / max(1, last - first)
        terms = [np.ones(whole.size), x]
        if left is not None:
            terms.append(np.asarray(left)[whole % life if life else whole])
        terms += [x**2, x**3, x**4]
        basis = np.stack(terms[: len(years)], axis=1)
        matrix[first : last + 1, across : across + len(years)] = basis @ np.linalg.pinv(basis[np.array(years) - first])
        across += len(years)
    return matrix
