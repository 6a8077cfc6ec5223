"""What each strategy wears off the battery: a comparison in, capacity by year, warranty and cost of a kWh out.

The year is lived again and again: the same weather, prices and habits, the same path of the state of charge as
a share of what capacity is left. ``stress_of`` and ``aging.law.plus`` go on year by year from any state,
for a study that runs each year anew with the battery that is left.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.aging.history import History, history_from
from solarsim.aging.law import Condition, Law, Stress, condition, plus
from solarsim.aging.lead_acid import FLOODED, SEALED
from solarsim.aging.lfp import LFP
from solarsim.aging.nmc import NMC
from solarsim.errors import ScenarioError
from solarsim.home import Home
from solarsim.run import Run
from solarsim.scenario.battery.battery import Battery, Warranty
from solarsim.scenario.battery.chemistry import BUILDS
from solarsim.scenario.model import Scenario
from solarsim.studies.compare.compare import Comparison

Floats = NDArray[np.float64]
MOST_YEARS = 40
LAWS: dict[str, Law] = {"lfp": LFP, "nmc": NMC, "flooded_lead_acid": FLOODED, "sealed_lead_acid": SEALED}
_LOOK_AT = 10
_MONTHS = np.linspace(0.0, MOST_YEARS, 12 * MOST_YEARS + 1)  # years, month by month


@dataclass(frozen=True)
class WarrantyCheck:
    """What a warranty promises against what the model expects.

    Attributes
    ----------
    ends_after_years : float
        By its years or its throughput, whichever comes first [years].
    by_throughput : bool
        Whether the throughput ends it.
    remaining_then : float
        Share of capacity that is left when it ends.
    kept : bool
        Whether that is at least what the maker promises; if it is not, the maker owes.
    """

    ends_after_years: float
    by_throughput: bool
    remaining_then: float
    kept: bool


@dataclass(frozen=True, eq=False)
class StrategyWear:
    """How one strategy wears the battery.

    Attributes
    ----------
    strategy : str
        Its name.
    full_cycles : float
        Equivalent full cycles a year, counted by rainflow while the battery is new.
    mean_soc, mean_cell_c : float
        Over the year: 0-1, and of the cells [C].
    delivered_kwh : float
        To home and grid in the first year, AC [kWh].
    by_year : Condition
        At the end of each year; entry 0 is the new battery. ``by_year.capacity`` is the array of factors.
    loss_to_time, loss_to_cycles : float
        Shares of capacity lost after 10 years, however many are told.
    years_to_end : float or None
        Until the stated share is reached [years]; None beyond 40 years, where no such model says anything.
    warranty : WarrantyCheck or None
        None where the scenario states none.
    cost_per_kwh, earns_per_kwh : float or None
        What a delivered kWh costs in wear, and what it earns above solar without a battery [currency/kWh];
        None without a price, and where nothing is delivered.
    outside : tuple of str
        Where the year left the model's range, and what was done.
    """

    strategy: str
    full_cycles: float
    mean_soc: float
    mean_cell_c: float
    delivered_kwh: float
    by_year: Condition
    loss_to_time: float
    loss_to_cycles: float
    years_to_end: float | None
    warranty: WarrantyCheck | None
    cost_per_kwh: float | None
    earns_per_kwh: float | None
    outside: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Wear:
    """The battery's life under each strategy.

    Attributes
    ----------
    chemistry, source, caution : str
        For a person: the chemistry, where the model of its aging comes from, what is dangerous about it.
    battery : Battery
        As the user wrote it.
    price : float or None
        Of the parts that are cells or that only the battery needs, installation aside [currency]; None
        where the scenario marks none.
    years : int
        How many are told.
    strategies : tuple of StrategyWear
        In the scenario's order.
    """

    chemistry: str
    source: str
    caution: str
    battery: Battery
    price: float | None
    years: int
    strategies: tuple[StrategyWear, ...]


def battery_of(scenario: Scenario) -> Battery:
    """Give the battery whose aging can be told.

    Parameters
    ----------
    scenario : Scenario
        What the user wrote.

    Returns
    -------
    Battery
        With a chemistry.

    Raises
    ------
    ScenarioError
        There is no battery, or it names no chemistry.
    """
    battery = scenario.battery_in_use
    if battery is None or battery.kwh == 0.0:
        raise ScenarioError(scenario.problem("has no battery that could wear"))
    if battery.chemistry is None:
        raise ScenarioError(_no_chemistry(scenario))
    return battery


def _no_chemistry(scenario: Scenario) -> str:
    return scenario.problem(f"battery.chemistry: is missing; allowed: {', '.join(LAWS)}")


def history_of(run: Run, home: Home) -> History:
    """Give a strategy's year as the models of aging see it.

    Parameters
    ----------
    run : Run
        A year of a battery of positive size.
    home : Home
        That it was run in.

    Returns
    -------
    History
        State of charge is the share of the capacity that the run had.

    Raises
    ------
    ScenarioError
        See ``battery_of``.
    """
    flows, temperature_c = run.flows, home.bank.temperature_c
    if temperature_c is None:
        raise ScenarioError(_no_chemistry(home.scenario))
    bounds = np.concatenate([[flows.start_kwh], flows["battery_kwh"]]) / flows.capacity_kwh
    return history_from(bounds, temperature_c, flows.timeline.step_h)


def stress_of(run: Run, home: Home) -> Stress:
    """Tell what one more year of a strategy adds to a battery's stress.

    Parameters
    ----------
    run, home
        As for ``history_of``.

    Returns
    -------
    Stress
        To be added to that of the years before by ``aging.law.plus``.

    Raises
    ------
    ScenarioError
        See ``battery_of``.
    """
    return LAWS[battery_of(home.scenario).chemistry or ""].stress(history_of(run, home))


def capacity_by_year(run: Run, home: Home, years: int) -> Floats:
    """Tell what is left of the battery if a strategy's year is lived again and again.

    Parameters
    ----------
    run, home
        As for ``history_of``.
    years : int
        How many.

    Returns
    -------
    array of float
        Share of the first capacity when new and at the end of each year, ``years`` + 1 entries.

    Raises
    ------
    ScenarioError
        See ``battery_of``.
    """
    law = LAWS[battery_of(home.scenario).chemistry or ""]
    yearly = plus(Stress(), stress_of(run, home), np.arange(years + 1.0))
    return condition(law, yearly).capacity


def wear(comparison: Comparison, years: int = 25, strategy: str | None = None) -> Wear:
    """Follow the battery through the years under each strategy.

    Parameters
    ----------
    comparison : Comparison
        Every strategy's year.
    years : int
        How many to tell, 1 to 40.
    strategy : str, optional
        Only this one.

    Returns
    -------
    Wear
        Makers' datasheets and warranty terms decide, not this.

    Raises
    ------
    ScenarioError
        See ``battery_of``.
    UnknownNameError
        The scenario has no such strategy.
    ValueError
        The years are out of range.
    """
    if not 1 <= years <= MOST_YEARS:
        raise ValueError(f"years {years} must be 1 to {MOST_YEARS}")
    scenario = comparison.home.scenario
    battery = battery_of(scenario)
    only = None if strategy is None else scenario.strategy(strategy).name
    price = None if scenario.costs is None else scenario.costs.battery_price
    law = LAWS[battery.chemistry or ""]
    return Wear(
        chemistry=BUILDS[battery.chemistry or ""].title,
        source=law.source,
        caution=BUILDS[battery.chemistry or ""].caution,
        battery=battery,
        price=price,
        years=years,
        strategies=tuple(
            _strategy_wear(comparison, run, battery, price, law, years)
            for run in comparison.runs
            if only in (None, run.strategy)
        ),
    )


def _strategy_wear(
    comparison: Comparison, run: Run, battery: Battery, price: float | None, law: Law, years: int
) -> StrategyWear:
    history = history_of(run, comparison.home)
    yearly = law.stress(history)
    after = condition(law, plus(Stress(), yearly, _MONTHS))
    capacity = after.capacity
    worth = np.concatenate([[0.0], np.cumsum((capacity[1:] + capacity[:-1]) / 2.0 * np.diff(_MONTHS))])
    each_year = slice(0, 12 * years + 1, 12)
    end = years_until(capacity, battery.end_of_life)
    flows, step_h = run.flows, run.flows.timeline.step_h
    delivered = float((flows["battery_to_load_kw"] + flows["battery_to_grid_kw"]).sum()) * step_h
    cost = earns = None
    if delivered > 0.0:
        # What a fading battery delivers shrinks as its capacity does.
        in_life = delivered * float(np.interp(MOST_YEARS if end is None else end, _MONTHS, worth))
        cost = None if price is None else price / in_life
        if comparison.solar_only is not None:
            earns = float(comparison.solar_only.ledger.bill.total - run.ledger.bill.total) / delivered
    return StrategyWear(
        strategy=run.strategy,
        full_cycles=history.cycles.full,
        mean_soc=float(history.soc.mean()),
        mean_cell_c=float(history.temperature_c.mean()),
        delivered_kwh=delivered,
        by_year=Condition(*(part[each_year] for part in after)),
        loss_to_time=float(after.calendar_loss[12 * _LOOK_AT]),
        loss_to_cycles=float(after.cycle_loss[12 * _LOOK_AT]),
        years_to_end=end,
        warranty=None
        if battery.warranty is None
        else _checked(battery.warranty, capacity, worth * run.ledger.annual_kwh["battery_out_kwh"] / 1000.0),
        cost_per_kwh=cost,
        earns_per_kwh=earns,
        outside=tuple(law.outside(history)),
    )


def years_until(capacity: Floats, share: float) -> float | None:
    """Find when capacity falls to a share.

    Parameters
    ----------
    capacity : array of float
        Month by month over 40 years, never rising.
    share : float
        Of the first capacity, 0-1.

    Returns
    -------
    float or None
        [years]; None where it stays above.
    """
    return None if capacity[-1] > share else float(np.interp(-share, -capacity, _MONTHS))


def _checked(warranty: Warranty, capacity: Floats, passed_mwh: Floats) -> WarrantyCheck:
    ends = warranty.years
    if warranty.throughput_mwh is not None and passed_mwh[-1] > warranty.throughput_mwh:
        ends = min(ends, float(np.interp(warranty.throughput_mwh, passed_mwh, _MONTHS)))
    left = float(np.interp(ends, _MONTHS, capacity))
    return WarrantyCheck(ends, ends < warranty.years, left, left >= warranty.remaining)
