"""How long the home goes on without the grid. Expected numbers by hand, on homes without sun or with a flat load."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.engine.records import GENERATOR, UNKNOWN, Hour, State, Switching
from solarsim.engine.step import run_steps
from solarsim.errors import ScenarioError
from solarsim.home import Home, home_from
from solarsim.ledger.flows import COLUMNS
from solarsim.run import close_year, simulate, without_system
from solarsim.scenario.model import Scenario
from solarsim.scenario.strategy import Strategy
from solarsim.studies.compare.compare import compare
from solarsim.studies.outages._island import HOURS, backup_of, island_of, keeping, with_reserve, without_outages
from solarsim.studies.outages._reserve import reserve_curve, reserve_levels
from tests import draws
from tests.builders import inputs_of, scenario
from tests.homes_without_grid import GENERATOR as SET
from tests.homes_without_grid import HYBRID, event, steady, storm, storm_home


@pytest.mark.by_hand
def test_without_sun_backup_of_a_steady_load_is_usable_energy_x_efficiency_over_load(tmp_path: Path) -> None:
    """(10 - 1) kWh x sqrt(0.81) / 0.5 kW = 16.2 h, from every start of the year."""
    home = steady(tmp_path)
    backup = backup_of(island_of(home, "kept full"))
    assert backup.duration_h == pytest.approx(np.full(8760, 16.2), abs=1e-9)
    assert [backup.covered(hours) for hours in (*HOURS, 16.2)] == [1.0] * 5 + [0.0] * 3 + [1.0]
    assert {backup.covered(12, month) for month in range(1, 13)} == {1.0}


def test_an_outage_that_ends_with_the_first_unserved_step_lasts_as_long(tmp_path: Path) -> None:
    island = island_of(steady(tmp_path), "kept full")
    starts = np.arange(0, 8760, 97)
    whole_h, whole_kwh, whole_why = island.lose_grid(starts, 72)
    first_h, first_kwh, first_why = island.lose_grid(starts, 72, to_the_end=False)
    np.testing.assert_array_equal(first_h, whole_h)
    failed = (whole_kwh > 0.0).argmax(axis=1)
    rows = np.arange(starts.size)
    np.testing.assert_array_equal(first_kwh[rows, failed], whole_kwh[rows, failed])
    np.testing.assert_array_equal(first_why[rows, failed], whole_why[rows, failed])
    assert (first_why > 0).sum() == starts.size


@pytest.mark.by_hand
def test_a_generator_carries_the_home_for_as_long_as_it_may_run(tmp_path: Path) -> None:
    home = steady(tmp_path, generator=dict(SET))
    assert backup_of(island_of(home, "kept full")).covered(72) == 1.0
    # 0.5 kW from 10 kWh: at 0.2 after 14.4 h. From 17:00 on that is 08:00, when it must be quiet until 20:00.
    quiet = {**SET, "may_start": [{"from": "20:00", "to": "08:00"}]}
    duration_h = backup_of(island_of(steady(tmp_path, generator=quiet), "kept full")).duration_h
    assert duration_h[17] == pytest.approx(16.2)
    assert duration_h[0] == pytest.approx(16.2)  # low at 15:00, empty at 16:12
    # From 09:00 on it is low at 00:00 with 10 - 15 x 0.5 / 0.9 kWh; two hours of 3 kW make 5.4 kWh more of that, and
    # what is then above 1 kWh lasts from 02:00 until before 20:00.
    stored_kwh = 10.0 - 15 * 0.5 / 0.9 + 2 * 3.0 * 0.9
    assert duration_h[9] == pytest.approx(17.0 + (stored_kwh - 1.0) * 0.9 / 0.5)


@pytest.mark.by_hand
def test_a_grid_tied_home_serves_nothing_sun_or_not() -> None:
    home = home_from(scenario(arrangement={"kind": "grid_tied"}, outages={"events": [event("2026-06-21T10:00", 5)]}))
    assert home.notes() == ["arrangement: a grid_tied home leaves its battery out"]
    backup = backup_of(island_of(home, "home first"))
    assert backup.duration_h.max() == 0.0
    flows = simulate(home.scenario, "home first", home).flows
    out = flows["unserved_kw"] > 0.0
    assert out.sum() == 5
    assert flows["unserved_kw"][out] == pytest.approx((flows["load_kw"] + flows["standby_kw"])[out])
    assert flows["curtailed_kw"][out] == pytest.approx(flows["pv_available_kw"][out])
    assert flows["pv_available_kw"][out].min() > 0.5


def test_without_outages_an_arrangement_changes_nothing(demo: Scenario, demo_home: Home) -> None:
    bare = demo.model_copy(update={"arrangement": None, "outages": None})
    plain, with_one = compare(bare), compare(demo, demo_home)
    assert demo.arrangement is not None
    assert plain.record()["strategies"] == with_one.record()["strategies"]
    for one, other in zip(plain.runs, with_one.runs, strict=True):
        assert all((one.flows[name] == other.flows[name]).all() for name in COLUMNS)


@pytest.mark.by_hand
def test_a_home_of_a_later_year_is_backed_up_whole_whatever_its_load() -> None:
    """Standby does not shrink with the load: nothing of a smaller home may go unserved for it."""
    home = home_from(scenario(arrangement={"kind": "off_grid", "grid": "last", "grid_from": 0.5, "grid_until": 0.8}))
    for factor in (0.5, 1.5):
        later = home.later(1.0, 1.0, factor, home.scenario.rate_plan)
        assert later.supply is not None
        assert later.supply.backed_kw == pytest.approx(later.load_kw + 0.04)  # standby_w = 40
        table = np.empty((8760, len(Hour._fields)))
        close_year(later, "home first", table=table)
        assert table[:, Hour._fields.index("unserved_kw")].max() < 1e-12
    assert (storm_home().later(1.0, 1.0, 2.0, storm().rate_plan).critical_kw == 2.0 * storm_home().critical_kw).all()


def test_a_life_is_set_against_the_same_baseline_as_a_year() -> None:
    """In the hours of an outage the home without a system has nothing either, and pays nothing."""
    home = storm_home()
    year = without_system(home.scenario, home).ledger
    again = close_year(home, None, table=np.empty((8760, len(Hour._fields))))
    assert again.annual_bill == year.annual_bill == float(year.bill.total)
    assert again.sums["import_kwh"] == pytest.approx(year.annual_kwh["import_kwh"])
    assert again.sums["load_kwh"] == pytest.approx(year.annual_kwh["load_kwh"])
    assert year.sums["import_kwh"] + year.sums["unserved_kwh"] == pytest.approx(year.sums["load_kwh"])
    assert year.unserved_kwh > 0.0
    run = simulate(home.scenario, "serve the home first", home)
    assert run.ledger.fuel_cost > 0.0
    closed = close_year(home, "serve the home first", 0.7, np.empty((8760, len(Hour._fields))))
    assert closed.energy_cost == pytest.approx(run.ledger.annual_bill + run.ledger.fuel_cost)


@pytest.mark.by_hand
def test_a_later_year_keeps_the_minutes_of_a_transfer() -> None:
    half = {**HYBRID, "transfer_seconds": 1800.0}
    home = home_from(scenario(arrangement=half, outages={"events": [event("2026-01-14T18:00", 3)]}))
    later = home.later(1.0, 1.0, 2.0, home.scenario.rate_plan)
    assert later.supply is not None
    first = 13 * 24 + 18
    assert later.supply.transfer_kw[first] == pytest.approx(0.5 * (2.0 * home.load_kw[first] + 0.04))
    assert later.dispatches["home first"].backed_kw[first + 1] == pytest.approx(2.0 * home.load_kw[first + 1] + 0.04)


@pytest.mark.by_hand
@pytest.mark.parametrize("least_h", [5, 9])
def test_a_generator_runs_its_least_time_over_the_turn_of_the_year(least_h: int) -> None:
    """Off the grid the year is a circle: a run that begins on 31 December goes on in January."""
    over_the_turn = 0
    for monthly_kwh in (500.0, 600.0, 900.0):
        home = home_from(
            scenario(
                arrangement={"kind": "off_grid", "grid": "none"},
                generator={**SET, "least_run_h": least_h, "start_at": 0.3, "stop_at": 0.35},
                load__monthly_kwh=[monthly_kwh] * 12,
            )
        )
        run = simulate(home.scenario, "home first", home)
        runs = run.flows.generator_runs
        assert run.year_gap_kwh == 0.0
        over_the_turn += bool(runs[-1] and runs[0])
        turned = np.roll(runs, -int(np.flatnonzero(~runs)[0])).astype(int)
        edges = np.diff(np.concatenate([[0], turned, [0]]))
        assert (np.flatnonzero(edges < 0) - np.flatnonzero(edges > 0)).min() >= least_h
    assert over_the_turn >= 2


@pytest.mark.by_hand
def test_a_year_begins_with_the_generator_that_its_end_left_running() -> None:
    limits, dispatch = storm_home().limits, island_of(storm_home(), "serve the home first").dispatch
    levels = Switching(5.0, 0.2, 0.7, 9.0, 4.0, 1.0, 1.0)
    size = dispatch.grid.size
    table = np.empty((size, len(Hour._fields)))
    dark, load = np.zeros(size), np.full(size, 0.5)
    given = inputs_of(limits, dispatch, dark, load, storm_home().bank.cells, levels)
    run_steps(given, State(9.0, ran_h=4.0), table, UNKNOWN)
    running = table[:, Hour._fields.index("source")] == GENERATOR
    assert running[:5].tolist() == [True] * 5  # four hours behind it, five to go


@given(settings=draws.settings(0.1), windows=st.lists(draws.settings(0.1), max_size=3), reserve=st.floats(0.1, 1.0))
def test_any_reserve_leaves_a_strategy_that_a_user_could_write(
    settings: dict[str, object], windows: list[dict[str, object]], reserve: float
) -> None:
    drawn = [{**window, "from": "10:00", "to": "12:00"} for window in windows]
    before = Strategy.model_validate({"name": "s", **settings, "windows": tuple(drawn)})
    after, held = with_reserve(before, reserve)
    written = after.model_dump(by_alias=True, exclude_none=True)
    assert Strategy.model_validate(written) == after
    kept = [after.reserve, *(window.reserve for window in after.windows)]
    assert held == any(level is not None and level < reserve for level in kept)
    assert all(level is not None and level <= reserve for level in kept)


def test_the_present_reserve_is_a_point_of_its_own_curve() -> None:
    """All windows of the first strategy keep its base reserve of 0.2, so changing to that changes nothing."""
    home = without_outages(storm_home())
    same, held = keeping(home, "serve the home first", 0.2)
    assert not held
    points = {point.reserve: point for point in reserve_curve(storm_home(), "serve the home first", None)}
    assert list(points) == reserve_levels(0.1) == [0.1, *(tenth / 10 for tenth in range(2, 11))]
    assert points[0.2].energy_cost == close_year(same, "serve the home first").annual_bill
    assert points[0.1].reserve_cost == 0.0
    assert points[0.2].reserve_cost == points[0.2].energy_cost - points[0.1].energy_cost
    costs = [point.energy_cost for point in points.values()]
    assert costs == sorted(costs), "with prices that pay for shifting, keeping more costs more"
    shares = [point.outages_covered for point in points.values()]
    assert (np.diff(shares, axis=0) >= 0.0).all()


def test_where_it_sells_the_reserve_goes_no_higher_and_the_curve_says_so() -> None:
    home = storm_home()
    selling = home.scenario.strategies[0].model_copy(update={"sell_down_to": 0.5})
    changed, held = with_reserve(selling, 0.8)
    assert (changed.reserve, held) == (0.5, True)
    assert with_reserve(selling, 0.4)[1] is False


def test_what_has_no_arrangement_or_no_grid_is_refused() -> None:
    with pytest.raises(ScenarioError, match=r"has no table \[arrangement\]; add one with a kind"):
        island_of(home_from(scenario()), "home first")
    alone = home_from(scenario(arrangement={"kind": "off_grid", "grid": "none"}))
    with pytest.raises(ScenarioError, match="there is no grid that could fail"):
        island_of(alone, "home first")


def test_the_scenario_s_own_outages_do_not_touch_the_year_that_outages_start_from() -> None:
    quiet = storm().model_copy(update={"outages": None})
    one = island_of(storm_home(), "serve the home first")
    other = island_of(replace(home_from(quiet)), "serve the home first")
    assert (one.stored_kwh == other.stored_kwh).all()
    assert one.ledger.annual_bill == other.ledger.annual_bill
