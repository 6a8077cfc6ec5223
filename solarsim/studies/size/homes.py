"""Homes that differ in size: a home as written and a changed scenario in; its home out, with all that is the same."""

from collections import OrderedDict
from collections.abc import Callable
from typing import TypeVar

from solarsim.engine.records import Dispatch
from solarsim.hardware.cell_temperature import Bank, bank_over_year
from solarsim.hardware.limits import limits_from
from solarsim.home import Home, Parts, home_from
from solarsim.ledger.prices import Prices
from solarsim.load.household import Household
from solarsim.production.inputs import known_array, power_of_arrays
from solarsim.production.power import ArrayPower, DcPower
from solarsim.scenario.life import Lifetime
from solarsim.scenario.model import Scenario
from solarsim.scenario.roof.roof import Array

T = TypeVar("T")
_MOST_KEPT = 48  # of each kind, so that memory does not grow with the number of designs
_MOST_STAGES = 8  # of loads and prices after dated changes

#: The tables that each part of a home is made from.
_WEATHER = ("site", "weather")
_LOAD = (*_WEATHER, "load")
_PRICES = ("rate_plan",)
_SKY = (*_WEATHER, "production", "losses", "precipitation", "modules")


class Homes:
    """Make the homes of many designs: weather, load, prices and sky once, arrays and banks once for each size."""

    def __init__(self, home: Home) -> None:
        self.home = home
        self._arrays: OrderedDict[str, tuple[Array, ArrayPower]] = OrderedDict()
        self._banks: OrderedDict[str, Bank] = OrderedDict()
        self._productions: OrderedDict[str, DcPower] = OrderedDict()
        # Of the home as written, and of what dated changes make of it.
        self._prices: list[tuple[Scenario, Prices]] = [(home.scenario, home.prices)]
        self._households: list[tuple[Scenario, Household]] = [(home.scenario, _household(home))]
        self._keep_arrays(home.scenario, home.production)

    def of(self, scenario: Scenario, exact: bool = False) -> Home:
        """Return the home of a scenario that was changed from the one as written; exact: no array is scaled."""
        home = self.home
        if scenario is home.scenario:
            return home
        if not self._same(scenario, *_WEATHER):
            return home_from(scenario)
        known = Parts(
            timeline=home.timeline,
            weather=home.weather,
            prices=_known(self._prices, scenario, _PRICES),
            dispatches=self._dispatches(scenario),
            bank=self._bank(scenario),
            production=self._production(scenario, exact),
        )
        household = _known(self._households, scenario, _LOAD)
        found = home_from(scenario, household, known)
        if household is None:
            _keep(self._households, scenario, _household(found))
        if known.prices is None:
            _keep(self._prices, scenario, found.prices)
        return found

    def serves_the_same(self, scenario: Scenario) -> bool:
        """Return whether the home without any system is the same, and so costs the same."""
        written = self.home.scenario
        return (
            self._same(scenario, *_LOAD, "rate_plan", "outages")
            and _rates_alike(written.life, scenario.life)
            and _has_grid(written) == _has_grid(scenario)
        )

    def _same(self, scenario: Scenario, *tables: str) -> bool:
        return _alike(self.home.scenario, scenario, tables)

    def _dispatches(self, scenario: Scenario) -> dict[str, Dispatch] | None:
        """Return the dispatches; None where strategies, a voltage behind their limits, or the connection differ."""
        written = self.home.scenario.arrangement
        currents = any(strategy.has_currents for strategy in scenario.strategies)
        if currents and scenario.battery_v != self.home.scenario.battery_v:
            return None
        connected = self.home.stays_connected and (scenario.arrangement is None) == (written is None)
        return self.home.dispatches if connected and self._same(scenario, "strategies", "grid") else None

    def _bank(self, scenario: Scenario) -> Bank:
        battery = scenario.battery_in_use
        limits = limits_from(scenario.inverter, battery, self.home.timeline.step_h)
        written = None if battery is None else battery.model_dump_json()
        key = f"{written} {limits.charge_kw} {limits.discharge_kw}"
        return _kept(self._banks, key, lambda: bank_over_year(battery, limits, self.home.weather.temp_air_c))

    def _production(self, scenario: Scenario, exact: bool) -> DcPower | None:
        """Return the power of the arrays; None where another sky must be computed."""
        home = self.home
        if home.production.roof is None or not self._same(scenario, *_SKY):
            return None
        same_inputs = scenario.inverter.inputs == home.scenario.inverter.inputs
        if same_inputs and self._same(scenario, "arrays", "ac_inverters"):
            return home.production
        known = [pair for pair in self._arrays.values() if not exact or pair[0] in scenario.arrays]
        arrays = tuple(known_array(array, known) for array in scenario.arrays)
        if None not in arrays and all(array.module is None for array in scenario.arrays):
            return power_of_arrays(scenario, tuple(filter(None, arrays)), home.production.roof.up)
        rows = (*scenario.arrays, *scenario.inverter.inputs, *scenario.ac_inverters)
        key = "".join(row.model_dump_json() for row in rows)
        return _kept(self._productions, key, lambda: self._computed(scenario, known))

    def _computed(self, scenario: Scenario, known: list[tuple[Array, ArrayPower]]) -> DcPower:
        """Return the power of arrays some of which are not known, and keep these."""
        from solarsim.production.dc_power import dc_power  # pvlib

        production = dc_power(scenario, self.home.weather, self.home.timeline, known)
        self._keep_arrays(scenario, production)
        return production

    def _keep_arrays(self, scenario: Scenario, production: DcPower) -> None:
        """Keep the power of arrays that were computed: those of the home as written, and all with a curve."""
        powers = () if production.roof is None else production.roof.arrays
        for array, power in zip(scenario.arrays, powers, strict=bool(powers)):
            if scenario is self.home.scenario or array.module is not None:
                self._arrays[array.model_dump_json()] = (array, power)
        while len(self._arrays) > _MOST_KEPT:
            self._arrays.popitem(last=False)


