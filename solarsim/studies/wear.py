"""How each strategy wears the battery: a scenario in; capacity by year, warranty and cost per kWh out.

The same year is repeated: the same weather, prices and habits, and the same path of the state of charge as a share of
the capacity that is left. A study that simulates each year anew adds ``stress_of`` up by ``aging.law.plus``.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.aging.history import History, history_from
from solarsim.aging.law import Law, Stress, condition, plus
from solarsim.aging.lead_acid import FLOODED, SEALED
from solarsim.aging.lfp import LFP
from solarsim.aging.nmc import NMC
from solarsim.errors import ScenarioError
from solarsim.home import Home, home_of
from solarsim.ledger.money import annual_savings
from solarsim.ledger.purchase import purchase_from
from solarsim.results import Result, fact
from solarsim.run import Run, simulate, without_battery
from solarsim.scenario.battery.battery import Battery, Warranty
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import BATTERY, CHEMISTRY, require

#: What the command needs beyond what every scenario has.
NEEDS = (BATTERY, CHEMISTRY)

Floats = NDArray[np.float64]
MOST_YEARS = 40
LAWS: dict[str, Law] = {"lfp": LFP, "nmc": NMC, "flooded_lead_acid": FLOODED, "sealed_lead_acid": SEALED}
_LOOK_AT = 10
_MONTHS = np.linspace(0.0, MOST_YEARS, 12 * MOST_YEARS + 1)  # years, month by month


@dataclass(frozen=True, eq=False, repr=False)
class WarrantyCheck(Result):
    """What a warranty promises, against what the model expects."""

    ends_after_years: float = fact("when the warranty ends, by its years or its throughput", "years")
    by_throughput: bool = fact("whether the throughput ends it", "true or false")
    remaining_then: float = fact("share of capacity that the model expects when it ends", "1")
    kept: bool = fact("whether that is at least what the manufacturer promises", "true or false")


@dataclass(frozen=True, eq=False, repr=False)
class StrategyWear(Result):
    """How one strategy wears the battery."""

    name: str = fact("of the strategy", "text")
    equivalent_full_cycles: float = fact("a year, counted by rainflow while the battery is new", "1")
    mean_soc: float = fact("mean state of charge of the year, 0-1", "1")
    mean_cell_c: float = fact("mean temperature of the battery's cells", "C")
    delivered_kwh: float = fact("delivered by the new battery to home and grid in a year", "kWh AC")
    temperature_blocked_kwh: float = fact(
        "solar energy kept from the battery by cells too cold or hot to charge", "kWh DC"
    )
    temperature_blocked_h: float = fact("time in which that happens", "h")
    calendar_aging_10_years: float = fact("share of capacity lost by age after 10 years", "1")
    cycle_aging_10_years: float = fact("share of capacity lost by cycling after 10 years", "1")
    years_to_end: float | None = fact("until end_of_life is reached; null beyond 40 years", "years")
    warranty: WarrantyCheck | None = fact("null where the scenario states none", "record")
    lcos: float | None = fact(
        "battery_price / what it delivers until end_of_life (at most 40 years), without interest and charging; null"
        " without a price, and where nothing is delivered",
        "currency/kWh",
    )
    savings_per_kwh: float | None = fact(
        "savings over the same solar without a battery / delivered_kwh; null where nothing is delivered, where more is"
        " unserved than without a battery, and off the grid",
        "currency/kWh",
    )
    unserved_kwh: float = fact("unserved demand of the year", "kWh")
    capacity_by_year: Floats = fact("share of the first capacity, new and at the end of each year", "1")
    calendar_aging_by_year: Floats = fact("share of the first capacity lost by age", "1")
    cycle_aging_by_year: Floats = fact("share of the first capacity lost by cycling", "1")
    resistance_by_year: Floats = fact("resistance / resistance when new; its effect on a year is not modeled", "1")
    outside_range: tuple[str, ...] = fact("where the year left the range of the model, and what was done", "list")


@dataclass(frozen=True, eq=False, repr=False)
class Wear(Result):
    """The battery's life under each strategy. Datasheet and warranty terms of the manufacturer decide, not this."""

    _rows = "strategies"

    home: Home  # for the heading
    battery: Battery
    scenario: str = fact("name of the scenario", "text")
    currency: str = fact("ISO 4217 code", "text")
    chemistry: str = fact("of the battery, as in the scenario", "text")
    capacity_kwh: float = fact("nameplate energy of the new battery", "kWh")
    battery_price: float | None = fact(
        "of the parts marked as cells or as battery, without installation; null where none is marked", "currency"
    )
    model: str = fact("where the model of aging was published", "text")
    presets: Mapping[str, float] = fact("values of the chemistry that the scenario does not state, by key", "record")
    end_of_life: float = fact("share of capacity at which the battery counts as worn out", "1")
    years: int = fact("how many years are simulated", "years")
    strategies: tuple[StrategyWear, ...] = fact("each strategy", "table")
    notes: tuple[str, ...] = fact("what a reader should know", "list")


