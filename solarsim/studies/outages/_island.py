"""A home without the grid: a home and a strategy in; how long it stays supplied from each start of the year, out.

The grid fails at the start of every step, each time with the energy that a year without outages has stored then. The
load is the same as with the grid. The sun is that of the typical year: the days after a storm may have less. The
transfer comes before, and is not included.
"""

from dataclasses import dataclass, replace
from math import nan

import numpy as np
from numpy.typing import NDArray

from solarsim.dispatch.strategy import dispatch_from
from solarsim.dispatch.supply import islanded, with_supply
from solarsim.engine.records import Dispatch, Hour, Inputs, State
from solarsim.engine.step import run_outages
from solarsim.errors import ScenarioError
from solarsim.hardware.limits import switching_from
from solarsim.home import Home
from solarsim.ledger.ledger import Ledger
from solarsim.run import close_year
from solarsim.scenario.backup.backup import Arrangement
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import ARRANGEMENT, require
from solarsim.scenario.strategy import Strategy

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
HOURS = (1, 2, 4, 8, 12, 24, 48, 72)
_SURELY_H = 1e-6


@dataclass(frozen=True, eq=False)
class Island:
    """A home under one strategy, whose grid can fail at any step."""

    home: Home  # without outages of its own
    dispatch: Dispatch  # the strategy's, without the grid in every step
    stored_kwh: Floats  # at the start of each step
    ledger: Ledger  # of the year without outages

    @property
    def more_than_critical_kw(self) -> Floats:
        """Backed-up demand that is shed before anything critical, in each step [kW]."""
        return np.maximum(0.0, self.dispatch.backed_kw - self.home.critical_kw - standby_of(self.home))

    def lose_grid(self, starts: Ints, steps: int, to_the_end: bool = True) -> tuple[Floats, Floats, Ints]:
        """Return how long each outage is fully served [h], what is unserved until each step [kWh], and why in it.

        One entry or row for each step in ``starts``, at whose start the grid fails. Not to the end: zeros follow the
        first step that leaves some unserved.
        """
        home = self.home
        duration_h, unserved_kwh = np.empty(starts.size), np.zeros((starts.size, steps))
        why = np.zeros((starts.size, steps), np.int64)
        begin = State(nan, fuel_l=home.switching.tank_liters)
        # An inverter that cannot run without the grid stops, and its arrays with it.
        none = np.zeros_like(home.load_kw)
        pv_kw, ac_kw = (home.production.dc_kw, home.ac_solar_kw) if can_island(home) else (none, none)
        inputs = Inputs(home.limits, self.dispatch, home.switching, home.bank.cells, pv_kw, ac_kw, home.load_kw)
        run_outages(inputs, starts, self.stored_kwh, begin, duration_h, unserved_kwh, why, to_the_end)
        return duration_h, unserved_kwh, why


@dataclass(frozen=True, eq=False)
class Backup:
    """How long a home stays supplied, from each start of the year."""

    duration_h: Floats  # at most that of the longest outage that was simulated
    month: Ints  # of the start, 1 to 12
    why: Ints  # the first demand is unserved: reasons of the engine, added

    def covered(self, hours: float, month: int | None = None) -> float:
        """Return the share of outages of so many hours that are served to the end, 0-1."""
        return float((self._of(month) >= hours - _SURELY_H).mean())

    def lowest_in(self, share: float, month: int | None = None) -> float:
        """Return the duration that this share of the starts reaches or exceeds; 1 is the shortest of all [h]."""
        return float(np.quantile(self._of(month), 1.0 - share, method="inverted_cdf"))

    def _of(self, month: int | None) -> Floats:
        return self.duration_h if month is None else self.duration_h[self.month == month]


