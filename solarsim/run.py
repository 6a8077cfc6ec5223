"""One run: a home and a strategy in, flows and ledger out."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from solarsim.dispatch.conflicts import conflicts
from solarsim.dispatch.strategy import dispatch_from
from solarsim.engine.records import GRID_ALONE, Inputs, cells_at_ease
from solarsim.engine.year import Year, run_year
from solarsim.hardware.limits import limits_from
from solarsim.home import Home, home_of
from solarsim.ledger.flows import Floats, Flows, flows_from_year, flows_without_system
from solarsim.ledger.ledger import Ledger, ledger_from
from solarsim.scenario.model import Scenario
from solarsim.scenario.strategy import Strategy

if TYPE_CHECKING:
    import pandas as pd

_GAP_KWH = 0.01
_NOTHING_KWH, _NOTHING = 0.5, 0.005  # in a year; the second in money


@dataclass(frozen=True, eq=False)
class Run:
    """One strategy's year.

    Attributes
    ----------
    strategy : str
        Its name; empty for the home without any system.
    ledger : Ledger
        The year in kWh and money.
    conflicts : tuple of str
        Orders of the strategy that work against each other, and what they cost.

    Examples
    --------
    >>> from solarsim import read_scenario, simulate
    >>> simulate(read_scenario(), "zero export").hourly()["export_kw"].max()
    np.float64(0.0)
    """

    strategy: str
    ledger: Ledger
    conflicts: tuple[str, ...] = ()

    @property
    def flows(self) -> Flows:
        """Every step."""
        return self.ledger.flows

    @property
    def year_gap_kwh(self) -> float:
        """Stored energy at the year's end less at its start [kWh]."""
        return self.ledger.gap_kwh

    @property
    def notes(self) -> list[str]:
        """What the user must know of this run."""
        gap = f"{self.strategy!r}: the year ends {self.year_gap_kwh:+.2f} kWh off its start"
        return [*([gap] if abs(self.year_gap_kwh) > _GAP_KWH else []), *self.conflicts]

    def hourly(self) -> "pd.DataFrame":
        """Return the hourly table, indexed by the start of each step."""
        return self.flows.table()

    def monthly(self) -> "pd.DataFrame":
        """Return kWh and bill by month."""
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
    chosen, home = scenario.strategy(strategy).name, home_of(scenario, home)
    ledger = close_year(home, chosen)
    return Run(chosen, ledger, tuple(_conflict_notes(home, chosen, ledger)))


def _conflict_notes(home: Home, strategy: str, ledger: Ledger) -> Iterator[str]:
    """Yield the conflicts among a strategy's orders, each with what a second year without it would be."""
    inputs = home.inputs(strategy)
    cycles = ledger.equivalent_full_cycles
    for found in conflicts(inputs.dispatch, home.timeline.step_h, ledger.capacity_kwh, cycles):
        other = _closed(home, run_year(inputs._replace(dispatch=found.without)))
        more_kwh = other.sums["pv_to_battery_kwh"] - ledger.sums["pv_to_battery_kwh"]
        cost = other.energy_cost - ledger.energy_cost
        currency = home.rate_plan.currency
        effect = (
            f"{abs(more_kwh):,.0f} kWh {'more' if more_kwh > 0 else 'less'} solar energy a year would enter the"
            f" battery, and energy would cost {abs(cost):,.2f} {currency} {'more' if cost > 0 else 'less'}"
        )
        if abs(more_kwh) < _NOTHING_KWH and abs(cost) < _NOTHING:
            effect = "nothing would change"
        yield f"{strategy!r}: {found.what}; {found.remedy} {effect}"


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
        The baseline of all savings. A home without a grid connection is compared with the same home on the grid.

    Raises
    ------
    InputError
        See ``home_from``.
    ValueError
        See ``home_of``.
    """
    return Run("", close_year(home_of(scenario, home), None))


def without_battery(scenario: Scenario, home: Home | None = None) -> Run:
    """Run the home with its arrays and inverter but no battery: the sun serves the home, the rest is exported.

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
    return Run(rule.name, _closed(home, run_year(Inputs(limits, dispatch, GRID_ALONE, cells, *series))))


def close_year(home: Home, strategy: str | None, start_soc: float | None = None, table: Floats | None = None) -> Ledger:
    """Run one year and return its ledger, for studies of many years.

    ``strategy`` None is the home without any system. ``start_soc`` is a guess, 0-1: that of the year before
    saves a pass. The engine writes into ``table``, see ``run_year``; the steps of such a year are not kept.
    """
    if strategy is None:
        flows = flows_without_system(home.timeline, home.prices, home.load_kw, home.grid_without_system)
        return ledger_from(flows, None, home.scenario.value_of_lost_load, keep_steps=table is None)
    start_kwh = None if start_soc is None else max(home.limits.minimum_kwh, start_soc * home.limits.capacity_kwh)
    return _closed(home, run_year(home.inputs(strategy), start_kwh, table), keep_steps=table is None)


def _closed(home: Home, year: Year, keep_steps: bool = True) -> Ledger:
    """Return the ledger of a home with its system."""
    scenario, flows = home.scenario, flows_from_year(home.timeline, home.prices, year)
    return ledger_from(flows, scenario.generator_in_use, scenario.value_of_lost_load, home.has_grid, keep_steps)
