"""The scenario's own outages: a home and its year in; what each leaves unserved, when, why and what helps, out."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from solarsim.dispatch.supply import Supply, outage_starts
from solarsim.home import Home
from solarsim.ledger.generator import fuel_liters
from solarsim.results import Result, fact
from solarsim.run import Run
from solarsim.studies.outages._island import Floats, Ints, can_island, standby_of
from solarsim.studies.outages._remedies import Remedy, Search
from solarsim.studies.outages._shortfalls import (
    GRID_TIED,
    NO_ONE_AT_HOME,
    Shortfall,
    shortfalls,
    unserved_by_step,
)

_NOTHING_KW = 1e-9
MOST_SEARCHED = 6  # remedies are sought for so many outages, those with the largest shortfalls


@dataclass(frozen=True, eq=False, repr=False)
class EventLoss(Result):
    """What one of the scenario's own outages leaves unserved; without a grid connection, what the year does."""

    start: str = fact("when it begins, by the wall clock", "date and time")
    hours: int = fact("its duration", "h")
    unserved_kwh: float = fact("unserved demand of the home", "kWh")
    not_backed_up_kwh: float = fact("of that, demand that is not backed up", "kWh")
    critical_unserved_kwh: float = fact("of that, critical demand", "kWh")
    unserved_h: float = fact(
        "time in which backed-up demand is unserved: whole steps, and minutes of a transfer; all in a grid-tied home",
        "h",
    )
    critical_unserved_h: float = fact("time in which critical demand is unserved", "h")
    generator_h: float = fact("hours in which a generator runs", "h")
    liters: float = fact("fuel in these hours", "l")
    shortfalls: tuple[Shortfall, ...] = fact("when backed-up demand is unserved, and why", "table")
    remedies: tuple[Remedy, ...] = fact(
        "what alone would have prevented the shortfalls, found by running the year again; empty without any, and"
        f" beyond the {MOST_SEARCHED} largest",
        "table",
    )


class _Outage(NamedTuple):
    """One outage: the wall clock when it begins, its duration [h], its first step and all its steps."""

    start: str
    hours: int
    first: int
    steps: Ints


class _Unserved(NamedTuple):
    """What is unserved in each step of the year, as far as the grid is out [kW], and the share of time [0-1]."""

    demand_kw: Floats
    transferred: Floats  # share of the step after the transfer
    critical_kw: Floats
    short: Floats
    critical_short: Floats


def event_losses(home: Home, run: Run) -> tuple[EventLoss, ...]:
    """Return what the scenario's outages leave unserved, from the year's flows; critical demand is shed last.

    The year of a home without a grid connection is one outage.
    """
    supply, unserved = home.supply, _unserved(home, run)
    if supply is None or unserved is None:
        return ()
    found = [_loss(home, supply, run, unserved, each) for each in _outages(home)]
    largest = sorted((each for each in found if each.shortfalls), key=_shortfall_kwh, reverse=True)[:MOST_SEARCHED]
    return tuple(
        replace(loss, remedies=Search(home, run.strategy, each.first, each.steps.size).remedies(run.energy_cost))
        if loss in largest
        else loss
        for loss, each in zip(found, _outages(home), strict=True)
    )


def _shortfall_kwh(loss: EventLoss) -> float:
    """Return the backed-up demand that an outage leaves unserved [kWh]."""
    return sum(each.unserved_kwh for each in loss.shortfalls)


def _outages(home: Home) -> list[_Outage]:
    """Return the outages of the scenario; the whole year where there is no grid."""
    timeline, scenario = home.timeline, home.scenario
    if not home.has_grid:
        return [_Outage(f"{timeline.wall[0].item():%Y-%m-%d %H:%M}", 8760, 0, np.arange(len(timeline)))]
    events = () if scenario.outages is None else scenario.outages.events
    return [
        _Outage(
            f"{event.start:%Y-%m-%d %H:%M}",
            event.hours,
            start,
            np.arange(start, start + round(event.hours / timeline.step_h)) % len(timeline),
        )
        for start, event in zip(outage_starts(events, timeline), events, strict=True)
    ]


def _unserved(home: Home, run: Run) -> _Unserved | None:
    """Return what is unserved in each step, critical demand last; during a transfer nothing is served."""
    supply = home.supply
    if supply is None:
        return None
    standby_kw = standby_of(home)
    demand_kw = home.load_kw + standby_kw
    transferred = np.divide(
        supply.transfer_kw, supply.backed_kw, out=np.zeros_like(demand_kw), where=supply.backed_kw > 0.0
    )
    short_kw = np.maximum(0.0, run.flows["unserved_kw"] - (demand_kw - supply.transfer_kw))
    critical_kw = np.minimum(demand_kw, home.critical_kw + standby_kw)
    shed_first_kw = np.maximum(0.0, supply.backed_kw - critical_kw) * transferred
    critical_short_kw = np.maximum(0.0, short_kw - shed_first_kw)
    transfer = np.where(supply.backed_kw > 0.0, 1.0 - transferred, 0.0 if can_island(home) else 1.0)
    return _Unserved(
        demand_kw=demand_kw,
        transferred=transferred,
        critical_kw=critical_kw * (1.0 - transferred) + critical_short_kw,
        short=np.where(short_kw > _NOTHING_KW, 1.0, transfer),
        critical_short=np.where(critical_short_kw > _NOTHING_KW, 1.0, transfer) * (critical_kw > 0.0),
    )


def _loss(home: Home, supply: Supply, run: Run, unserved: _Unserved, outage: _Outage) -> EventLoss:
    """Return what one outage leaves unserved; its remedies are not known yet."""
    flows, steps, step_h, generator = run.flows, outage.steps, home.timeline.step_h, home.scenario.generator_in_use
    run_h = float(flows.generator_runs[steps].sum()) * step_h
    generated_kwh = float(flows["generator_kw"][steps].sum()) * step_h
    return EventLoss(
        start=outage.start,
        hours=outage.hours,
        unserved_kwh=float(flows["unserved_kw"][steps].sum()) * step_h,
        not_backed_up_kwh=float((unserved.demand_kw - supply.backed_kw)[steps].sum()) * step_h,
        critical_unserved_kwh=float(unserved.critical_kw[steps].sum()) * step_h,
        unserved_h=float(unserved.short[steps].sum()) * step_h,
        critical_unserved_h=float(unserved.critical_short[steps].sum()) * step_h,
        generator_h=run_h,
        liters=0.0 if generator is None else fuel_liters(generator, run_h, generated_kwh),
        shortfalls=_shortfalls(home, supply, run, unserved, outage),
        remedies=(),
    )


def _shortfalls(home: Home, supply: Supply, run: Run, unserved: _Unserved, outage: _Outage) -> tuple[Shortfall, ...]:
    """Return when an outage falls short; the seconds of an automatic transfer are none."""
    steps, year, arrangement = outage.steps, run.flows.year, home.scenario.arrangement
    if not can_island(home):
        unserved_kwh = unserved.demand_kw[steps] * home.timeline.step_h
        return shortfalls(home, steps, unserved_kwh, np.full(steps.size, GRID_TIED))
    if year is None:
        return ()
    unserved_kwh, why = unserved_by_step(year, outage.first, steps.size)
    if arrangement is not None and arrangement.transfer == "by_hand" and home.stays_connected:
        waits_kw = (supply.backed_kw - supply.transfer_kw)[steps]
        unserved_kwh = unserved_kwh + waits_kw * home.timeline.step_h
        why = np.where(waits_kw > _NOTHING_KW, NO_ONE_AT_HOME, why)
    return shortfalls(home, steps, unserved_kwh, why)