def island_of(home: Home, strategy: str) -> Island:
    """Return the home after a year without outages, whose stored energy is known at every step."""
    home = without_outages(home)
    table = np.empty((len(home.timeline), len(Hour._fields)))
    ledger = close_year(home, strategy, table=table)
    stored_kwh = np.concatenate([[ledger.start_soc * home.limits.capacity_kwh], table[:-1, -1]])
    dispatch = home.dispatches[strategy] if home.supply is None else islanded(home.dispatches[strategy], home.supply)
    if not can_island(home):
        dispatch = dispatch._replace(backed_kw=home.load_kw + standby_of(home))
    return Island(home, dispatch, stored_kwh, ledger)


def backup_of(island: Island, hours: int = HOURS[-1]) -> Backup:
    """Simulate one outage per step of the year, each from the energy stored at its start."""
    timeline = island.home.timeline
    duration_h, _, why = island.lose_grid(np.arange(len(timeline)), round(hours / timeline.step_h), False)
    return Backup(duration_h, timeline.month, _first(why))


def _first(why: Ints) -> Ints:
    """Return the first reason in each row; 0 where there is none."""
    return np.asarray(why[np.arange(len(why)), (why > 0).argmax(axis=1)])


def arrangement_of(scenario: Scenario) -> Arrangement:
    """Return how a home is connected to the grid."""
    require(scenario, ARRANGEMENT)
    assert scenario.arrangement is not None  # noqa: S101  # for the type checker: require refuses
    return scenario.arrangement


def can_island(home: Home) -> bool:
    """Return whether anything is served while the grid is out; a grid-tied home stops with it."""
    return home.scenario.arrangement is not None and home.scenario.arrangement.islands


def standby_of(home: Home) -> Floats:
    """Return the standby of the inverter and the battery heater in each step [kW]."""
    return home.limits.standby_kw + home.bank.cells.heater_kw


def without_outages(home: Home) -> Home:
    """Return the same home in a year in which its grid never fails."""
    if not arrangement_of(home.scenario).has_grid:
        raise ScenarioError(home.scenario.problem("arrangement.grid is 'none': there is no grid that could fail"))
    if home.supply is None:
        return home
    supply = replace(home.supply, grid=np.ones_like(home.supply.grid), transfer_kw=home.supply.backed_kw)
    return replace(
        home,
        supply=supply,
        dispatches={name: with_supply(dispatch, supply) for name, dispatch in home.dispatches.items()},
    )


def without_generator(home: Home) -> Home:
    """Return the same home without its generator."""
    scenario = home.scenario.changed({"generator": None})
    return replace(
        home, scenario=scenario, switching=switching_from(scenario.arrangement, None, scenario.battery_in_use)
    )


def keeping(home: Home, strategy: str, reserve: float, lowers: bool = True) -> tuple[Home, bool]:
    """Return the same home with one strategy that has this reserve throughout, and whether some setting keeps less.

    Settings that keep more than this are lowered to it, or left as they are.
    """
    scenario = home.scenario
    changed, held = with_reserve(scenario.strategy(strategy), reserve, lowers)
    dispatch = dispatch_from(changed, scenario.grid, home.timeline, scenario.battery_v)
    dispatch = dispatch if home.supply is None else with_supply(dispatch, home.supply)
    alone = scenario.changed({"strategies": (changed,), "production_log": None})
    return replace(home, scenario=alone, dispatches={strategy: dispatch}), held


def with_reserve(strategy: Strategy, reserve: float, lowers: bool = True) -> tuple[Strategy, bool]:
    """Return a strategy with this reserve, less where a setting keeps less, and whether one does.

    It is never below the strategy's floor off the grid, which an outage would leave in the battery anyway.
    """
    *in_windows, base = strategy.settings()
    settings = [base, *in_windows]
    wanted = [reserve if lowers else max(reserve, now.reserve) for now in settings]
    kept = [
        max(now.off_grid_floor, min(level, now.solar_ceiling, now.sell_down_to))
        for level, now in zip(wanted, settings, strict=True)
    ]
    windows = tuple(
        window.model_copy(update={"reserve": level}) for window, level in zip(strategy.windows, kept[1:], strict=True)
    )
    return strategy.model_copy(update={"reserve": kept[0], "windows": windows}), min(kept) < reserve
