"""One run: a home and a strategy in, flows and ledger out."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.dispatch.strategy import dispatch_from
from solarsim.engine.records import GRID_ALONE, Inputs, cells_at_ease
from solarsim.engine.year import run_year
from solarsim.hardware.limits import limits_from
from solarsim.home import Home, home_of
from solarsim.ledger.flows import Flows, flows_from_year, flows_without_system
from solarsim.ledger.ledger import Ledger, ledger_from
from solarsim.ledger.year_sums import YearSums, sums_from, sums_without_system
from solarsim.scenario.model import Scenario
from solarsim.scenario.strategy import Strategy

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, eq=False)
class Run:
    """One strategy's year.

    Attributes
    ----------
    strategy : str
        Its name; empty for the home without any system.
    flows : Flows
        Every step.
    ledger : Ledger
        The year in kWh and money.
    year_gap_kwh : float
        Stored energy at the year's end less at its start [kWh].
    """

    strategy: str
    flows: Flows
    ledger: Ledger
    year_gap_kwh: float

    def hourly(self) -> "pd.DataFrame":
        """Give the hourly table, indexed by the start of each step."""
        return self.flows.table()

    def monthly(self) -> "pd.DataFrame":
        """Give kWh and bill by month."""
        return self.ledger.monthly()


def simulate(scenario: Scenario, strategy: str, home: Home | None = None) -> Run:
    """Run one strategy through the year.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    strategy : str
        The name of one of its strategies.
    home : Home, optional
        From ``home_from`` of this scenario, where several strategies are run.

    Returns
    -------
    Run
        Flows and ledger.

    Raises
    ------
    InputError
        See ``home_from``; or the strategy is not in the scenario.
    ValueError
        See ``home_of``.
    """
    chosen = scenario.strategy(strategy)
    home = home_of(scenario, home)
    return _run(chosen.name, home.inputs(chosen.name), home)


def without_system(scenario: Scenario, home: Home | None = None) -> Run:
    """Run the home without any system: the grid serves all of its load.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    home : Home, optional
        From ``home_from``.

    Returns
    -------
    Run
        The baseline of all savings.

    Raises
    ------
    InputError
        See ``home_from``.
    ValueError
        See ``home_of``.
    """
    home = home_of(scenario, home)
    flows = flows_without_system(home.timeline, home.prices, home.load_kw, home.grid_without_system)
    return Run("", flows, ledger_from(flows, home.rate_plan, home.prices), 0.0)


def without_battery(scenario: Scenario, home: Home | None = None) -> Run:
    """Run the home with its arrays and inverter but no battery: the sun serves the home, the rest is sold.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    home : Home, optional
        From ``home_from``.

    Returns
    -------
    Run
        What solar alone earns, under the utility's export limit only.

    Raises
    ------
    InputError
        See ``home_from``.
    ValueError
        See ``home_of``.
    """
    home = home_of(scenario, home)
    limits = limits_from(scenario.inverter, None, home.timeline.step_h)
    cells = cells_at_ease(limits, len(home.timeline))
    rule = Strategy(name="solar, no battery", surplus_to="grid", battery_serves_load=False, reserve=0.0)
    dispatch = dispatch_from(rule, scenario.grid, home.timeline)
    if home.supply is not None:  # without a battery it stops with the grid
        dispatch = dispatch._replace(grid=home.supply.grid)
    series = home.production.dc_kw, home.ac_solar_kw, home.load_kw
    return _run(rule.name, Inputs(limits, dispatch, GRID_ALONE, cells, *series), home)


def _run(name: str, inputs: Inputs, home: Home) -> Run:
    year = run_year(inputs)
    flows = flows_from_year(home.timeline, home.prices, year)
    ledger = ledger_from(flows, home.rate_plan, home.prices, home.scenario.generator_in_use)
    return Run(name, flows, ledger, year.gap_kwh)


def year_sums(
    home: Home,
    strategy: str,
    start_soc: float | None = None,
    table: NDArray[np.float64] | None = None,
    to_the_cent: bool = True,
) -> YearSums:
    """Run one strategy through the year and keep only what a life needs: the same year as ``simulate``, sooner.

    Parameters
    ----------
    home : Home
        From ``home_from`` or ``Home.later``.
    strategy : str
        The name of one of its strategies.
    start_soc : float, optional
        The state of charge that the year probably starts with, 0-1: that of the year before.
    table : array of float, optional
        Where the engine may write, see ``run_year``.
    to_the_cent : bool
        Whether each line of the bill is rounded, see ``ledger.bill.bill_total``.

    Returns
    -------
    YearSums
        Sums and bill.

    Raises
    ------
    KeyError
        The home has no such strategy.
    """
    limits, scenario = home.limits, home.scenario
    start_kwh = None if start_soc is None else max(limits.minimum_kwh, start_soc * limits.capacity_kwh)
    year = run_year(home.inputs(strategy), start_kwh, table)
    return sums_from(year, home.rate_plan, home.prices, home.timeline, scenario.generator_in_use, to_the_cent)


def year_sums_without_system(home: Home, to_the_cent: bool = True) -> YearSums:
    """Give the same of the home without any system.

    Parameters
    ----------
    home : Home
        From ``home_from`` or ``Home.later``.
    to_the_cent : bool
        As for ``year_sums``.

    Returns
    -------
    YearSums
        The baseline of all savings.
    """
    rate_plan, grid = home.rate_plan, home.grid_without_system
    return sums_without_system(home.load_kw, rate_plan, home.prices, home.timeline, grid, to_the_cent)
