"""From arrangement, outages and generator to the dispatch: who may serve in each step while the grid is out."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline
from solarsim.clock.windows import steps_in_any
from solarsim.engine.records import Dispatch
from solarsim.errors import ScenarioError
from solarsim.scenario.backup.backup import Arrangement, Generator, Outage


@dataclass(frozen=True, eq=False)
class Supply:
    """What the inverter backs up, and when grid and generator are available; one entry for each step.

    Attributes
    ----------
    grid : array of bool
        The grid is there.
    backed_kw : array of float
        Demand that is served without it, standby included, once the transfer is over [kW].
    transfer_kw : array of float
        The same within the outages of the scenario, less the part of a step that the transfer takes [kW].
    generator_may_start : array of bool
        Outside its quiet hours.
    tank_filled : array of bool
        Its tank is filled while the grid is out.
    stays_connected : bool
        False for a home off the grid: it never exports, and its battery does not discharge while it is on the grid.
    """

    grid: NDArray[np.bool_]
    backed_kw: NDArray[np.float64]
    transfer_kw: NDArray[np.float64]
    generator_may_start: NDArray[np.bool_]
    tank_filled: NDArray[np.bool_]
    stays_connected: bool

    def later(self, load_factor: float, standby_kw: NDArray[np.float64]) -> "Supply":
        """Compute the supply of a year with another load.

        Parameters
        ----------
        load_factor : float
            Load / today's, in every step.
        standby_kw : array of float
            Part of the backed up demand that is standby, and stays as it is [kW].

        Returns
        -------
        Supply
            The transfers take the same share of each step.
        """
        if self.stays_connected and self.grid.all():  # the home is never an island, in no year
            return self
        backed_kw = np.where(self.backed_kw > 0.0, standby_kw + load_factor * (self.backed_kw - standby_kw), 0.0)
        share = np.divide(self.transfer_kw, self.backed_kw, out=np.zeros_like(backed_kw), where=self.backed_kw > 0.0)
        return replace(self, backed_kw=backed_kw, transfer_kw=backed_kw * share)


def supply_from(
    arrangement: Arrangement,
    events: tuple[Outage, ...],
    generator: Generator | None,
    timeline: Timeline,
    demand_kw: NDArray[np.float64],
    critical_kw: NDArray[np.float64],
) -> Supply:
    """Build the supply of a year from arrangement, outages and generator.

    Parameters
    ----------
    arrangement : Arrangement
        How the home is connected to the grid.
    events : tuple of Outage
        When it fails.
    generator : Generator or None
        The generator, if any.
    timeline : Timeline
        The year.
    demand_kw : array of float
        The home's load and the inverter's standby [kW].
    critical_kw : array of float
        Part of it that stays on in an outage, standby included [kW].

    Returns
    -------
    Supply
        One entry for each step.

    Raises
    ------
    ScenarioError
        An outage is not in the year, two overlap, or a window never holds.
    """
    count = len(timeline)
    starts = outage_starts(events, timeline)
    grid = np.full(count, arrangement.has_grid)
    backed_kw = arrangement.served_without_grid(demand_kw, critical_kw).copy()
    transfer_kw = backed_kw.copy()
    at_home = steps_in_any(arrangement.at_home, timeline, "arrangement.at_home")
    for start, event in zip(starts, events, strict=True):
        steps = np.arange(start, start + round(event.hours / timeline.step_h)) % count
        grid[steps] = False
        if arrangement.kind == "hybrid":
            wait = 0 if arrangement.transfer == "automatic" else int(np.argmax([*at_home[steps], True]))
            transfer_steps = wait + (arrangement.transfer_seconds or 0.0) / 3600 / timeline.step_h
            transfer_kw[steps] *= np.clip(np.arange(1, steps.size + 1) - transfer_steps, 0.0, 1.0)
    return Supply(
        grid=grid,
        backed_kw=backed_kw,
        transfer_kw=transfer_kw,
        generator_may_start=(
            np.zeros(count, np.bool_)
            if generator is None
            else steps_in_any(generator.may_start, timeline, "generator.may_start")
        ),
        tank_filled=(
            np.zeros(count, np.bool_)
            if generator is None or not generator.refill
            else steps_in_any(generator.refill, timeline, "generator.refill")
        ),
        stays_connected=arrangement.kind != "off_grid",
    )


def with_supply(dispatch: Dispatch, supply: Supply) -> Dispatch:
    """Build a dispatch with the outages of the scenario.

    Parameters
    ----------
    dispatch : Dispatch
        A strategy's.
    supply : Supply
        The home's.

    Returns
    -------
    Dispatch
        The same rules; who may serve without the grid comes from the supply.
    """
    dispatch = dispatch._replace(
        grid=supply.grid,
        backed_kw=supply.transfer_kw,
        generator_may_start=supply.generator_may_start,
        tank_filled=supply.tank_filled,
    )
    if supply.stays_connected:
        return dispatch
    return dispatch._replace(
        serves_load=np.zeros_like(dispatch.serves_load),
        sell_to=np.ones_like(dispatch.sell_to),
        export_limit_kw=np.zeros_like(dispatch.export_limit_kw),
    )


def islanded(dispatch: Dispatch, supply: Supply) -> Dispatch:
    """Build a dispatch without the grid in every step, after the transfer: for an outage that starts anywhere.

    Parameters
    ----------
    dispatch : Dispatch
        A strategy's, with the supply.
    supply : Supply
        The home's.

    Returns
    -------
    Dispatch
        The grid is out throughout.
    """
    return dispatch._replace(grid=np.zeros_like(dispatch.grid), backed_kw=supply.backed_kw)


def outage_starts(events: tuple[Outage, ...], timeline: Timeline) -> list[int]:
    """Return the step at which each outage of a scenario begins.

    Parameters
    ----------
    events : tuple of Outage
        By the wall clock.
    timeline : Timeline
        The year.

    Returns
    -------
    list of int
        One for each outage.

    Raises
    ------
    ScenarioError
        An outage is not in the year, or two overlap.
    """
    problems, starts = [], []
    taken = np.zeros(len(timeline), np.bool_)
    for event in events:
        found = np.flatnonzero(timeline.wall == np.datetime64(event.start, "s"))
        if not found.size:
            problems.append(f"outages: {event.start:%Y-%m-%d %H:%M} is not a time of the wall clock in {timeline.year}")
            continue
        start = int(found[0])
        steps = np.arange(start, start + round(event.hours / timeline.step_h)) % len(timeline)
        if taken[steps].any() or steps.size > len(timeline):
            problems.append(f"outages: the one from {event.start:%Y-%m-%d %H:%M} on overlaps another")
        taken[steps] = True
        starts.append(start)
    if problems:
        raise ScenarioError(*problems)
    return starts
