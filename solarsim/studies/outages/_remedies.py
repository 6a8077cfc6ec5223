"""What would have prevented a shortfall: a home and one of its outages in; the smallest change that suffices out.

Each remedy is found by running the year again with the changed scenario. More is not always better: a fuller battery
can keep the generator from starting before its quiet hours. So sizes are tried from below, one by one where they are
few, else in growing steps and then by bisection: one size less than what is found does not suffice.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from solarsim.home import Home, Parts, home_from
from solarsim.load.household import Household
from solarsim.results import Result, fact
from solarsim.run import close_year
from solarsim.studies.outages._island import can_island, keeping
from solarsim.studies.outages._shortfalls import unserved_by_step

_NOTHING_KWH = 1e-6
_MOST_TIMES = 8  # a battery or a tank so many times as large is the largest that is tried
_MOST_STRINGS, _MOST_KWH = 100, 5000.0  # as the scenario allows
_HALF_KWH = 0.5
_ONE_BY_ONE = 100  # so many sizes are all tried until one suffices


@dataclass(frozen=True, eq=False, repr=False)
class Remedy(Result):
    """One change of the home, alone, and what it would have done in an outage."""

    what: str = fact("reserve, may_start, tank_liters or battery_kwh", "text")
    sufficient: bool = fact("whether it leaves no backed-up demand unserved in this outage", "true or false")
    value: float | None = fact(
        "the smallest that suffices, or the largest that was tried: reserve 0-1 in every hour, liters, nameplate kWh;"
        " null for may_start: at any time",
        "as what says",
    )
    unserved_kwh: float = fact("backed-up demand still unserved in this outage", "kWh")
    energy_cost_change: float = fact("energy cost of the year with it less that as set", "currency a year")


class Search:
    """The remedies for one outage of a home: its first step and its number of steps."""

    def __init__(self, home: Home, strategy: str, start: int, steps: int) -> None:
        self._home, self._strategy, self._start, self._steps = home, strategy, start, steps

    def remedies(self, energy_cost: float) -> tuple[Remedy, ...]:
        """Return every remedy that the home allows, from its energy cost as set."""
        return tuple(self._told(*each, energy_cost) for each in self._kinds())

    def _kinds(self) -> Iterator[tuple[str, Callable[[int], Home], Callable[[int], float | None], int, int]]:
        """Yield name, the home by size, the value by size, and the smallest and largest size."""
        home, scenario = self._home, self._home.scenario
        battery, generator = scenario.battery_in_use, scenario.generator_in_use
        if battery is None or not can_island(home):
            return
        if home.stays_connected:
            least = round(100 * min(now.reserve for now in scenario.strategy(self._strategy).settings()))
            if least < 100:
                yield "reserve", self._with_reserve, lambda percent: percent / 100, least + 1, 100
        if generator is not None and generator.may_start:
            yield "may_start", lambda _: self._changed({"generator.may_start": None}), lambda _: None, 0, 0
        if generator is not None and generator.tank_liters is not None:
            least = int(generator.tank_liters) + 1
            yield "tank_liters", self._with_tank, float, least, max(least, _MOST_TIMES * least)
        if battery.bank is not None:
            row, others_kwh = battery.bank[0], battery.kwh - battery.bank[0].kwh
            each_kwh, most = row.kwh / row.strings, min(_MOST_STRINGS, _MOST_TIMES * row.strings)
            if row.strings < most:
                yield (
                    "battery_kwh",
                    lambda strings: self._changed({"battery.bank.0.strings": strings}),
                    lambda strings: others_kwh + strings * each_kwh,
                    row.strings + 1,
                    most,
                )
        else:
            least, most = int(battery.kwh / _HALF_KWH) + 1, int(min(_MOST_KWH, _MOST_TIMES * battery.kwh) / _HALF_KWH)
            if least <= most:
                yield (
                    "battery_kwh",
                    lambda halves: self._changed({"battery.capacity_kwh": halves * _HALF_KWH}),
                    lambda halves: halves * _HALF_KWH,
                    least,
                    most,
                )

    def _told(
        self,
        what: str,
        home_at: Callable[[int], Home],
        value_at: Callable[[int], float | None],
        least: int,
        most: int,
        energy_cost: float,
    ) -> Remedy:
        """Search the smallest size that suffices; the largest where none does."""
        low, size, stride, found = least, least, 1, self._outcome(home_at(least))
        while found[0] > 0.0 and size < most:
            low, size = size + 1, min(most, size + stride)
            found = self._outcome(home_at(size))
            stride *= 2 if most - least > _ONE_BY_ONE else 1
        while found[0] == 0.0 and low < size:
            middle = (low + size) // 2
            between = self._outcome(home_at(middle))
            low, size, found = (low, middle, between) if between[0] == 0.0 else (middle + 1, size, found)
        return Remedy(what, found[0] == 0.0, value_at(size), found[0], found[1] - energy_cost)

    def _outcome(self, home: Home) -> tuple[float, float]:
        """Return what a home leaves unserved in the outage [kWh], and the energy cost of its year."""
        ledger = close_year(home, self._strategy)
        year = ledger.flows.year
        unserved_kwh = 0.0 if year is None else float(unserved_by_step(year, self._start, self._steps)[0].sum())
        return unserved_kwh if unserved_kwh > _NOTHING_KWH else 0.0, ledger.energy_cost

    def _with_reserve(self, percent: int) -> Home:
        """Return the home with at least this reserve in every hour."""
        return keeping(self._home, self._strategy, percent / 100, lowers=False)[0]

    def _with_tank(self, liters: int) -> Home:
        return self._changed({"generator.tank_liters": float(liters)})

    def _changed(self, changes: Mapping[str, Any]) -> Home:
        """Return the home with changes of its battery or generator; sky, load and prices stay."""
        home = self._home
        household = Household(home.load_kw, home.critical_kw, {}, None, home.load_notes)
        bank = None if any(key.startswith("battery") for key in changes) else home.bank
        known = Parts(home.timeline, home.weather, home.prices, home.dispatches, bank, home.production)
        return home_from(home.scenario.changed(changes), household, known)
