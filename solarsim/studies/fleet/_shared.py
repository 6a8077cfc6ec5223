"""Parts that homes share: scenarios in; their homes out, with weather, sky, production and the like made once each.

Every part is kept under the content that it is made from, so that a home does not depend on which came before it.
"""

from collections import OrderedDict
from collections.abc import Callable, Mapping
from typing import Any, TypeVar, cast

import numpy as np
from pydantic import BaseModel

from solarsim.clock.timeline import Timeline
from solarsim.dispatch.strategy import dispatch_from
from solarsim.engine.records import Dispatch
from solarsim.errors import ScenarioError
from solarsim.hardware.cell_temperature import bank_over_year
from solarsim.hardware.limits import limits_from
from solarsim.home import Home, Parts, home_from
from solarsim.ledger.prices import prices_from
from solarsim.load.household import household_load
from solarsim.production.power import DcPower
from solarsim.scenario.model import Scenario
from solarsim.weather.source import weather_for
from solarsim.weather.typical_year import Weather

T = TypeVar("T")
_SKY_BYTES = 1_000_000  # of hours, with the planes that it keeps
#: How much of each kind is kept [bytes]: most for what is small and takes long to make, weather and sky above all.
LIMITS = {
    "timeline": 2_000_000,
    "weather": 8_000_000,
    "sky": 10_000_000,
    "production": 12_000_000,
    "bank": 4_000_000,
    "load": 4_000_000,
    "prices": 4_000_000,
    "dispatches": 8_000_000,
}


class SharedParts:
    """The parts of the homes that were asked for last, within ``LIMITS``; the newest of a kind is kept in any case."""

    def __init__(self) -> None:
        self._kept: dict[str, OrderedDict[tuple[object, ...], tuple[Any, int]]] = {}
        self._bytes: dict[str, int] = dict.fromkeys(LIMITS, 0)

    def home(self, scenario: Scenario) -> Home:
        """Return the home of a scenario, as ``home_from`` does, from parts that are kept where they are the same."""
        year = (scenario.file("."), _text(scenario.site))
        timeline = self._part(("timeline", *year), scenario.site.timeline)
        try:
            prices = self._part(
                ("prices", *year, _text(scenario.rate_plan)), lambda: prices_from(scenario.rate_plan, timeline)
            )
            dispatches = self._part(self._dispatch_key(scenario, year), lambda: _dispatches(scenario, timeline))
            limits = limits_from(scenario.inverter, scenario.battery_in_use, timeline.step_h)
        except ScenarioError:
            return home_from(scenario)  # which tells all that is wrong
        sky = (*year, _text(scenario.weather))
        weather = self._part(("weather", *sky), lambda: weather_for(scenario, timeline))
        cells = (*sky, _text(scenario.battery_in_use), limits.charge_kw, limits.discharge_kw)
        bank = self._part(("bank", *cells), lambda: bank_over_year(scenario.battery_in_use, limits, weather.temp_air_c))
        load = ("load", *sky, _text(scenario.load))
        household = self._part(load, lambda: household_load(scenario, timeline, weather))
        production = self._production(scenario, sky, weather, timeline)
        return home_from(scenario, household, Parts(timeline, weather, prices, dispatches, bank, production))

    def _dispatch_key(self, scenario: Scenario, year: tuple[object, ...]) -> tuple[object, ...]:
        rules = "".join(map(_text, scenario.strategies))
        return ("dispatches", *year, rules, _text(scenario.grid), scenario.battery_v)

    def _production(self, scenario: Scenario, sky: tuple[object, ...], weather: Weather, timeline: Timeline) -> DcPower:
        from solarsim.production.dc_power import dc_power  # pvlib
        from solarsim.production.sky import Sky

        over = ("sky", *sky, _text(scenario.production.transposition), _text(scenario.precipitation))
        snow, rain = scenario.losses.array.snow_cover, scenario.losses.array.soiling_by_rain
        over = (*over, snow is not None, rain is not None)
        roof = (scenario.production, scenario.losses, *scenario.modules, *scenario.arrays, *scenario.ac_inverters)
        on_roof = "".join(map(_text, (*roof, *scenario.inverter.inputs)))

        def computed() -> DcPower:
            shared = self._part(over, lambda: Sky(scenario, weather, timeline), _SKY_BYTES)
            return dc_power(scenario, weather, timeline, sky=shared)

        return self._part(("production", *over, on_roof), computed)

    def _part(self, key: tuple[object, ...], make: Callable[[], T], size: int | None = None) -> T:
        """Return what is kept under a key, its kind first, or make it; what was not asked for the longest goes."""
        kind = str(key[0])
        kept = self._kept.setdefault(kind, OrderedDict())
        if key in kept:
            kept.move_to_end(key)
            return cast(T, kept[key][0])
        made = make()
        kept[key] = made, _bytes_of(made) if size is None else size
        self._bytes[kind] += kept[key][1]
        while self._bytes[kind] > LIMITS[kind] and len(kept) > 1:
            self._bytes[kind] -= kept.popitem(last=False)[1][1]
        return made


def _dispatches(scenario: Scenario, timeline: Timeline) -> dict[str, Dispatch]:
    return {each.name: dispatch_from(each, scenario.grid, timeline, scenario.battery_v) for each in scenario.strategies}


def _text(table: object) -> str:
    """Return a table of a scenario as text: the same for the same content."""
    return table.model_dump_json() if isinstance(table, BaseModel) else repr(table)


def _bytes_of(part: object, seen: set[int] | None = None) -> int:
    """Return about how much memory the arrays of a part take; an array that is in it twice counts once."""
    seen = set() if seen is None else seen
    if id(part) in seen:
        return 0
    seen.add(id(part))
    if isinstance(part, np.ndarray):
        return part.nbytes
    if isinstance(part, Mapping):
        inner = list(part.values())
    elif isinstance(part, tuple | list):
        inner = list(part)
    elif isinstance(part, BaseModel):
        return 0
    else:
        inner = list(vars(part).values()) if hasattr(part, "__dict__") else []
    return sum(_bytes_of(each, seen) for each in inner)
