"""A life year by year: a home in; the best strategy, as ``life`` finds it, and those that may be better, out."""

from collections.abc import Callable

from solarsim.home import Home
from solarsim.ledger.ledger import Ledger
from solarsim.scenario.model import Scenario
from solarsim.studies.life.life import Life, life, outages_worth
from solarsim.studies.life.strategy_life import StrategyLife
from solarsim.studies.life.system import system_from
from solarsim.studies.life.years import rates_of, typical_course
from solarsim.studies.size._quick import quick_life
from solarsim.studies.size.design import tie

_OFF = 2.0  # times the error of one interpolated life: either of two may be off


def exact_life(home: Home, baselines: tuple[Ledger, ...] | None, home_for: Callable[[Scenario], Home]) -> Life:
    """Return the life whose best strategy is that of ``life``: the others are run only where they may be better."""
    quick = quick_life(home, baselines, home_for)
    best = quick.best
    valued = home.scenario.value_of_lost_load is not None
    if best is None or best.npv is None or not (valued or all(each.unserved_kwh == 0.0 for each in quick.strategies)):
        return life(home.scenario, None, home)  # darkness decides
    least = _rank(best) - _OFF * tie(best.npv, quick.upfront_cost)
    found: list[StrategyLife] = []
    for each in quick.strategies:
        if _rank(each) >= least:
            course = typical_course(rates_of(quick.settings), quick.settings.years, each.cells_left)
            system = system_from(quick.stages, each.name, quick.costs, quick.settings)
            found.append(system.life(course, each.baselines))
    return Life(home, quick.settings, quick.costs, quick.stages, tuple(found), None, ())


def _rank(each: StrategyLife) -> float:
    """Return by what ``Life.best`` ranks a strategy [currency]."""
    return (each.npv or 0.0) - outages_worth(each)
