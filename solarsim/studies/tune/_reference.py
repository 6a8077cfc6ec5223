"""What a table is measured against: a home and its written strategies in; their costs, wear and the bound out."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from solarsim.dispatch.programmable import misfits
from solarsim.dispatch.strategy import raised
from solarsim.engine.records import Dispatch
from solarsim.errors import ScenarioError
from solarsim.home import Home
from solarsim.ledger.ledger import Ledger
from solarsim.ledger.money import TOLERANCE, serves_as_much, total_cost
from solarsim.results import Result, fact
from solarsim.run import Run, close_year, without_battery, without_system
from solarsim.scenario.strategy import Strategy
from solarsim.studies._other_years import OtherYear, with_strategy
from solarsim.studies.optimum.optimum import battery_savings_share, optimum
from solarsim.studies.tune._problem import Asked
from solarsim.studies.wear import wear_price_of

_LEAST_STAKE = 0.01  # of the baseline's cost: a battery that can save less leaves nothing to tune
_UNKNOWN_STAKE = 0.1  # of the baseline's cost, where there is no bound


@dataclass(frozen=True, eq=False, repr=False)
class Rival(Result):
    """A written strategy that the table is compared with; costs are as in ``Tuned``."""

    strategy: str = fact("its name", "text")
    cost: float = fact("of the year used for tuning, its levels raised to the common reserve", "currency")
    battery_savings_share: float | None = fact("as in Tuned; null where not known", "1")
    reserve_as_written: float = fact("lowest reserve of its base and windows, as written", "1")
    cost_as_written: float | None = fact("cost without raised levels; null where none was raised", "currency")
    energy_cost_as_written: float | None = fact("energy cost alone of cost_as_written", "currency")


@dataclass(frozen=True, eq=False)
class Reference:
    """One home with strategies that all keep a reserve.

    Attributes
    ----------
    home : Home
        It runs the plain strategy and all written ones.
    plain : Strategy
        Serves the home first at the reserve; the bound is at its reserve.
    written : tuple of Strategy
        Of the scenario, as far as the inverter takes them, lifted to the reserve.
    wear_price : float
        For each kWh of ``battery_out_kwh`` [currency/kWh].
    notes : tuple of str
        What is left out, and why.
    """

    home: Home
    plain: Strategy
    written: tuple[Strategy, ...]
    wear_price: float
    notes: tuple[str, ...]

    @cached_property
    def baseline(self) -> Ledger:
        """The home without any system."""
        return without_system(self.home.scenario, self.home).ledger

    @cached_property
    def solar_only(self) -> Ledger:
        """The home without its battery."""
        return without_battery(self.home.scenario, self.home).ledger

    @cached_property
    def ledgers(self) -> dict[str, Ledger]:
        """The years of the plain and the written strategies."""
        return {each.name: close_year(self.home, each.name) for each in (self.plain, *self.written)}

    @cached_property
    def least_unserved_kwh(self) -> float:
        """Least that any of them leaves unserved [kWh]."""
        return min(each.unserved_kwh for each in self.ledgers.values())

    @property
    def allowed_kwh(self) -> float:
        """Most that a table may leave unserved [kWh]."""
        return self.least_unserved_kwh + TOLERANCE * self.baseline.demand_kwh

    @cached_property
    def best(self) -> Strategy:
        """The written strategy of the lowest cost; the plain one where none serves as much."""
        ranked = [each for each in self.written if serves_as_much(self.ledgers[each.name], self.least_unserved_kwh)]
        return min(ranked, key=lambda each: self.cost(self.ledgers[each.name]), default=self.plain)

    @property
    def best_cost(self) -> float:
        """What a year under it costs [currency]."""
        return self.cost(self.ledgers[self.best.name])

    def rival(self, lifted: Strategy) -> "Rival":
        """Return what a year under a written strategy costs, at the reserve and as written."""
        ledger, own = self.ledgers[lifted.name], self.home.scenario.strategy(lifted.name)
        as_written = None if own == lifted else close_year(with_strategy(self.home, own), own.name)
        return Rival(
            strategy=lifted.name,
            cost=self.cost(ledger),
            battery_savings_share=self.share(ledger),
            reserve_as_written=min(each.reserve for each in own.settings()),
            cost_as_written=None if as_written is None else self.cost(as_written),
            energy_cost_as_written=None if as_written is None else as_written.energy_cost,
        )

    def written_as(self, dispatch: Dispatch) -> str | None:
        """Return the strategy of the scenario that has a dispatch, as written; None where none has."""
        for each in self.written:
            own = self.home.dispatches[each.name]
            if each in self.home.scenario.strategies and all(map(np.array_equal, own, dispatch)):
                return each.name
        return None

    @cached_property
    def bound(self) -> float | None:
        """Lowest energy cost and wear at the reserve; None where there is no bound [currency]."""
        most_kwh = self.allowed_kwh if self.least_unserved_kwh > 0.0 else None
        return optimum(self.home, self.plain.name, most_kwh, self.wear_price).energy_cost

    @property
    def stake(self) -> float:
        """What the battery could save beyond solar alone [currency]."""
        if self.bound is None:
            return _UNKNOWN_STAKE * self.baseline.exact_energy_cost
        return self.solar_only.exact_energy_cost - self.bound

    def cost(self, ledger: Ledger) -> float:
        """Return energy cost, outage cost and wear of a year [currency]."""
        return total_cost(ledger) + self._wear(ledger)

    def share(self, ledger: Ledger) -> float | None:
        """Return the share of what the battery could save that a year earns."""
        exact = ledger.exact_energy_cost + self._wear(ledger)
        return battery_savings_share(
            exact, self.solar_only.exact_energy_cost, self.baseline.exact_energy_cost, self.bound
        )

    def check_stake(self) -> None:
        """Refuse a home in which a battery can hardly save anything.

        Raises
        ------
        ScenarioError
            Says how little.
        """
        least = _LEAST_STAKE * self.baseline.exact_energy_cost
        if self.bound is not None and self.stake < least:
            scenario, currency = self.home.scenario, self.home.rate_plan.currency
            wear = f" and wear of {self.wear_price:.3g} {currency}/kWh" if self.wear_price > 0.0 else ""
            raise ScenarioError(
                scenario.problem(
                    f"nothing to tune: at these prices{wear} no control of the battery can save more than"
                    f" {max(0.0, self.stake):,.2f} {currency} a year beyond solar alone"
                    + ("; --wear 0 leaves wear out" if wear else "")
                )
            )

    def _wear(self, ledger: Ledger) -> float:
        return self.wear_price * ledger.annual_kwh["battery_out_kwh"] if self.wear_price > 0.0 else 0.0


def reference_of(home: Home, plain: Strategy, asked: Asked) -> Reference:
    """Return what a table for a home is measured against."""
    machine = home.scenario.inverter.programmable
    able = [each for each in home.scenario.strategies if machine is None or not misfits(each, machine, home.timeline)]
    written = tuple(raised(each, plain.reserve) for each in able)
    home = with_all(home, (plain, *written))
    wear_price, notes = _wear_price(home, plain.name, asked)
    return Reference(home, plain, written, wear_price, notes)


def with_all(home: Home, strategies: Sequence[Strategy]) -> Home:
    """Return a home that also runs some strategies."""
    for each in strategies:
        home = with_strategy(home, each)
    return home


def costs_in(year: OtherYear, strategies: Sequence[Strategy], reference: Reference) -> list[float]:
    """Return what another year costs under some strategies [currency]."""
    home = with_all(year.home, strategies)
    return [reference.cost(close_year(home, each.name)) for each in strategies]


def _wear_price(home: Home, plain: str, asked: Asked) -> tuple[float, tuple[str, ...]]:
    """Return the price of wear, and why there is none where none was asked for."""
    if asked.wear is not None:
        return asked.wear, ()
    battery = home.scenario.battery_in_use
    if battery is None or battery.chemistry is None:
        return 0.0, ("wear is not priced: battery.chemistry is missing; --wear PRICE states a price",)
    ledger = close_year(home, plain)
    price = wear_price_of(Run(plain, ledger, ledger), home)
    if price is None:
        return 0.0, ("wear is not priced: no cost is marked as the battery's; --wear PRICE states a price",)
    return price, ()