def _alike(one: Scenario, other: Scenario, tables: tuple[str, ...]) -> bool:
    """Return whether some tables of two scenarios are the same."""
    pairs = ((getattr(one, table), getattr(other, table)) for table in tables)
    return all(mine is yours or mine == yours for mine, yours in pairs)


def _rates_alike(one: Lifetime | None, other: Lifetime | None) -> bool:
    """Return whether two lives are the same for a home without any system: without a battery its fade is left out."""
    if one is other or one is None or other is None:
        return one is other
    of_battery = {"battery_fade_per_year", "uncertainty"}
    return one.model_dump(exclude=of_battery) == other.model_dump(exclude=of_battery)


def _known(kept: list[tuple[Scenario, T]], scenario: Scenario, tables: tuple[str, ...]) -> T | None:
    """Return what is kept of a scenario whose tables are the same."""
    return next((value for other, value in kept if _alike(other, scenario, tables)), None)


def _keep(kept: list[tuple[Scenario, T]], scenario: Scenario, value: T) -> None:
    """Keep a value; of the later ones the oldest goes."""
    kept.append((scenario, value))
    del kept[1:-_MOST_STAGES]


def _household(home: Home) -> Household:
    """Return the load of a home."""
    return Household(home.load_kw, home.critical_kw, {}, None, home.load_notes)


def _has_grid(scenario: Scenario) -> bool:
    return scenario.arrangement is None or scenario.arrangement.has_grid


def _kept(kept: "OrderedDict[str, T]", key: str, make: Callable[[], T]) -> T:
    """Return what is kept under a key, or make it; what was not asked for the longest goes."""
    if key not in kept:
        kept[key] = make()
    kept.move_to_end(key)
    while len(kept) > _MOST_KEPT:
        kept.popitem(last=False)
    return kept[key]
