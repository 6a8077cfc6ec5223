"""What must hold of any home that loses its grid: random homes, outages, generators and arrangements."""

from math import inf, nan
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from solarsim.dispatch.supply import Supply, islanded, with_supply
from solarsim.engine.records import GENERATOR, GRID, State, Switching
from solarsim.engine.step import _delivered, run_outages
from solarsim.engine.year import MOST_PASSES, run_year
from solarsim.home import Home
from solarsim.ledger.flows import Flows, balance_error_kw, flows_from_year
from tests.builders import inputs_of
from tests.draws import Stretch, stretches
from tests.properties.test_books import BOOK_KW, books_by_outsider

NOTHING_KW = 1e-6


class Dark:
    """A random stretch with random outages, a generator, and an arrangement."""

    def __init__(self, stretch: Stretch, supply: Supply, switching: Switching) -> None:
        self.stretch, self.supply, self.switching = stretch, supply, switching
        self.dispatch = with_supply(stretch.dispatch, supply)

    def run(self) -> tuple[Flows, bool]:
        """Run it round; say whether it closed.

        A generator whose runs do not fit into the stretch may have a seam although the battery has none.
        """
        s = self.stretch
        year = run_year(inputs_of(s.limits, self.dispatch, s.pv_kw, s.load_kw, s.cells, self.switching))
        flows = flows_from_year(s.timeline, s.prices, year)
        return flows, year.passes < MOST_PASSES


