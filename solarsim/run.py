"""One run: scenario and strategy in, flows and ledger out. It strings the floors together."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from numpy.typing import NDArray

from solarsim.dispatch.orders import Plan
from solarsim.dispatch.plan import plan_from
from solarsim.engine.cells import Bank, bank_over_year, cells_at_ease
from solarsim.engine.limits import limits_from
from solarsim.engine.records import Cells, Limits
from solarsim.engine.year import run_year
from solarsim.ledger.bill import bill_doubts
from solarsim.ledger.books import Ledger, charging_conflict, ledger_from
from solarsim.ledger.flows import Flows, flows_from_year, flows_without_system
from solarsim.ledger.prices import Prices, prices_from
from solarsim.ledger.year_sums import YearSums, sums_from, sums_without_system
from solarsim.load.household import Household, household_load
from solarsim.production.offered import DcPower
from solarsim.scenario.errors import ScenarioError
from solarsim.scenario.model import Scenario
from solarsim.scenario.strategy import Strategy
from solarsim.scenario.tariff import Tariff
from solarsim.scenario.timeline import Timeline, timeline_from_site
from solarsim.weather.source import weather_for
from solarsim.weather.typical_year import Weather

if TYPE_CHECKING:
    import pandas as pd

T = TypeVar("T")


_GAP_KWH = 0.01


@dataclass(frozen=True, eq=False)
class Home:
    """A scenario on its timeline: the series and limits that all strategies share, and each one's plan.

    Attributes
    ----------
    load_kw : array of float
        The home's load, mean of each step [kW].
    load_notes : tuple of str
        What a person should know of where it comes from.
    bank : Bank
        The battery's temperature over the year, and what it means.
    plans : dict of str to Plan
        By the strategy's name.
    """

    scenario: Scenario
    timeline: Timeline
    weather: Weather
    production: DcPower
    load_kw: NDArray[np.float64]
    load_notes: tuple[str, ...]
    prices: Prices
    limits: Limits
    bank: Bank
    plans: dict[str, Plan]

    def notes(self, *runs: "Run") -> list[str]:
        """Say what is doubtful about weather, load and bill, and which runs did not close."""
        return [
            *self.weather.notes,
            *self.production.notes,
            *self.load_notes,
            *bill_doubts(self.scenario.tariff, self.timeline.step_h),
            *(
                f"{run.strategy!r}: the year ends {run.year_gap_kwh:+.2f} kWh off its start"
                for run in runs
                if abs(run.year_gap_kwh) > _GAP_KWH
            ),
        ]

    def later(self, panels_left: float, cells_left: float, load_factor: float, tariff: Tariff) -> "Home":
        """Give the home of another year: worn panels and cells, another load, other prices.

        Parameters
        ----------
        panels_left : float
            Power of the arrays / today's, before the limits of the inverter's inputs.
        cells_left : float
            Capacity of the battery / today's; its power and efficiency stay as they are.
        load_factor : float
            Load / today's, in every step.
        tariff : Tariff
            The year's rate plan, from ``Tariff.grown``.

        Returns
        -------
        Home
            With a scenario of its own that has that tariff.
        """
        limits = self.limits
        return replace(
            self,
            scenario=self.scenario.model_copy(update={"tariff": tariff}),
            production=self.production.times(panels_left),
            load_kw=self.load_kw * load_factor,
            prices=self.prices.repriced(tariff),
            limits=limits._replace(
                capacity_kwh=limits.capacity_kwh * cells_left,
                minimum_kwh=limits.minimum_kwh * cells_left,
                taper_kwh=limits.taper_kwh * cells_left,
            ),
        )


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


def home_from(scenario: Scenario, household: Household | None = None) -> Home:
    """Compute what every strategy of a scenario shares.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    household : Household, optional
        Its load on the steps of the site, where that is known already.

    Returns
    -------
    Home
        Weather, production, load, prices and limits on one timeline.

    Raises
    ------
    InputError
        A file that the scenario names, or its tariff or inverter, is wrong.
    """
    timeline = timeline_from_site(scenario.site)
    problems: list[str] = []
    prices = _tried(problems, lambda: prices_from(scenario.tariff, timeline))
    limits = _tried(problems, lambda: limits_from(scenario.inverter, scenario.battery, timeline.step_h))
    plans = {
        strategy.name: _tried(problems, partial(plan_from, strategy, scenario.grid, timeline))
        for strategy in scenario.strategies
    }
    for name, plan in plans.items():
        if plan is not None and (conflict := charging_conflict(scenario.tariff, plan)):
            problems.append(f"strategy {name!r} {conflict}")
    if prices is None or limits is None or problems:
        raise ScenarioError(*map(scenario.problem, problems))
    weather = weather_for(scenario, timeline)
    household = household_load(scenario, timeline, weather) if household is None else household
    from solarsim.production.dc_power import dc_power  # pvlib: half a second that wrong input need not wait for

    return Home(
        scenario=scenario,
        timeline=timeline,
        weather=weather,
        production=dc_power(scenario, weather, timeline),
        load_kw=household.load_kw,
        load_notes=household.notes,
        prices=prices,
        limits=limits,
        bank=bank_over_year(scenario.battery, limits, weather.temp_air_c),
        plans={name: plan for name, plan in plans.items() if plan is not None},
    )


def home_of(scenario: Scenario, home: Home | None) -> Home:
    """Take the home that was computed, or compute it.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    home : Home or None
        From ``home_from`` of this very scenario.

    Returns
    -------
    Home
        The scenario's.

    Raises
    ------
    ValueError
        The home was computed from another scenario, and would answer for that one.
    InputError
        See ``home_from``.
    """
    if home is None:
        return home_from(scenario)
    if home.scenario is not scenario:
        raise ValueError(f"the home was computed from another scenario ({home.scenario.name!r}, not {scenario.name!r})")
    return home


def _tried(problems: list[str], make: Callable[[], T]) -> T | None:
    try:
        return make()
    except ScenarioError as error:
        problems += error.problems
        return None


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
    return _run(chosen.name, home.plans[chosen.name], home.limits, home.bank.cells, home)


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
    flows = flows_without_system(home.timeline, home.prices, home.load_kw)
    return Run("", flows, ledger_from(flows, scenario.tariff, home.prices), 0.0)


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
    rule = Strategy(name="solar, no battery", surplus="grid_first", battery_serves_load=False, reserve=0.0)
    return _run(rule.name, plan_from(rule, scenario.grid, home.timeline), limits, cells, home)


def _run(name: str, plan: Plan, limits: Limits, cells: Cells, home: Home) -> Run:
    year = run_year(limits, plan, home.production.dc_kw, home.load_kw, cells)
    dc_kw, load_kw = home.production.dc_kw, home.load_kw
    flows = flows_from_year(home.timeline, home.prices, limits, plan, year, dc_kw, load_kw, cells)
    return Run(name, flows, ledger_from(flows, home.scenario.tariff, home.prices), year.gap_kwh)


def year_sums(
    home: Home, strategy: str, start_soc: float | None = None, table: NDArray[np.float64] | None = None
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

    Returns
    -------
    YearSums
        Sums and bill.

    Raises
    ------
    KeyError
        The home has no such strategy.
    """
    limits, plan, pv_kw = home.limits, home.plans[strategy], home.production.dc_kw
    start_kwh = None if start_soc is None else max(limits.minimum_kwh, start_soc * limits.capacity_kwh)
    year = run_year(limits, plan, pv_kw, home.load_kw, home.bank.cells, start_kwh=start_kwh, table=table)
    return sums_from(
        year, limits, pv_kw, home.load_kw, home.bank.cells, home.scenario.tariff, home.prices, home.timeline
    )


def year_sums_without_system(home: Home) -> YearSums:
    """Give the same of the home without any system.

    Parameters
    ----------
    home : Home
        From ``home_from`` or ``Home.later``.

    Returns
    -------
    YearSums
        The baseline of all savings.
    """
    return sums_without_system(home.load_kw, home.scenario.tariff, home.prices, home.timeline)
