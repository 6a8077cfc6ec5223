"""Outages: a scenario and a strategy in; backup duration, outages covered, the cost of a reserve, own events, out."""

from dataclasses import dataclass
from math import inf, isfinite

import numpy as np

from solarsim.clock.windows import steps_in_any
from solarsim.home import Home, home_of
from solarsim.results import Result, computed, fact
from solarsim.run import Run, simulate
from solarsim.scenario.backup.backup import Motor
from solarsim.scenario.model import Scenario
from solarsim.scenario.needs import ARRANGEMENT, require
from solarsim.studies.outages._ends import BackupEnd, backup_ends
from solarsim.studies.outages._events import EventLoss, event_losses
from solarsim.studies.outages._island import (
    HOURS,
    Backup,
    arrangement_of,
    backup_of,
    can_island,
    island_of,
    keeping,
    without_generator,
    without_outages,
)
from solarsim.studies.outages._random_outages import Drawn, UnservedInOutages, draw_outages, unserved_in
from solarsim.studies.outages._reserve import ReservePoint, reserve_curve

#: What the command needs beyond what every scenario has.
NEEDS = (ARRANGEMENT,)


@dataclass(frozen=True, eq=False, repr=False)
class BackupMonth(Result):
    """How long the home stays supplied in outages that start in one month, or in any."""

    month: int | None = fact("of the start, 1 to 12; null: the year", "1")
    backup_duration_h: float = fact("time until backed-up demand is unserved, median of all starts; at most 72", "h")
    p90_backup_duration_h: float = fact("the same, reached or exceeded from 90% of the starts", "h")
    shortest_backup_duration_h: float = fact("the same, shortest of all starts", "h")
    outages_covered: tuple[float, ...] = fact("share of outages served to the end, by outage_h", "list")


@dataclass(frozen=True, eq=False, repr=False)
class Variant(Result):
    """One way to meet outages."""

    backup: Backup  # from every start of the year
    keeps_reserve: bool = fact("as set; false: every reserve lowered to the low cutoff of the battery", "true or false")
    with_generator: bool = fact("whether the generator of the home runs", "true or false")
    year: BackupMonth = fact("outages that start at any time of the year", "record")
    drawn: UnservedInOutages | None = fact("unserved in drawn years; null where none were drawn", "record")


@dataclass(frozen=True, eq=False, repr=False)
class DrawnYears(Result):
    """Randomly drawn outages."""

    years: int = fact("how many were drawn", "years")
    seed: int = fact("of the random numbers", "1")
    outages: int = fact("in all years", "1")
    out_h: float = fact("without the grid, mean of a year: SAIDI of the draws", "h")
    longest_h: float = fact("the longest outage", "h")
    shortened: int = fact("how many were cut to the longest that is simulated, 720 h", "1")


@dataclass(frozen=True, eq=False, repr=False)
class MotorStart(Result):
    """Whether the largest motor starts on the inverter."""

    motor: Motor
    needed_kw: float = fact("starting power of the motor, and beside_kw", "kW")
    beside_kw: float = fact("mean of all backed-up demand, the motor's own share included", "kW")
    inverter_kw: float = fact("surge rating of the inverter", "kW")
    bank_kw: float | None = fact(
        "what the battery delivers for the moment of a start, at its coldest in the year: its BMS surge current at the"
        " lowest voltage where wiring.battery states them, else its limit; null without a limit",
        "kW",
    )

    @computed("whether inverter and battery both suffice", "true or false")
    def motor_starts(self) -> bool:
        return self.needed_kw <= self.inverter_kw and (self.bank_kw is None or self.needed_kw <= self.bank_kw)


@dataclass(frozen=True, eq=False, repr=False)
class ManualTransfer(Result):
    """How long the home waits for a transfer by hand."""

    away: float = fact("share of the starts at which nobody is at home", "1")
    mean_wait_h: float = fact("without power until somebody is, mean of those starts", "h")
    longest_wait_h: float = fact("the longest of those waits", "h")


