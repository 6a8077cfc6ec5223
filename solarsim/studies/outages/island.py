"""Through an outage: a home and a strategy in, for how long each start of the year is ridden through out.

The grid fails at the start of every step, each time from the energy that a year without outages has stored
then. The load is the same as with the grid: nobody saves. The sun is that of the typical year: the days after a
storm may have less. The transfer lies before the island stands, and is not counted.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from solarsim.dispatch.strategy import dispatch_from
from solarsim.dispatch.supply import islanded, with_supply
from solarsim.engine.records import Dispatch, Hour, Inputs
from solarsim.engine.step import run_outages
from solarsim.errors import ScenarioError
from solarsim.hardware.limits import switching_from
from solarsim.home import Home
from solarsim.load.shapes import SEASONS, season_of
from solarsim.run import close_year
from solarsim.scenario.backup.backup import Arrangement
from solarsim.scenario.model import Scenario
from solarsim.scenario.strategy import Strategy

Floats = NDArray[np.float64]
HOURS = (1, 2, 4, 8, 12, 24, 48, 72)
_SURELY_H = 1e-6


@dataclass(frozen=True, eq=False)
class Island:
    """A home under one strategy, ready to lose the grid at any step.

    Attributes
    ----------
    home : Home
        Without outages of its own.
    dispatch : Dispatch
        The strategy's, without the grid in every step.
    stored_kwh : array of float
        At the start of each step [kWh].
    annual_bill : float
        Of the year without outages, a generator's fuel included [currency].
    """

    home: Home
    dispatch: Dispatch
    stored_kwh: Floats
    annual_bill: float

    @property
    def more_than_critical_kw(self) -> Floats:
        """What of the backed up demand is shed before anything critical, in each step [kW]."""
        return np.maximum(0.0, self.dispatch.backed_kw - self.home.critical_kw - standby_of(self.home))

    def lose_grid(self, starts: NDArray[np.int64], steps: int) -> tuple[Floats, Floats]:
        """Let the grid fail.

        Parameters
        ----------
        starts : array of int
            The steps at whose start it fails.
        steps : int
            For how many steps.

        Returns
        -------
        lasted_h : array of float
            How long all that is backed up was served, one entry for each start [h].
        unserved_kwh : array of float
            What of it was not, from the start until the end of each step; one row for each start [kWh].
        """
        home = self.home
        lasted_h, unserved_kwh = np.empty(starts.size), np.empty((starts.size, steps))
        # An inverter without an island of its own stops: no sun either.
        dark = np.zeros_like(home.load_kw)
        pv_kw, ac_kw = (home.production.dc_kw, home.ac_solar_kw) if can_island(home) else (dark, dark)
        inputs = Inputs(home.limits, self.dispatch, home.switching, home.bank.cells, pv_kw, ac_kw, home.load_kw)
        run_outages(inputs, starts, self.stored_kwh, lasted_h, unserved_kwh)
        return lasted_h, unserved_kwh


@dataclass(frozen=True, eq=False)
class Survival:
    """How long outages of the year are ridden through.

    Attributes
    ----------
    lasted_h : array of float
        How long all that is backed up was served, one entry for each start, at most the longest outage [h].
    season : array of int
        Of each start, an index into ``load.shapes.SEASONS``.
    """

    lasted_h: Floats
    season: NDArray[np.int64]

    def share(self, hours: float) -> float:
        """Give the share of starts from which an outage of so many hours is ridden through, 0-1."""
        return float((self.lasted_h >= hours - _SURELY_H).mean())

    def share_by_season(self, hours: float) -> dict[str, float]:
        """Give the same share of the starts of each season, 0-1."""
        through = self.lasted_h >= hours - _SURELY_H
        return {name: float(through[self.season == number].mean()) for number, name in enumerate(SEASONS)}


def island_of(home: Home, strategy: str) -> Island:
    """Run a strategy's year without outages, to know what is stored when the grid fails.

    Parameters
    ----------
    home : Home
        With an arrangement; outages of its own are taken out.
    strategy : str
        The name of one of its strategies.

    Returns
    -------
    Island
        Ready to lose the grid.

    Raises
    ------
    ScenarioError
        The scenario has no arrangement, or no grid that could fail.
    KeyError
        The home has no such strategy.
    """
    home = without_outages(home)
    table = np.empty((len(home.timeline), len(Hour._fields)))
    ledger = close_year(home, strategy, table=table)
    stored_kwh = np.concatenate([[ledger.start_soc * home.limits.capacity_kwh], table[:-1, -1]])
    dispatch = home.dispatches[strategy] if home.supply is None else islanded(home.dispatches[strategy], home.supply)
    if not can_island(home):
        dispatch = dispatch._replace(backed_kw=home.load_kw + standby_of(home))
    return Island(home, dispatch, stored_kwh, ledger.annual_bill)


def survival_of(island: Island, hours: int = HOURS[-1]) -> Survival:
    """Let the grid fail at every step of the year.

    Parameters
    ----------
    island : Island
        Home and strategy.
    hours : int
        The longest outage that is asked for [h].

    Returns
    -------
    Survival
        From every start.
    """
    timeline = island.home.timeline
    lasted_h, _ = island.lose_grid(np.arange(len(timeline)), round(hours / timeline.step_h))
    return Survival(lasted_h, season_of(timeline.month, island.home.weather.latitude_deg))


def arrangement_of(scenario: Scenario) -> Arrangement:
    """Tell how a home stands to its grid.

    Parameters
    ----------
    scenario : Scenario
        With or without an arrangement.

    Returns
    -------
    Arrangement
        The scenario's.

    Raises
    ------
    ScenarioError
        It has none, or no grid that could fail.
    """
    if scenario.arrangement is None:
        raise ScenarioError(
            scenario.problem(
                "does not say how the home stands to the grid: add a table [arrangement] with a kind"
                " (grid_tied, hybrid or off_grid)"
            )
        )
    if not scenario.arrangement.has_grid:
        raise ScenarioError(
            scenario.problem(
                "arrangement.grid is 'none': there is no grid that could fail; solarsim compare tells what of the year"
                " is not served and what a generator does"
            )
        )
    return scenario.arrangement


def can_island(home: Home) -> bool:
    """Say whether anything is served while the grid is out: grid-tied homes stop with it."""
    return home.scenario.arrangement is not None and home.scenario.arrangement.islands


def standby_of(home: Home) -> Floats:
    """Give the inverter's standby and what the battery's heater takes, in each step [kW]."""
    return home.limits.standby_kw + home.bank.cells.heater_kw


def without_outages(home: Home) -> Home:
    """Give the same home in a year in which its grid never fails.

    Parameters
    ----------
    home : Home
        With an arrangement.

    Returns
    -------
    Home
        With dispatches of its own.

    Raises
    ------
    ScenarioError
        The scenario has no arrangement, or no grid that could fail.
    """
    arrangement_of(home.scenario)
    if home.supply is None:
        return home
    supply = replace(home.supply, grid=np.ones_like(home.supply.grid), transfer_kw=home.supply.backed_kw)
    return replace(
        home,
        supply=supply,
        dispatches={name: with_supply(dispatch, supply) for name, dispatch in home.dispatches.items()},
    )


def without_generator(home: Home) -> Home:
    """Give the same home without its generator.

    Parameters
    ----------
    home : Home
        With or without one.

    Returns
    -------
    Home
        Without.
    """
    scenario = home.scenario.changed({"generator": None})
    return replace(home, scenario=scenario, switching=switching_from(scenario.arrangement, None))


def keeping(home: Home, strategy: str, reserve: float) -> tuple[Home, bool]:
    """Give the same home with one strategy's reserve changed, in its base settings and in every window.

    Parameters
    ----------
    home : Home
        From ``home_from``.
    strategy : str
        The name of one of its strategies.
    reserve : float
        What it keeps, 0-1; where it sells down to less, or lets the sun charge to less, no more than that.

    Returns
    -------
    home : Home
        With that strategy alone.
    held : bool
        Whether some setting keeps the reserve below what was asked.
    """
    scenario = home.scenario
    changed, held = with_reserve(scenario.strategy(strategy), reserve)
    dispatch = dispatch_from(changed, scenario.grid, home.timeline)
    dispatch = dispatch if home.supply is None else with_supply(dispatch, home.supply)
    alone = scenario.changed({"strategies": (changed,), "production_log": None})
    return replace(home, scenario=alone, dispatches={strategy: dispatch}), held


def with_reserve(strategy: Strategy, reserve: float) -> tuple[Strategy, bool]:
    """Change what a strategy keeps for outages.

    Parameters
    ----------
    strategy : Strategy
        Base settings and windows; all other levels stay.
    reserve : float
        The new one, 0-1.

    Returns
    -------
    strategy : Strategy
        With its levels still in order.
    held : bool
        Whether some setting keeps the reserve below what was asked.
    """
    settings = [strategy, *(strategy.in_window(window) for window in strategy.windows)]
    kept = [min(reserve, now.solar_ceiling, now.sell_down_to) for now in settings]
    windows = tuple(
        window.model_copy(update={"reserve": level}) for window, level in zip(strategy.windows, kept[1:], strict=True)
    )
    return strategy.model_copy(update={"reserve": kept[0], "windows": windows}), min(kept) < reserve
