"""One run: scenario and strategy in, flows and ledger out. It strings the floors together."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from numpy.typing import NDArray

from solarsim.dispatch.orders import Plan
from solarsim.dispatch.plan import plan_from
from solarsim.dispatch.supply import Supply, supply_from, with_supply
from solarsim.engine.cells import Bank, bank_over_year, cells_at_ease
from solarsim.engine.curve_fit import curve_from
from solarsim.engine.hour import outputs_from
from solarsim.engine.limits import limits_from, switching_from
from solarsim.engine.records import GRID_ALONE, Cells, Limits, Switching
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
    ac_solar_kw : array of float
        What arrays behind inverters of their own offer on the home's AC side [kW].
    load_kw : array of float
        The home's load, mean of each step [kW].
    critical_kw : array of float
        Of it what stays on in an outage [kW].
    load_notes : tuple of str
        What a person should know of where it comes from.
    bank : Bank
        The battery's temperature over the year, and what it means.
    supply : Supply or None
        Who may serve when the grid is not there; None where the scenario does not say.
    switching : Switching
        When a generator and a grid that comes last come in.
    plans : dict of str to Plan
        By the strategy's name.
    """

    scenario: Scenario
    timeline: Timeline
    weather: Weather
    production: DcPower
    ac_solar_kw: NDArray[np.float64]
    load_kw: NDArray[np.float64]
    critical_kw: NDArray[np.float64]
    load_notes: tuple[str, ...]
    prices: Prices
    limits: Limits
    bank: Bank
    supply: Supply | None
    switching: Switching
    plans: dict[str, Plan]

    @property
    def stays_connected(self) -> bool:
        """False where the home lives off the grid."""
        return self.supply is None or self.supply.stays_connected

    @property
    def grid_without_system(self) -> NDArray[np.bool_] | None:
        """When the grid would serve the home without any system; None for always.

        A home off the grid is set against the same one on it: what it saves is what the grid would charge.
        """
        return None if self.supply is None or not self.supply.grid.any() else self.supply.grid

    def notes(self, *runs: "Run") -> list[str]:
        """Say what is doubtful about weather, load and bill, and which runs did not close."""
        return [
            *self.weather.notes,
            *self.production.notes,
            *self.load_notes,
            *self._left_out(),
            *bill_doubts(self.scenario.tariff, self.timeline.step_h),
            *(
                f"{run.strategy!r}: the year ends {run.year_gap_kwh:+.2f} kWh off its start"
                for run in runs
                if abs(run.year_gap_kwh) > _GAP_KWH
            ),
        ]

    def _left_out(self) -> list[str]:
        scenario = self.scenario
        named = ["battery"] if scenario.battery is not scenario.battery_in_use else []
        named += ["generator"] if scenario.generator is not scenario.generator_in_use else []
        return [f"arrangement: a grid_tied home leaves its {' and its '.join(named)} out"] if named else []

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
        limits, production = self.limits, self.production.times(panels_left)
        supply, plans = self.supply, self.plans
        if supply is not None:
            supply = supply.later(load_factor, limits.own_use_kw + self.bank.cells.heater_kw)
            plans = {name: with_supply(plan, supply) for name, plan in plans.items()}
        return replace(
            self,
            scenario=self.scenario.model_copy(update={"tariff": tariff}),
            production=production,
            ac_solar_kw=_ac_solar(self.scenario, production),
            load_kw=self.load_kw * load_factor,
            critical_kw=self.critical_kw * load_factor,
            supply=supply,
            prices=self.prices.repriced(tariff),
            plans=plans,
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
    limits = _tried(problems, lambda: limits_from(scenario.inverter, scenario.battery_in_use, timeline.step_h))
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
    bank = bank_over_year(scenario.battery_in_use, limits, weather.temp_air_c)
    supply = _supply_of(scenario, timeline, household, limits.own_use_kw + bank.cells.heater_kw)
    from solarsim.production.dc_power import dc_power  # pvlib: half a second that wrong input need not wait for

    production = dc_power(scenario, weather, timeline)
    return Home(
        scenario=scenario,
        timeline=timeline,
        weather=weather,
        production=production,
        ac_solar_kw=_ac_solar(scenario, production),
        load_kw=household.load_kw,
        critical_kw=household.critical_kw,
        load_notes=household.notes,
        prices=prices,
        limits=limits,
        bank=bank,
        supply=supply,
        switching=switching_from(scenario.arrangement, scenario.generator_in_use),
        plans={
            name: plan if supply is None else with_supply(plan, supply)
            for name, plan in plans.items()
            if plan is not None
        },
    )


def _ac_solar(scenario: Scenario, production: DcPower) -> NDArray[np.float64]:
    """Put what the arrays offer through the inverters on the AC side."""
    total_kw = np.zeros_like(production.dc_kw)
    for each in scenario.ac_inverters:
        total_kw += outputs_from(curve_from(each.efficiency, each.ac_kw), production.ac_side_kw[each.name])
    return total_kw


def _supply_of(
    scenario: Scenario, timeline: Timeline, household: Household, own_use_kw: NDArray[np.float64]
) -> Supply | None:
    """Lay what the scenario says of outages onto its year; a panel that the inverter cannot carry is refused."""
    arrangement = scenario.arrangement
    if arrangement is None:
        return None
    events = () if scenario.outages is None else scenario.outages.events
    critical_kw = household.critical_kw + own_use_kw
    most_kw = float(critical_kw.max())
    if arrangement.critical_only and most_kw > scenario.inverter.ac_kw:
        raise ScenarioError(
            scenario.problem(
                f"arrangement: the critical load reaches {most_kw:.1f} kW in an hour, above inverter.ac_kw"
                f" {scenario.inverter.ac_kw:g}; put less behind the panel"
            )
        )
    try:
        return supply_from(
            arrangement, events, scenario.generator_in_use, timeline, household.load_kw + own_use_kw, critical_kw
        )
    except ScenarioError as error:
        raise ScenarioError(*map(scenario.problem, error.problems)) from None


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
    return _run(chosen.name, home.plans[chosen.name], home.limits, home.bank.cells, home.switching, home)


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
    plan = plan_from(rule, scenario.grid, home.timeline)
    if home.supply is not None:  # without a battery it stops with the grid
        plan = plan._replace(grid=home.supply.grid)
    return _run(rule.name, plan, limits, cells, GRID_ALONE, home)


def _run(name: str, plan: Plan, limits: Limits, cells: Cells, switching: Switching, home: Home) -> Run:
    dc_kw, load_kw, ac_kw = home.production.dc_kw, home.load_kw, home.ac_solar_kw
    year = run_year(limits, plan, dc_kw, load_kw, cells, switching, ac_solar_kw=ac_kw)
    flows = flows_from_year(home.timeline, home.prices, limits, plan, year, dc_kw + ac_kw, load_kw, cells)
    ledger = ledger_from(flows, home.scenario.tariff, home.prices, home.scenario.generator_in_use)
    return Run(name, flows, ledger, year.gap_kwh)


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
    year = run_year(
        limits, plan, pv_kw, home.load_kw, home.bank.cells, home.switching, start_kwh, table, home.ac_solar_kw
    )
    scenario, cells = home.scenario, home.bank.cells
    return sums_from(
        year,
        limits,
        pv_kw + home.ac_solar_kw,
        home.load_kw,
        cells,
        scenario.tariff,
        home.prices,
        home.timeline,
        scenario.generator_in_use,
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
    return sums_without_system(home.load_kw, home.scenario.tariff, home.prices, home.timeline, home.grid_without_system)