@dataclass(frozen=True, eq=False, repr=False)
class Outages(Result):
    """What outages mean for one strategy."""

    _rows = "months"

    home: Home
    run: Run  # its year, the scenario's own outages in it
    scenario: str = fact("name of the scenario", "text")
    currency: str = fact("ISO 4217 code", "text")
    strategy: str = fact("its name", "text")
    arrangement: str = fact("how the home is connected: grid_tied, hybrid or off_grid", "text")
    backed_up: str | None = fact(
        "what the inverter serves in an outage: all or critical; null without a choice", "text"
    )
    outage_h: tuple[int, ...] = fact("durations of the outages_covered lists", "h")
    months: tuple[BackupMonth, ...] = fact(
        "outages by the month of their start, as set; empty without a grid connection", "table"
    )
    ends: tuple[BackupEnd, ...] = fact("why backup ends, as set, the most frequent reason first", "table")
    variants: tuple[Variant, ...] = fact("as set; then without reserve, without generator", "table")
    reserve_curve: tuple[ReservePoint, ...] = fact("each level of reserve; battery and sun alone", "table")
    drawn: DrawnYears | None = fact("null where the scenario does not state how often the grid fails", "record")
    events: tuple[EventLoss, ...] = fact("the scenario's own outages; without a grid connection the year", "table")
    motor: MotorStart | None = fact("start of the largest motor; null where none is named", "record")
    transfer: ManualTransfer | None = fact("transfer by hand; null where it is automatic", "record")
    above_rating_h: float = fact("time of the year with more backed-up demand than the inverter's rating", "h")
    notes: tuple[str, ...] = fact("what a reader should know", "list")


def outages(
    scenario: Scenario, strategy: str | None = None, years: int = 1000, seed: int = 1, home: Home | None = None
) -> Outages:
    """Compute what outages mean for one strategy.

    Parameters
    ----------
    scenario : Scenario
        With an arrangement.
    strategy : str, optional
        The name of one of its strategies (default: the first).
    years : int
        How many years of outages are drawn, where the scenario states how often the grid fails.
    seed : int
        Of the random numbers.
    home : Home, optional
        From ``home_from`` of this scenario.

    Returns
    -------
    Outages
        Backup duration by month, outages covered, the cost of a reserve, drawn years, own outages.

    Raises
    ------
    ScenarioError
        The scenario has no arrangement.
    InputError
        See ``home_from``; or the strategy is not in the scenario.
    ValueError
        See ``home_of``.

    Examples
    --------
    >>> import solarsim
    >>> found = solarsim.outages(solarsim.read_scenario(), years=10)
    >>> len(found.months), found.outage_h[:4]
    (12, (1, 2, 4, 8))
    """
    name = (scenario.strategies[0] if strategy is None else scenario.strategy(strategy)).name
    require(scenario, *NEEDS)
    arrangement = arrangement_of(scenario)
    home = home_of(scenario, home)
    frequency = None if scenario.outages is None or not home.has_grid else scenario.outages.frequency
    drawn = None if frequency is None else draw_outages(frequency, home.timeline, years, seed)
    run = simulate(scenario, name, home)
    normal = without_outages(home) if home.has_grid else home
    variants = _variants(normal, name, drawn) if home.has_grid else ()
    backed_kw = np.zeros(len(home.timeline)) if normal.supply is None else normal.supply.backed_kw
    return Outages(
        home=home,
        run=run,
        scenario=scenario.name,
        currency=scenario.rate_plan.currency,
        strategy=name,
        arrangement=arrangement.kind,
        backed_up=arrangement.backed_up if arrangement.kind == "hybrid" else None,
        outage_h=HOURS,
        months=tuple(_backup_month(variants[0].backup, month) for month in range(1, 13) if variants),
        ends=backup_ends(variants[0].backup, home.timeline) if variants and can_island(home) else (),
        variants=variants,
        reserve_curve=reserve_curve(normal, name, drawn) if can_island(home) and home.stays_connected else (),
        drawn=None if drawn is None else _drawn_years(drawn, home.timeline.step_h),
        events=event_losses(home, run),
        motor=_motor_start(home),
        transfer=_transfer(home),
        above_rating_h=float((backed_kw > scenario.inverter.ac_kw).sum()) * home.timeline.step_h,
        notes=tuple(home.notes(run)),
    )


