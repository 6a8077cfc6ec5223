"""The year as a circle."""

import numpy as np
import pytest

from solarsim.engine.records import Dispatch, Pass
from solarsim.engine.year import HOUR_COLUMNS, run_year, when_compiling
from tests.builders import inputs_of, limits, orders


def dispatch(steps: int, **changes: object) -> Dispatch:
    """Repeat one step's orders."""
    asked = orders(**changes)._asdict()
    return Dispatch(**{key: np.full(steps, asked.get(key, False)) for key in Dispatch._fields})


def test_year_ends_with_the_energy_it_began_with() -> None:
    pv, load = np.tile([0.0, 4.0, 0.0, 0.0], 50), np.full(200, 1.0)
    year = run_year(inputs_of(limits(), dispatch(200), pv, load))
    stored = year.table.T[HOUR_COLUMNS.index("battery_kwh")]
    assert stored[-1] == pytest.approx(year.start_kwh)
    assert year.gap_kwh == pytest.approx(0.0)
    assert year.passes <= 3


@pytest.mark.by_hand
def test_year_that_needs_many_passes_is_run_until_it_closes() -> None:
    """One kWh more goes in than out in each pass until the battery of 10 kWh is full; it starts at its minimum of 1."""
    pv, load = np.array([2.0, 0.0]), np.array([0.0, 1.0])
    year = run_year(inputs_of(limits(charge_kw=2.0), dispatch(2, export_limit_kw=0.0, reserve=0.1), pv, load))
    assert year.passes == 9  # pass k begins with k kWh; the ninth fills the battery and ends where it began
    assert year.start_kwh == pytest.approx(9.0)
    assert year.gap_kwh == pytest.approx(0.0, abs=1e-12)


@pytest.mark.by_hand
def test_year_begins_at_the_minimum_and_tells_what_it_did_not_close() -> None:
    # 0.001 kWh more in each pass: after 200 passes still 9 - 0.2 from full.
    pv, load = np.array([1.001, 0.0]), np.array([0.0, 1.0])
    year = run_year(inputs_of(limits(), dispatch(2, export_limit_kw=0.0, reserve=0.1), pv, load))
    assert year.passes == 200
    assert year.start_kwh == pytest.approx(1.0 + 199 * 0.001)
    assert year.gap_kwh == pytest.approx(0.001)


@pytest.mark.by_hand
def test_no_strategy_lives_off_a_full_battery_on_the_first_day() -> None:
    # No sun at all: whatever was stored at first, in a closed year the battery gives nothing.
    year = run_year(inputs_of(limits(), dispatch(48), np.zeros(48), np.full(48, 1.0)))
    assert year.table.T[HOUR_COLUMNS.index("battery_to_load_kw")].sum() == 0.0


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(
    "switching",
    [
        {},
        {"battery_restart": 0.5},
        {"generator_kw": 3.0, "generator_start": 0.2, "generator_stop": 0.6, "generator_least_h": 3.0},
        {"generator_kw": 3.0, "generator_start": 0.2, "liters_per_h": 0.2, "liters_per_kwh": 0.3, "tank_liters": 4.0},
    ],
)
def test_year_of_which_some_steps_are_known_is_the_year_run_anew(seed: int, switching: dict[str, float]) -> None:
    """A step from the same state and inputs is not run again; fuel, running hours and a wait are in no table."""
    rng = np.random.default_rng(seed)
    pv, load = 2.0 * rng.random(600), 2.5 * rng.random(600)
    grid = np.repeat(rng.random(60) < 0.7, 10)
    rules = dispatch(600, export_limit_kw=1.0, reserve=0.3, backed_kw=1.0)
    rules = rules._replace(grid=grid, generator_may_start=np.ones(600, np.bool_))
    given = inputs_of(limits(), rules, pv, load)
    given = given._replace(switching=given.switching._replace(**switching))
    before = run_year(given)
    changed = rng.random(600) < 0.02
    other = given._replace(dispatch=given.dispatch._replace(charge_to=np.where(changed, 0.8, given.dispatch.charge_to)))
    fresh = run_year(other, before.start_kwh)
    again = run_year(other, before.start_kwh, before.table.copy(), Pass(before.end, changed))
    assert (fresh.table != before.table).any()
    np.testing.assert_array_equal(again.table, fresh.table)
    assert (again.start, again.end) == (fresh.start, fresh.end)


def test_steps_that_are_known_are_left_alone() -> None:
    """What stands in the table for them stays: a mark in a column that no later step reads."""
    pv, load = np.tile([0.0, 4.0, 0.0, 0.0], 50), np.full(200, 1.0)
    given = inputs_of(limits(), dispatch(200), pv, load)
    year = run_year(given)
    column = HOUR_COLUMNS.index("losses_kw")
    year.table[:, column] = -1.0
    changed = np.zeros(200, np.bool_)
    changed[100:104] = True
    again = run_year(given, year.start_kwh, year.table, Pass(year.end, changed))
    run_again = np.flatnonzero(again.table[:, column] >= 0.0)
    assert set(range(100, 104)) <= set(run_again.tolist())
    assert run_again.size <= 4 + 8  # and the steps until the state is met: first of the year, a day after the change


def test_compiling_is_told_at_most_once() -> None:
    told: list[int] = []
    with when_compiling(lambda: told.append(1)):
        run_year(inputs_of(limits(), dispatch(4), np.zeros(4), np.zeros(4)))
    assert len(told) <= 1


def test_table_of_another_shape_is_refused() -> None:
    with pytest.raises(ValueError, match=r"has the shape \(\d+, 4\), must have \(4, \d+\)"):
        run_year(inputs_of(limits(), dispatch(4), np.zeros(4), np.zeros(4)), table=np.empty((len(HOUR_COLUMNS), 4)))
