"""What a reserve costs and what it covers: a home and a strategy in; one point for each level of reserve out."""

from dataclasses import dataclass

from solarsim.home import Home
from solarsim.ledger.money import annual_savings
from solarsim.results import Result, fact
from solarsim.run import close_year
from solarsim.studies.outages._island import HOURS, backup_of, island_of, keeping, without_generator
from solarsim.studies.outages._random_outages import Drawn, unserved_in

_STEPS = 10


@dataclass(frozen=True, eq=False, repr=False)
class ReservePoint(Result):
    """One level of reserve, with battery and sun alone."""

    reserve: float = fact("state of charge kept in every hour, 0-1", "1")
    held: bool = fact(
        "whether some setting keeps less: one that exports, or a ceiling for solar charging", "true or false"
    )
    energy_cost: float = fact("of a year without outages", "currency")
    reserve_cost: float = fact("energy_cost less that of the lowest reserve", "currency a year")
    annual_savings: float | None = fact("against the home without any system, in a year without outages", "currency")
    unserved_kwh: float | None = fact("in outages of a year, mean; null where none were drawn", "kWh")
    outage_cost: float | None = fact("unserved_kwh x value of lost load; null without either", "currency")
    outages_covered: tuple[float, ...] = fact("share of outages served to the end, by outage_h", "list")


def reserve_levels(lowest: float) -> list[float]:
    """Return the levels of reserve to simulate: the lowest, and every tenth above it up to full."""
    return [lowest, *(tenth / _STEPS for tenth in range(1, _STEPS + 1) if tenth / _STEPS > lowest + 1e-9)]


def reserve_curve(home: Home, strategy: str, drawn: Drawn | None) -> tuple[ReservePoint, ...]:
    """Simulate a strategy with every level of reserve, without a generator, which would hide what a reserve does."""
    home = without_generator(home)
    battery, value = home.scenario.battery_in_use, home.scenario.value_of_lost_load
    baseline = close_year(home, None)
    points: list[ReservePoint] = []
    for level in reserve_levels(0.0 if battery is None else battery.low_cutoff):
        changed, held = keeping(home, strategy, level)
        island = island_of(changed, strategy)
        cost, backup = island.ledger.energy_cost, backup_of(island)
        unserved_kwh = None if drawn is None else unserved_in(island, drawn).mean_kwh
        points.append(
            ReservePoint(
                reserve=level,
                held=held,
                energy_cost=cost,
                reserve_cost=cost - points[0].energy_cost if points else 0.0,
                annual_savings=annual_savings(island.ledger, baseline),
                unserved_kwh=unserved_kwh,
                outage_cost=None if value is None or unserved_kwh is None else value * unserved_kwh,
                outages_covered=tuple(backup.covered(hours) for hours in HOURS),
            )
        )
    return tuple(points)
