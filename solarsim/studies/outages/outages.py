"""Everything about outages: a scenario and a strategy in; survival, what reserve costs, drawn years, own events out."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from solarsim.clock.windows import steps_in_any
from solarsim.dispatch.supply import outage_starts
from solarsim.home import Home, home_of
from solarsim.ledger.generator import fuel_liters
from solarsim.run import Run, close_year, simulate
from solarsim.scenario.backup.backup import Motor
from solarsim.scenario.model import Scenario
from solarsim.studies.outages.island import (
    Survival,
    arrangement_of,
    can_island,
    island_of,
    keeping,
    standby_of,
    survival_of,
    without_generator,
    without_outages,
)
from solarsim.studies.outages.random_outages import Drawn, Missed, draw_outages, missed_in
from solarsim.studies.outages.reserve import ReservePoint, reserve_curve

_NOTHING_KW = 1e-9


class Variant(NamedTuple):
    """One way to meet outages.

    Attributes
    ----------
    keeps_reserve : bool
        As programmed; False: every reserve lowered to the battery's low cutoff.
    with_generator : bool
        The home's generator comes in.
    survival : Survival
        From every start of the year.
    missed : Missed or None
        In drawn years, where the scenario says how often the grid fails.
    """

    keeps_reserve: bool
    with_generator: bool
    survival: Survival
    missed: Missed | None


class EventLoss(NamedTuple):
    """What one of the scenario's own outages leaves unserved.

    Attributes
    ----------
    start : str
        When it begins, by the wall clock.
    hours : int
        How long it lasts [h].
    unserved_kwh : float
        Of the home's demand [kWh].
    dark_kwh : float
        Of that, what is not behind the inverter [kWh].
    critical_kwh : float
        Of that, what is critical [kWh].
    missing_h, critical_h : float
        Time in which something that is backed up, or something critical, is missing: whole steps, and of
        transfers their minutes; of a grid-tied home all of it [h].
    generator_h : float
        Hours in which a generator runs [h].
    liters : float
        What it burns in them [l].
    """

    start: str
    hours: int
    unserved_kwh: float
    dark_kwh: float
    critical_kwh: float
    missing_h: float
    critical_h: float
    generator_h: float
    liters: float


class MotorStart(NamedTuple):
    """Whether the largest motor starts on the inverter.

    Attributes
    ----------
    motor : Motor
        What starts.
    beside_kw : float
        Mean of all that is backed up, the motor's own share included [kW].
    needed_kw : float
        Both together, for a moment [kW].
    inverter_kw : float
        What the inverter gives for that moment [kW].
    bank_kw : float
        What the battery gives at its coldest in the year; infinite where nothing limits it [kW].
    """

    motor: Motor
    beside_kw: float
    needed_kw: float
    inverter_kw: float
    bank_kw: float

    @property
    def starts(self) -> bool:
        """Whether both suffice."""
        return self.needed_kw <= min(self.inverter_kw, self.bank_kw)


class Changeover(NamedTuple):
    """What a transfer by hand costs before the island stands.

    Attributes
    ----------
    away : float
        Share of the year's starts at which nobody is there, 0-1.
    mean_wait_h, longest_wait_h : float
        Dark until somebody is, over those starts [h].
    """

    away: float
    mean_wait_h: float
    longest_wait_h: float


@dataclass(frozen=True, eq=False)
class OutageStudy:
    """What outages mean for one strategy.

    Attributes
    ----------
    home : Home
        The scenario's.
    strategy : str
        Its name.
    run : Run
        Its year, the scenario's own outages in it.
    variants : tuple of Variant
        With and without reserve, with and without generator; as it is comes first.
    baseline_bill : float
        Of a year without outages and without any system [currency].
    reserve : tuple of ReservePoint
        What each level of reserve costs and gives; none where a reserve has no meaning.
    events : tuple of EventLoss
        The scenario's own outages.
    drawn : Drawn or None
        Outages of many years.
    motor : MotorStart or None
        Whether the largest motor starts.
    transfer : Transfer or None
        Of a transfer by hand.
    above_rating_h : float
        Time of the year in which more is backed up than the inverter gives [h].
    """

    home: Home
    strategy: str
    run: Run
    variants: tuple[Variant, ...]
    baseline_bill: float
    reserve: tuple[ReservePoint, ...]
    events: tuple[EventLoss, ...]
    drawn: Drawn | None
    motor: MotorStart | None
    transfer: Changeover | None
    above_rating_h: float


def outages(
    scenario: Scenario, strategy: str | None = None, years: int = 1000, seed: int = 1, home: Home | None = None
) -> OutageStudy:
    """Tell what outages mean for one strategy.

    Parameters
    ----------
    scenario : Scenario
        With an arrangement.
    strategy : str, optional
        The name of one of its strategies; the first one, if left out.
    years : int
        How many years of outages are drawn, where the scenario says how often the grid fails.
    seed : int
        Of the draws.
    home : Home, optional
        From ``home_from`` of this scenario.

    Returns
    -------
    OutageStudy
        All of it.

    Raises
    ------
    ScenarioError
        The scenario has no arrangement, or no grid that could fail.
    InputError
        See ``home_from``; or the strategy is not in the scenario.
    ValueError
        See ``home_of``.
    """
    name = (scenario.strategies[0] if strategy is None else scenario.strategy(strategy)).name
    arrangement_of(scenario)
    home = home_of(scenario, home)
    normal = without_outages(home)
    frequency = None if scenario.outages is None else scenario.outages.frequency
    drawn = None if frequency is None else draw_outages(frequency, home.timeline, years, seed)
    run = simulate(scenario, name, home)
    supply = normal.supply
    backed_kw = np.zeros(len(home.timeline)) if supply is None else supply.backed_kw
    return OutageStudy(
        home=home,
        strategy=name,
        run=run,
        variants=_variants(normal, name, drawn),
        baseline_bill=close_year(normal, None).annual_bill,
        reserve=reserve_curve(normal, name) if can_island(home) and home.stays_connected else (),
        events=_event_losses(home, run),
        drawn=drawn,
        motor=_motor_start(home),
        transfer=_transfer(home),
        above_rating_h=float((backed_kw > scenario.inverter.ac_kw).sum()) * home.timeline.step_h,
    )


def _variants(normal: Home, strategy: str, drawn: Drawn | None) -> tuple[Variant, ...]:
    battery = normal.scenario.battery_in_use
    homes = [(True, normal)]
    # Whoever lives off the grid keeps no reserve: the battery serves down to its low cutoff.
    if can_island(normal) and normal.stays_connected and battery is not None:
        homes.append((False, keeping(normal, strategy, battery.low_cutoff)[0]))
    variants = []
    for with_generator in (True, False) if normal.scenario.generator_in_use is not None else (False,):
        for keeps_reserve, home in homes:
            island = island_of(home if with_generator else without_generator(home), strategy)
            missed = None if drawn is None else missed_in(island, drawn)
            variants.append(Variant(keeps_reserve, with_generator, survival_of(island), missed))
    return tuple(variants)


def _event_losses(home: Home, run: Run) -> tuple[EventLoss, ...]:
    """Take the scenario's outages out of the year's flows; what is critical is shed last."""
    scenario, supply, step_h = home.scenario, home.supply, home.timeline.step_h
    if supply is None or scenario.outages is None:
        return ()
    flows, standby_kw = run.flows, standby_of(home)
    demand_kw = home.load_kw + standby_kw
    # During a transfer everything is dark, critical or not.
    stands = np.divide(supply.transfer_kw, supply.backed_kw, out=np.zeros_like(demand_kw), where=supply.backed_kw > 0.0)
    short_kw = np.maximum(0.0, flows["unserved_kw"] - (demand_kw - supply.transfer_kw))
    critical_kw = np.minimum(demand_kw, home.critical_kw + standby_kw)
    shed_first_kw = np.maximum(0.0, supply.backed_kw - critical_kw) * stands
    critical_short_kw = np.maximum(0.0, short_kw - shed_first_kw)
    critical_missing_kw = critical_kw * (1.0 - stands) + critical_short_kw
    changing = np.where(supply.backed_kw > 0.0, 1.0 - stands, 0.0 if can_island(home) else 1.0)
    missing = np.where(short_kw > _NOTHING_KW, 1.0, changing)
    critical_missing = np.where(critical_short_kw > _NOTHING_KW, 1.0, changing) * (critical_kw > 0.0)
    runs = flows.generator_runs
    events = scenario.outages.events
    losses = []
    for start, event in zip(outage_starts(events, home.timeline), events, strict=True):
        steps = np.arange(start, start + round(event.hours / step_h)) % len(home.timeline)
        run_h = float(runs[steps].sum()) * step_h
        generated_kwh = float(flows["generator_kw"][steps].sum()) * step_h
        losses.append(
            EventLoss(
                start=f"{event.start:%Y-%m-%d %H:%M}",
                hours=event.hours,
                unserved_kwh=float(flows["unserved_kw"][steps].sum()) * step_h,
                dark_kwh=float((demand_kw - supply.backed_kw)[steps].sum()) * step_h,
                critical_kwh=float(critical_missing_kw[steps].sum()) * step_h,
                missing_h=float(missing[steps].sum()) * step_h,
                critical_h=float(critical_missing[steps].sum()) * step_h,
                generator_h=run_h,
                liters=0.0
                if scenario.generator_in_use is None
                else fuel_liters(scenario.generator_in_use, run_h, generated_kwh),
            )
        )
    return tuple(losses)


def _motor_start(home: Home) -> MotorStart | None:
    """Set a motor's moment of starting against inverter and bank; the sun's help and the stage's loss stay out."""
    arrangement, supply = home.scenario.arrangement, home.supply
    if arrangement is None or not arrangement.islands or arrangement.motor is None or supply is None:
        return None
    motor, beside_kw = arrangement.motor, float(supply.backed_kw.mean())
    return MotorStart(
        motor=motor,
        beside_kw=beside_kw,
        needed_kw=motor.kw * motor.start_factor + beside_kw,
        inverter_kw=home.scenario.inverter.surge_kw or 0.0,  # refused where it is missing
        bank_kw=float(home.bank.cells.discharge_kw.min()),
    )


def _transfer(home: Home) -> Changeover | None:
    arrangement, step_h = home.scenario.arrangement, home.timeline.step_h
    if arrangement is None or arrangement.kind != "hybrid" or arrangement.transfer != "by_hand":
        return None
    there = np.flatnonzero(steps_in_any(arrangement.at_home, home.timeline, "arrangement.at_home"))
    size = len(home.timeline)
    steps = np.arange(size)
    following = np.concatenate([there, there[:1] + size])[np.searchsorted(there, steps)]
    wait_h = (following - steps) * step_h
    away = wait_h > 0.0
    return Changeover(
        away=float(away.mean()),
        mean_wait_h=float(wait_h[away].mean()) if away.any() else 0.0,
        longest_wait_h=float(wait_h.max()),
    )