def _backup_month(backup: Backup, month: int | None) -> BackupMonth:
    """Return the backup duration of a month's starts, or of all."""
    return BackupMonth(
        month=month,
        backup_duration_h=backup.lowest_in(0.5, month),
        p90_backup_duration_h=backup.lowest_in(0.9, month),
        shortest_backup_duration_h=backup.lowest_in(1.0, month),
        outages_covered=tuple(backup.covered(hours, month) for hours in HOURS),
    )


def _drawn_years(drawn: Drawn, step_h: float) -> DrawnYears:
    """Return what was drawn."""
    return DrawnYears(
        years=drawn.years,
        seed=drawn.seed,
        outages=drawn.start.size,
        out_h=float(drawn.steps.sum()) * step_h / drawn.years,
        longest_h=float(drawn.steps.max(initial=0)) * step_h,
        shortened=drawn.shortened,
    )


def _variants(normal: Home, strategy: str, drawn: Drawn | None) -> tuple[Variant, ...]:
    """Simulate outages with and without reserve, with and without generator."""
    battery = normal.scenario.battery_in_use
    homes = [(True, normal)]
    # A home off the grid keeps no reserve: the battery serves down to its low cutoff.
    if can_island(normal) and normal.stays_connected and battery is not None:
        homes.append((False, keeping(normal, strategy, battery.low_cutoff)[0]))
    variants = []
    for with_generator in (True, False) if normal.scenario.generator_in_use is not None else (False,):
        for keeps_reserve, home in homes:
            island = island_of(home if with_generator else without_generator(home), strategy)
            unserved = None if drawn is None else unserved_in(island, drawn)
            backup = backup_of(island)
            variants.append(Variant(backup, keeps_reserve, with_generator, _backup_month(backup, None), unserved))
    return tuple(variants)


def _motor_start(home: Home) -> MotorStart | None:
    """Compare a motor's starting power with inverter and battery; solar power and conversion losses are left out."""
    arrangement, supply = home.scenario.arrangement, home.supply
    if arrangement is None or not arrangement.islands or arrangement.motor is None or supply is None:
        return None
    motor, beside_kw = arrangement.motor, float(supply.backed_kw.mean())
    bank_kw = _surge_kw(home)
    return MotorStart(
        motor=motor,
        beside_kw=beside_kw,
        needed_kw=motor.kw * motor.start_factor + beside_kw,
        inverter_kw=home.scenario.inverter.surge_kw or 0.0,  # refused where it is missing
        bank_kw=bank_kw if isfinite(bank_kw) else None,
    )


def _surge_kw(home: Home) -> float:
    """Return what the battery delivers for a moment, at its coldest in the year; infinite without a limit [kW]."""
    coldest_kw, limit_kw = float(home.bank.cells.discharge_kw.min()), home.limits.discharge_kw
    wiring = home.scenario.wiring
    circuit = None if wiring is None else wiring.battery
    if circuit is None or circuit.bms_surge_a is None or circuit.lowest_v is None:
        return coldest_kw
    # Cold cells deliver as much less for a moment as they do for long.
    cold = coldest_kw / limit_kw if 0.0 < limit_kw < inf else 1.0
    return cold * circuit.bms_surge_a * circuit.lowest_v / 1000.0


def _transfer(home: Home) -> ManualTransfer | None:
    """Return how long the home waits for somebody at home, in steps from each start."""
    arrangement, step_h = home.scenario.arrangement, home.timeline.step_h
    if arrangement is None or arrangement.kind != "hybrid" or arrangement.transfer != "by_hand":
        return None
    there = np.flatnonzero(steps_in_any(arrangement.at_home, home.timeline, "arrangement.at_home"))
    size = len(home.timeline)
    steps = np.arange(size)
    following = np.concatenate([there, there[:1] + size])[np.searchsorted(there, steps)]
    wait_h = (following - steps) * step_h
    away = wait_h > 0.0
    return ManualTransfer(
        away=float(away.mean()),
        mean_wait_h=float(wait_h[away].mean()) if away.any() else 0.0,
        longest_wait_h=float(wait_h.max()),
    )
