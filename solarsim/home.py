"""One home: a scenario in; the series, prices and limits that all of its strategies share out."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.dispatch.programmable import misfits
from solarsim.dispatch.strategy import dispatch_from
from solarsim.dispatch.supply import Supply, supply_from, with_supply
from solarsim.engine.records import Dispatch, Inputs, Limits, Switching
from solarsim.engine.step import outputs_from
from solarsim.errors import ScenarioError
from solarsim.hardware.cell_temperature import Bank, bank_over_year
from solarsim.hardware.curve_fit import curve_from
from solarsim.hardware.limits import limits_from, switching_from
from solarsim.ledger.bill import bill_notes
from solarsim.ledger.ledger import charging_conflict
from solarsim.ledger.money import value_notes
from solarsim.ledger.prices import Prices, prices_from
from solarsim.load.household import Household, household_load
from solarsim.production.power import DcPower
from solarsim.scenario.model import Scenario
from solarsim.scenario.rate_plan.rate_plan import RatePlan
from solarsim.weather.source import weather_for
from solarsim.weather.typical_year import Weather

T = TypeVar("T")


class YearRun(Protocol):
    """A run with notes of its own; ``run.Run`` is one."""

    @property
    def notes(self) -> list[str]:
        """For the user."""


@dataclass(frozen=True, eq=False, repr=False)
class Home:
    """A scenario on its timeline: the series and limits that all strategies share, and each one's dispatch.

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
    dispatches : dict of str to Dispatch
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
    dispatches: dict[str, Dispatch]

    def __repr__(self) -> str:
        return f"Home({self.scenario.name!r}, {len(self.timeline):,} steps, strategies {', '.join(self.dispatches)})"

    @property
    def stays_connected(self) -> bool:
        """False where the home lives off the grid."""
        return self.supply is None or self.supply.stays_connected

    @property
    def rate_plan(self) -> RatePlan:
        """The scenario's; in a later year, with the prices of that year."""
        return self.prices.rate_plan

    @property
    def has_grid(self) -> bool:
        """False where the home has no grid connection, and so pays no charge of the utility."""
        return self.scenario.arrangement is None or self.scenario.arrangement.has_grid

    @property
    def grid_without_system(self) -> NDArray[np.bool_] | None:
        """When the grid would serve the home without any system; None for always.

        A home off the grid is set against the same one on it: what it saves is what the grid would charge.
        """
        supply = self.supply
        return None if supply is None or supply.grid.all() or not supply.grid.any() else supply.grid

    @cached_property
    def misfits(self) -> dict[str, tuple[str, ...]] | None:
        """Why each strategy cannot be programmed into this inverter; None without ``inverter.programmable``."""
        machine, strategies = self.scenario.inverter.programmable, self.scenario.strategies
        return {each.name: tuple(misfits(each, machine, self.timeline)) for each in strategies} if machine else None

    def inputs(self, strategy: str) -> Inputs:
        """Return what the engine needs to run a strategy's year."""
        rules, cells = self.dispatches[strategy], self.bank.cells
        return Inputs(self.limits, rules, self.switching, cells, self.production.dc_kw, self.ac_solar_kw, self.load_kw)

    def notes(self, *runs: YearRun) -> list[str]:
        """Return what the user must know of weather, load, bill and some runs."""
        return [
            *self.timeline.notes,
            *self.weather.notes,
            *self.production.notes,
            *self.load_notes,
            *self.scenario.notes,
            *self._left_out(),
            *self._not_programmable(),
            *value_notes(self.scenario.value_of_lost_load, self.prices.import_price, self.rate_plan.currency),
            *bill_notes(self.rate_plan, self.timeline.step_h),
            *(note for run in runs for note in run.notes),
        ]

    def _not_programmable(self) -> list[str]:
        found = self.misfits or {}
        return [f"{name!r} cannot be programmed: {'; '.join(reasons)}" for name, reasons in found.items() if reasons]

    def _left_out(self) -> list[str]:
        scenario = self.scenario
        named = ["battery"] if scenario.battery is not scenario.battery_in_use else []
        named += ["generator"] if scenario.generator is not scenario.generator_in_use else []
        return [f"arrangement: a grid_tied home leaves its {' and its '.join(named)} out"] if named else []

    def later(self, panels_left: float, cells_left: float, load_factor: float, rate_plan: RatePlan) -> "Home":
        """Return the home of another year: worn panels and cells, another load, other prices.

        Parameters
        ----------
        panels_left : float
            Power of the arrays / today's, before the limits of the inverter's inputs.
        cells_left : float
            Capacity of the battery / today's; its power and efficiency stay as they are.
        load_factor : float
            Load / today's, in every step.
        rate_plan : RatePlan
            The year's rate plan, from ``RatePlan.grown``.

        Returns
        -------
        Home
            Of the same scenario.
        """
        limits, production = self.limits, self.production.times(panels_left)
        supply, dispatches = self.supply, self.dispatches
        if supply is not None:
            supply = supply.later(load_factor, limits.standby_kw + self.bank.cells.heater_kw)
            dispatches = {name: with_supply(dispatch, supply) for name, dispatch in dispatches.items()}
        return replace(
            self,
            production=production,
            ac_solar_kw=_ac_solar(self.scenario, production),
            load_kw=self.load_kw * load_factor,
            critical_kw=self.critical_kw * load_factor,
            supply=supply,
            prices=self.prices.repriced(rate_plan),
            dispatches=dispatches,
            limits=limits._replace(
                capacity_kwh=limits.capacity_kwh * cells_left,
                minimum_kwh=limits.minimum_kwh * cells_left,
                taper_kwh=limits.taper_kwh * cells_left,
            ),
        )