@st.composite
def darks(draw: st.DrawFn, home: Home, steps: int, cold: bool = False, tank: bool = False) -> Dark:
    """Draw one; with a tank it has one that can run empty, and a battery that may wait to restart."""
    stretch = draw(stretches(home, steps, cold=cold))
    rng = np.random.default_rng(draw(st.integers(0, 2**32)))
    grid = np.repeat(rng.random(steps // 8) < draw(st.sampled_from([0.0, 0.5, 0.9, 1.0])), 8)
    demand_kw = stretch.load_kw + stretch.limits.standby_kw + stretch.cells.heater_kw
    backed_kw = demand_kw * draw(st.sampled_from([0.0, 0.4, 1.0]))
    off_grid = stretch.limits.capacity_kwh > 0.0 and draw(st.booleans())
    supply = Supply(
        grid=grid,
        backed_kw=backed_kw,
        transfer_kw=np.where(rng.random(steps) < 0.1, 0.5, 1.0) * backed_kw,
        tank_filled=np.repeat(rng.random(steps // 8) < (draw(st.sampled_from([0.0, 0.1])) if tank else 0.0), 8),
        generator_may_start=rng.random(steps) < draw(st.sampled_from([0.0, 0.7, 1.0])),
        stays_connected=not off_grid,
    )
    low, high = sorted(draw(st.lists(st.floats(0.0, 0.95), min_size=2, max_size=2, unique=True)))
    grid_low, grid_high = (low, high) if off_grid and draw(st.booleans()) else (1.0, 1.0)
    switching = Switching(
        draw(st.floats(0.3, 9.0)), low, high, float(draw(st.integers(0, 6))), draw(st.floats(0.0, 6.0)), grid_low,
        grid_high,
    )  # fmt: skip
    if tank:
        per_h, per_kwh = draw(st.floats(0.0, 1.0)), draw(st.floats(0.0, 0.5))
        switching = switching._replace(
            tank_liters=draw(st.floats(0.0, 40.0)),
            liters_per_h=per_h,
            liters_per_kwh=per_kwh,
            battery_restart=draw(st.sampled_from([-1.0, 0.3, 0.8])),
        )
    return Dark(stretch, supply, switching)


@settings(max_examples=70)
@given(data=st.data())
def test_every_book_closes_in_outages_too(data: st.DataObject, demo_home: Home) -> None:
    dark = data.draw(darks(demo_home, 240, tank=data.draw(st.booleans())))
    flows, _ = dark.run()
    battery = dark.stretch.scenario.battery
    assert battery is not None
    for book, residual in books_by_outsider(flows, battery.low_cutoff).items():
        assert residual <= BOOK_KW, book
    assert balance_error_kw(flows) <= BOOK_KW
    out = flows["source"] % GENERATOR != GRID
    assert not flows["import_kw"][out].any()
    assert not flows["export_kw"][out].any()
    assert not flows["generator_kw"][~out].any()
    assert flows["generator_kw"].max() <= dark.switching.generator_kw + BOOK_KW


@settings(max_examples=50)
@given(data=st.data())
def test_nothing_is_unserved_that_something_could_serve(data: st.DataObject, demo_home: Home) -> None:
    """Short of what is backed up: the stage is at its rating, or the battery has nothing more to give in the step.

    And if a generator runs, it gives all that it has. Where the sun alone cannot start the stage and the battery is
    empty, nothing could.
    """
    dark = data.draw(darks(demo_home, 240))
    flows, _ = dark.run()
    limits, cells = dark.stretch.limits, dark.stretch.cells
    demand = flows["load_kw"] + flows["standby_kw"]
    out = flows["source"] % GENERATOR != GRID
    short = out & (flows["unserved_kw"] > demand - dark.dispatch.backed_kw + NOTHING_KW)
    served = flows["pv_to_load_kw"] + flows["battery_to_load_kw"]
    at_rating = served >= limits.curve.rated_kw - NOTHING_KW
    before = flows["battery_kwh"] - flows.battery_change_kwh
    kept = limits.minimum_kwh + (before - limits.minimum_kwh) * limits.kept
    to_give_kwh = np.maximum(0.0, kept - limits.minimum_kwh)
    most_kw = np.minimum(
        cells.discharge_kw, [_delivered(limits, each * limits.one_way / limits.step_h) for each in to_give_kwh]
    )
    curve = limits.curve
    taken = served + np.where(
        served > 0.0, curve.k0_kw + curve.k1 * served + curve.k2 * served * served / curve.rated_kw, 0.0
    )
    # All of sun and battery is in use, or together they do not start the stage.
    offered = flows["pv_available_kw"] + most_kw
    spent = (taken >= offered - NOTHING_KW) | (offered <= curve.k0_kw + NOTHING_KW)
    running = flows["source"] >= GENERATOR
    # A generator that charges has the stage the other way round; then it serves all, or the battery takes nothing.
    assert (at_rating | spent)[short].all()
    assert flows["generator_kw"][short & running] == pytest.approx(dark.switching.generator_kw)


@settings(max_examples=50)
@given(data=st.data())
def test_a_generator_never_runs_below_its_least_time(data: st.DataObject, demo_home: Home) -> None:
    dark = data.draw(darks(demo_home, 240))
    flows, closed = dark.run()
    assume(closed)  # a stretch that does not close has a seam
    runs = flows.generator_runs
    assume(runs.any() and not runs.all())
    turned = np.roll(runs, -int(np.flatnonzero(~runs)[0])).astype(int)
    edges = np.diff(np.concatenate([[0], turned, [0]]))
    lengths = np.flatnonzero(edges < 0) - np.flatnonzero(edges > 0)
    assert lengths.min() * flows.timeline.step_h >= dark.switching.generator_least_h


@settings(max_examples=12)
@given(data=st.data())
def test_a_generator_burns_no_more_than_its_tank_held_since_it_was_filled(data: st.DataObject, demo_home: Home) -> None:
    """By an outsider, from the hourly table: run time and output since the tank was last full, by the ledger's law."""
    dark = data.draw(darks(demo_home, 240, tank=True))
    flows, _ = dark.run()
    levels, step_h = dark.switching, flows.timeline.step_h
    runs_kw = np.where(flows.generator_runs, levels.liters_per_h + levels.liters_per_kwh * flows["generator_kw"], 0.0)
    filled, left_l = dark.dispatch.grid | dark.dispatch.tank_filled, inf
    for burned_l, full in zip(runs_kw * step_h, filled, strict=True):
        left_l = (levels.tank_liters if full else left_l) - burned_l
        assert left_l >= -NOTHING_KW


@settings(max_examples=12)
@given(data=st.data())
def test_a_battery_that_waits_to_restart_does_not_discharge_and_an_island_is_dark(
    data: st.DataObject, demo_home: Home
) -> None:
    """By an outsider, from the stored energy: after the low cutoff nothing is discharged until it restarts."""
    dark = data.draw(darks(demo_home, 240, tank=True))
    limits, levels = dark.stretch.limits, dark.switching._replace(battery_restart=data.draw(st.floats(0.5, 1.0)))
    dark.switching = levels
    flows, _ = dark.run()
    served_kw = flows["pv_to_load_kw"] + flows["battery_to_load_kw"] + flows["generator_to_load_kw"]
    island = (flows["source"] % GENERATOR != GRID) & ~flows.generator_runs
    waits = False
    for step, stored_kwh in enumerate(flows["battery_kwh"]):
        if waits:
            assert flows["battery_to_load_kw"][step] == flows["battery_to_grid_kw"][step] == 0.0
            assert not island[step] or served_kw[step] == 0.0
        low = stored_kwh <= limits.minimum_kwh
        waits = stored_kwh < levels.battery_restart * limits.capacity_kwh and (waits or low)


@settings(max_examples=25)
@given(data=st.data())
def test_cells_below_their_cold_limit_are_not_charged_by_sun_or_generator(data: st.DataObject, demo_home: Home) -> None:
    dark = data.draw(darks(demo_home, 240, cold=True))
    flows, _ = dark.run()
    closed = dark.stretch.cells.charge_kw == 0.0
    into = flows["pv_to_battery_kw"] + flows["grid_to_battery_kw"] + flows["generator_to_battery_kw"]
    assert not into[closed].any()


@settings(max_examples=25)
@given(data=st.data())
def test_nothing_backed_up_means_no_sun_and_no_battery_in_an_outage(data: st.DataObject, demo_home: Home) -> None:
    """Grid-tied without storage: it makes nothing while the grid is out."""
    dark = data.draw(darks(demo_home, 240))
    nothing = np.zeros_like(dark.supply.backed_kw)
    dark.dispatch = dark.dispatch._replace(backed_kw=nothing, generator_may_start=nothing.astype(np.bool_))
    flows, _ = dark.run()
    out = flows["source"] == 0.0
    for column in ("pv_to_load_kw", "pv_to_grid_kw", "battery_to_load_kw", "battery_to_grid_kw"):
        assert not flows[column][out].any()


def lasted(
    dark: Dark, stored_kwh: NDArray[np.float64], sun: float = 1.0, steps: int = 48, **limits: Any
) -> NDArray[np.float64]:
    """Lose the grid at every step, without a generator."""
    s = dark.stretch
    shape = s.pv_kw.size, steps
    hours, unserved, why = np.empty(s.pv_kw.size), np.empty(shape), np.empty(shape, np.int64)
    still = dark.switching._replace(generator_kw=0.0, generator_start=-1.0)
    island = islanded(dark.dispatch, dark.supply)
    inputs = inputs_of(s.limits._replace(**limits), island, s.pv_kw * sun, s.load_kw, s.cells, still)
    run_outages(inputs, np.arange(s.pv_kw.size), stored_kwh, State(nan), hours, unserved, why, True)
    assert (np.diff(unserved, axis=1) >= 0.0).all(), "a longer outage never leaves less unserved"
    assert ((unserved[:, -1] > 0.0) == (hours < steps * s.limits.step_h)).all()
    return hours


@settings(max_examples=50)
@given(data=st.data())
def test_more_stored_more_battery_and_more_sun_never_last_shorter(data: st.DataObject, demo_home: Home) -> None:
    """Of one and the same outage, until the first thing is missing.

    A generator is left out, and there more may be worse: just above its start level as the quiet hours begin, it does
    not start, and the night is longer than the battery. A reserve acts through what is stored at the start; where
    it changes when the grid charges, that may be less at times: what is stored is what counts here. A battery that
    is larger, not only fuller, is compared at the same free and the same used energy.
    """
    dark = data.draw(darks(demo_home, 240))
    limits = dark.stretch.limits
    span = limits.capacity_kwh - limits.minimum_kwh
    low, high = sorted(data.draw(st.lists(st.floats(0.0, 1.0), min_size=2, max_size=2)))
    size = dark.stretch.pv_kw.size
    less = lasted(dark, np.full(size, limits.minimum_kwh + low * span))
    assert (lasted(dark, np.full(size, limits.minimum_kwh + high * span)) >= less - 1e-6).all()
    assert (lasted(dark, np.full(size, limits.minimum_kwh + low * span), sun=1.7) >= less - 1e-6).all()
    if limits.capacity_kwh > 0.0 and limits.taper_kwh == 0.0:
        more = lasted(dark, np.full(size, limits.minimum_kwh + low * span), capacity_kwh=limits.capacity_kwh + 5.0)
        assert (more >= less - 1e-6).all()