def battery_of(scenario: Scenario) -> Battery:
    """Return the battery whose aging can be computed.

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
    require(scenario, *NEEDS)
    assert scenario.battery is not None  # noqa: S101  # for the type checker: require refuses
    return scenario.battery


def _history_of(run: Run, home: Home) -> History:
    """Return a strategy's year as the models of aging need it; state of charge is a share of the run's capacity."""
    flows, temperature_c = run.flows, home.bank.temperature_c
    if temperature_c is None:
        raise ScenarioError(home.scenario.problem(CHEMISTRY.problem))
    bounds = np.concatenate([[flows.start_kwh], flows["battery_kwh"]]) / flows.capacity_kwh
    return history_from(bounds, temperature_c, flows.timeline.step_h)


def stress_of(run: Run, home: Home) -> Stress:
    """Compute what one more year of a strategy adds to a battery's stress.

    Parameters
    ----------
    run : Run
        A year of a battery of positive size.
    home : Home
        That it was run in.

    Returns
    -------
    Stress
        To be added to that of the years before by ``aging.law.plus``.

    Raises
    ------
    ScenarioError
        See ``battery_of``.
    """
    return LAWS[battery_of(home.scenario).chemistry or ""].stress(_history_of(run, home))


def capacity_by_year(run: Run, home: Home, years: int) -> Floats:
    """Compute what is left of the battery if a strategy's year is repeated.

    Parameters
    ----------
    run, home
        As for ``stress_of``.
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
    return condition(law, plus(Stress(), stress_of(run, home), np.arange(years + 1.0))).capacity


def wear_price_of(run: Run, home: Home) -> float | None:
    """Compute what a kWh out of the battery costs in life of its cells, if a strategy's year is repeated.

    The battery's price, spread over the years until it is worn out, less the same without any cycling: age alone wears
    it out, too.

    Parameters
    ----------
    run, home
        As for ``stress_of``.

    Returns
    -------
    float or None
        For each kWh of ``battery_out_kwh`` [currency/kWh]; 0 where cycling shortens no life of 40 years; None where no
        cost is marked as the battery's, or nothing leaves it.

    Raises
    ------
    ScenarioError
        See ``battery_of``.
    """
    battery, law = battery_of(home.scenario), LAWS[battery_of(home.scenario).chemistry or ""]
    price, out_kwh = _battery_price(home.scenario), run.ledger.annual_kwh["battery_out_kwh"]
    if price is None or out_kwh <= 0.0:
        return None
    after = condition(law, plus(Stress(), stress_of(run, home), _MONTHS))
    by_age = _years_until(1.0 - after.calendar_loss, battery.end_of_life) or MOST_YEARS
    in_use = _years_until(after.capacity, battery.end_of_life) or MOST_YEARS
    return price * (1.0 / in_use - 1.0 / by_age) / out_kwh


def _battery_price(scenario: Scenario) -> float | None:
    """Return the price of the parts marked as the battery's; None where none is."""
    parts = () if scenario.costs is None else purchase_from(scenario).battery_parts
    return float(sum(line.amount for line in parts)) if parts else None