@dataclass(frozen=True, eq=False)
class Parts:
    """Parts of a home that are known already; what is None is computed.

    Attributes
    ----------
    timeline : Timeline or None
        Of the site.
    weather : Weather or None
        On the timeline.
    prices : Prices or None
        Of the rate plan on the timeline.
    dispatches : dict of str to Dispatch, or None
        Of every strategy, as if the grid never failed.
    bank : Bank or None
        Of the battery at the place, with the inverter's port.
    production : DcPower or None
        Of the arrays.
    """

    timeline: Timeline | None = None
    weather: Weather | None = None
    prices: Prices | None = None
    dispatches: dict[str, Dispatch] | None = None
    bank: Bank | None = None
    production: DcPower | None = None


def home_from(scenario: Scenario, household: Household | None = None, known: Parts | None = None) -> Home:
    """Compute what every strategy of a scenario shares.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.
    household : Household, optional
        Its load on the steps of the site, where that is known already.
    known : Parts, optional
        Other parts that are known already, from a home whose tables are the same there.

    Returns
    -------
    Home
        Weather, production, load, prices and limits on one timeline.

    Raises
    ------
    InputError
        A file that the scenario names, or its rate plan or inverter, is wrong.
    """
    known = known or Parts()
    timeline = known.timeline or scenario.site.timeline()
    problems: list[str] = []
    prices = known.prices or _tried(problems, lambda: prices_from(scenario.rate_plan, timeline))
    limits = _tried(problems, lambda: limits_from(scenario.inverter, scenario.battery_in_use, timeline.step_h))
    dispatches: dict[str, Dispatch | None] = dict(known.dispatches or {}) or {
        strategy.name: _tried(problems, partial(dispatch_from, strategy, scenario.grid, timeline, scenario.battery_v))
        for strategy in scenario.strategies
    }
    for name, dispatch in dispatches.items():
        if dispatch is not None and (conflict := charging_conflict(scenario.rate_plan, dispatch)):
            problems.append(f"strategy {name!r} {conflict}")
    if prices is None or limits is None or problems:
        raise ScenarioError(*map(scenario.problem, problems))
    weather = known.weather or weather_for(scenario, timeline)
    household = household_load(scenario, timeline, weather) if household is None else household
    bank = known.bank or bank_over_year(scenario.battery_in_use, limits, weather.temp_air_c)
    supply = _supply_of(scenario, timeline, household, limits.standby_kw + bank.cells.heater_kw)
    production = known.production
    if production is None:
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
        switching=switching_from(scenario.arrangement, scenario.generator_in_use, scenario.battery_in_use),
        dispatches={
            name: dispatch if supply is None else with_supply(dispatch, supply)
            for name, dispatch in dispatches.items()
            if dispatch is not None
        },
    )


def _ac_solar(scenario: Scenario, production: DcPower) -> NDArray[np.float64]:
    """Return the output of the AC-coupled inverters [kW]."""
    total_kw = np.zeros_like(production.dc_kw)
    for each in scenario.ac_inverters:
        total_kw += outputs_from(curve_from(each.efficiency, each.ac_kw), production.ac_side_kw[each.name])
    return total_kw


def _supply_of(
    scenario: Scenario, timeline: Timeline, household: Household, standby_kw: NDArray[np.float64]
) -> Supply | None:
    """Return who serves in each step without the grid; a critical load that the inverter cannot carry is refused."""
    arrangement = scenario.arrangement
    if arrangement is None:
        return None
    events = () if scenario.outages is None else scenario.outages.events
    critical_kw = household.critical_kw + standby_kw
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
            arrangement, events, scenario.generator_in_use, timeline, household.load_kw + standby_kw, critical_kw
        )
    except ScenarioError as error:
        raise ScenarioError(*map(scenario.problem, error.problems)) from None


def home_of(scenario: Scenario, home: Home | None) -> Home:
    """Return the home that was computed, or compute it.

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