def wear(scenario: Scenario, years: int = 25, strategy: str | None = None, home: Home | None = None) -> Wear:
    """Compute the battery's capacity through the years under each strategy.

    Parameters
    ----------
    scenario : Scenario
        With a battery that names its chemistry.
    years : int
        How many, 1 to 40.
    strategy : str, optional
        Only this one.
    home : Home, optional
        From ``home_from`` of this scenario.

    Returns
    -------
    Wear
        Each strategy's.

    Raises
    ------
    ScenarioError
        See ``battery_of``.
    UnknownNameError
        The scenario has no such strategy.
    ValueError
        The years are out of range, or see ``home_of``.

    Examples
    --------
    >>> import solarsim
    >>> found = solarsim.wear(solarsim.read_scenario(), strategy="zero export")
    >>> found.chemistry, len(found.strategies[0].capacity_by_year)
    ('lfp', 26)
    """
    if not 1 <= years <= MOST_YEARS:
        raise ValueError(f"years {years} must be 1 to {MOST_YEARS}")
    battery = battery_of(scenario)
    names = [each.name for each in scenario.strategies] if strategy is None else [scenario.strategy(strategy).name]
    home = home_of(scenario, home)
    runs = [simulate(scenario, name, home) for name in names]
    solar_only = without_battery(scenario, home) if home.stays_connected else None
    law = LAWS[battery.chemistry or ""]
    price = _battery_price(scenario)
    return Wear(
        home=home,
        battery=battery,
        scenario=scenario.name,
        currency=scenario.rate_plan.currency,
        chemistry=battery.chemistry or "",
        capacity_kwh=battery.kwh,
        battery_price=price,
        model=law.source,
        presets=battery.presets,
        end_of_life=battery.end_of_life,
        years=years,
        strategies=tuple(_strategy_wear(run, solar_only, home, battery, price, years) for run in runs),
        notes=tuple(home.notes(*runs)),
    )


def _strategy_wear(
    run: Run, solar_only: Run | None, home: Home, battery: Battery, price: float | None, years: int
) -> StrategyWear:
    """Compute how one strategy wears the battery."""
    history, law = _history_of(run, home), LAWS[battery.chemistry or ""]
    after = condition(law, plus(Stress(), law.stress(history), _MONTHS))
    capacity = after.capacity
    full_years = np.concatenate([[0.0], np.cumsum((capacity[1:] + capacity[:-1]) / 2.0 * np.diff(_MONTHS))])
    each_year = slice(0, 12 * years + 1, 12)
    end = _years_until(capacity, battery.end_of_life)
    flows, step_h = run.flows, run.flows.timeline.step_h
    delivered_kwh = float((flows["battery_to_load_kw"] + flows["battery_to_grid_kw"]).sum()) * step_h
    lcos = savings = None
    if delivered_kwh > 0.0:
        # What a fading battery delivers shrinks as its capacity does.
        in_life_kwh = delivered_kwh * float(np.interp(MOST_YEARS if end is None else end, _MONTHS, full_years))
        lcos = None if price is None else price / in_life_kwh
        saved = None if solar_only is None else annual_savings(run.ledger, solar_only.ledger)
        savings = None if saved is None else saved / delivered_kwh
    annual_kwh = run.ledger.annual_kwh
    return StrategyWear(
        name=run.strategy,
        equivalent_full_cycles=history.cycles.full,
        mean_soc=float(history.soc.mean()),
        mean_cell_c=float(history.temperature_c.mean()),
        delivered_kwh=delivered_kwh,
        temperature_blocked_kwh=annual_kwh["temperature_blocked_kwh"],
        temperature_blocked_h=run.ledger.temperature_blocked_h,
        calendar_aging_10_years=float(after.calendar_loss[12 * _LOOK_AT]),
        cycle_aging_10_years=float(after.cycle_loss[12 * _LOOK_AT]),
        years_to_end=end,
        warranty=None
        if battery.warranty is None
        else _checked(battery.warranty, capacity, full_years * annual_kwh["battery_out_kwh"] / 1000.0),
        lcos=lcos,
        savings_per_kwh=savings,
        unserved_kwh=run.ledger.unserved_kwh,
        capacity_by_year=capacity[each_year],
        calendar_aging_by_year=after.calendar_loss[each_year],
        cycle_aging_by_year=after.cycle_loss[each_year],
        resistance_by_year=after.resistance[each_year],
        outside_range=tuple(law.outside(history)),
    )


def _years_until(capacity: Floats, share: float) -> float | None:
    """Return after how many years capacity, month by month, falls to a share; None if it stays above."""
    return None if capacity[-1] > share else float(np.interp(-share, -capacity, _MONTHS))


def _checked(warranty: Warranty, capacity: Floats, passed_mwh: Floats) -> WarrantyCheck:
    """Return when a warranty ends, and what is left then."""
    ends = warranty.years
    if warranty.throughput_mwh is not None and passed_mwh[-1] > warranty.throughput_mwh:
        ends = min(ends, float(np.interp(warranty.throughput_mwh, passed_mwh, _MONTHS)))
    left = float(np.interp(ends, _MONTHS, capacity))
    return WarrantyCheck(ends, ends < warranty.years, left, left >= warranty.remaining)
