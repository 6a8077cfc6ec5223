"""The hour without the grid: what is backed up, who serves it, and when a generator runs. All numbers by hand.

The stage and the battery of ``builders.limits`` are lossless: 10 kWh, low cutoff 1 kWh, 3 kW each way.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.engine.records import (
    GENERATOR,
    GRID,
    GRID_ALONE,
    UNKNOWN,
    Curve,
    Dispatch,
    Hour,
    Limits,
    State,
    Switching,
)
from solarsim.engine.step import (
    _generator_runs,
    _output_within,
    _stays_on_grid,
    input_for,
    run_outages,
    run_steps,
    step,
)
from tests.builders import conditions, inputs_of, limits, orders

pytestmark = pytest.mark.by_hand
EACH = np.arange(24)
ROWS = {name: row for row, name in enumerate(Hour._fields)}


def dark(pv: float, load: float, stored: float = 5.0, hw: Limits | None = None, **rule: object) -> Hour:
    """Run one step without the grid."""
    asked = {"grid": False, "generator_charge_kw": 99.0, **rule}
    hw = limits() if hw is None else hw
    return Hour(*step(hw, orders(**asked), conditions(hw, pv, load), stored))


def dispatch(steps: int, **changes: object) -> Dispatch:
    asked = {**orders()._asdict(), "grid": False, "generator_may_start": True, **changes}
    return Dispatch(**{key: np.full(steps, asked[key]) for key in Dispatch._fields})


def run(pv: list[float], load: list[float], switching: Switching, start: float, **changes: object) -> np.ndarray:
    table = np.empty((len(pv), len(Hour._fields)))
    given = inputs_of(limits(), dispatch(len(pv), **changes), np.array(pv), np.array(load), switching=switching)
    run_steps(given, State(start), table, UNKNOWN)
    return table


def test_the_stage_never_puts_out_a_last_bit_more_than_is_wanted() -> None:
    """What is more would be an export, in an outage as under zero export: offered one bit less than it takes."""
    curve = Curve(5.0, 0.0219, 0.003, 0.0414)
    for wanted_kw in np.linspace(0.01, 5.0, 2000):
        offered_kw = float(np.nextafter(input_for(curve, wanted_kw), 0.0))
        assert _output_within(curve, wanted_kw, offered_kw) <= wanted_kw


def test_the_reserve_is_for_this() -> None:
    h = dark(0.0, 2.0, stored=2.5, reserve=0.9)
    assert (h.battery_to_load_kw, h.unserved_kw, h.battery_kwh) == (1.5, 0.5, 1.0)
    assert (h.source_to_load_kw, h.source) == (0.0, 0.0)


def test_the_sun_serves_first_and_fills_the_battery_past_the_rule_s_ceiling() -> None:
    h = dark(4.0, 1.0, ceiling=0.5, surplus_to_battery=False, export_limit_kw=9.0)
    assert (h.pv_to_load_kw, h.pv_to_battery_kw, h.pv_to_grid_kw, h.battery_kwh) == (1.0, 3.0, 0.0, 8.0)


def test_what_no_one_can_take_is_curtailed() -> None:
    h = dark(5.0, 1.0, stored=10.0)
    assert (h.pv_to_load_kw, h.curtailed_kw) == (1.0, 4.0)


def test_orders_to_buy_and_to_sell_rest_while_the_grid_is_out() -> None:
    h = dark(0.0, 1.0, charge_to=1.0, sell_to=0.2)
    assert (h.battery_to_load_kw, h.battery_to_grid_kw, h.source_to_battery_kw) == (1.0, 0.0, 0.0)


def test_only_what_is_backed_up_is_served() -> None:
    h = dark(0.0, 3.0, backed_kw=1.25)
    assert (h.battery_to_load_kw, h.unserved_kw) == (1.25, 1.75)


def test_nothing_backed_up_stops_with_the_grid_sun_and_all() -> None:
    """Grid-tied without storage: the anti-islanding rule of IEEE 1547 and IEC 62116 wants it so."""
    h = dark(4.0, 1.0, stored=0.0, hw=limits(capacity_kwh=0.0, minimum_kwh=0.0), backed_kw=0.0)
    assert (h.pv_to_load_kw, h.curtailed_kw, h.unserved_kw) == (0.0, 4.0, 1.0)


def test_the_inverter_s_rating_is_the_most_that_is_served() -> None:
    h = dark(9.0, 7.0, stored=10.0, hw=limits(discharge_kw=99.0))  # rated 5 kW
    assert (h.pv_to_load_kw + h.battery_to_load_kw, h.unserved_kw) == (5.0, 2.0)


def test_a_generator_serves_the_home_and_charges_with_the_rest() -> None:
    h = dark(0.0, 2.0, generator_kw=4.0)
    assert (h.source_to_load_kw, h.source_to_battery_kw, h.battery_kwh, h.source) == (2.0, 2.0, 7.0, GENERATOR)


def test_charging_from_a_generator_stops_at_what_the_inverter_takes() -> None:
    h = dark(0.0, 2.0, generator_kw=6.0, generator_charge_kw=0.5)
    assert (h.source_to_load_kw, h.source_to_battery_kw) == (2.0, 0.5)


def test_the_battery_helps_above_a_generator_s_rating() -> None:
    h = dark(0.0, 4.0, generator_kw=2.5)
    assert (h.source_to_load_kw, h.battery_to_load_kw, h.unserved_kw) == (2.5, 1.5, 0.0)
    h = dark(0.0, 6.0, generator_kw=2.5)  # the battery gives 3 kW at most
    assert (h.source_to_load_kw, h.battery_to_load_kw, h.unserved_kw) == (2.5, 3.0, 0.5)


def test_a_generator_idles_while_the_grid_is_back() -> None:
    h = dark(0.0, 2.0, grid=True, generator_kw=4.0, serves_load=False)
    assert (h.source_to_load_kw, h.unserved_kw, h.source) == (2.0, 0.0, GRID + GENERATOR)


def test_a_generator_starts_low_and_runs_until_it_may_stop() -> None:
    """4 kW, half into a load of 2 kW and half into the battery: 2 kWh an hour; starts at 2 kWh, stops at 6."""
    table = run([0.0] * 8, [2.0] * 8, Switching(4.0, 0.2, 0.6, 0.0, 99.0, 1.0, 1.0), 4.0)
    assert (table.T[ROWS["source"]] == GENERATOR).tolist() == [False, True, True, False, False, True, True, False]
    assert table.T[ROWS["battery_kwh"]].tolist() == [2.0, 4.0, 6.0, 4.0, 2.0, 4.0, 6.0, 4.0]


def test_a_generator_runs_its_least_time_whatever_comes() -> None:
    quiet = [True, False, False, False, False]
    asked = dispatch(5)._replace(generator_may_start=np.array(quiet), grid=np.array([False, False, True, True, True]))
    table = np.empty((5, len(Hour._fields)))
    levels = Switching(4.0, 0.2, 0.3, 3.0, 99.0, 1.0, 1.0)
    given = inputs_of(limits(), asked, np.zeros(5), np.full(5, 1.0), switching=levels)
    run_steps(given, State(2.0), table, UNKNOWN)
    assert table.T[ROWS["source"]].tolist() == [GENERATOR, GENERATOR, GRID + GENERATOR, GRID, GRID]


def test_a_home_off_the_grid_turns_to_it_when_the_battery_is_low() -> None:
    """From 0.3 until 0.5; on it the sun still charges: 2 kW of sun in each hour, a load of 3 kW."""
    switching = Switching(0.0, -1.0, -1.0, 0.0, 0.0, 0.3, 0.5)
    changes = {
        "grid": True,
        "serves_load": False,
        "surplus_to_battery": True,
        "export_limit_kw": 0.0,
        "backed_kw": 99.0,
    }
    table = run([0.0] * 6, [1.0] * 6, switching, 5.0, **changes, charge_to=0.4)
    assert (table.T[ROWS["source"]] == GRID).tolist() == [False, False, True, True, True, True]
    assert table.T[ROWS["battery_kwh"]].tolist() == [4.0, 3.0, 4.0, 4.0, 4.0, 4.0]


def test_where_the_levels_are_not_set_the_grid_is_taken_wherever_it_is() -> None:
    assert _stays_on_grid(limits(), GRID_ALONE, True, 10.0, False)
    assert not _stays_on_grid(limits(), GRID_ALONE, False, 0.0, True)
    assert not _generator_runs(limits(), GRID_ALONE, True, 0.0, 0.0)


@given(load_kw=st.floats(0.1, 2.9), stored_kwh=st.floats(1.0, 10.0), one_way=st.floats(0.8, 1.0))
def test_constant_load_without_sun_lasts_what_is_stored_over_the_load(
    load_kw: float, stored_kwh: float, one_way: float
) -> None:
    """Usable energy x efficiency / load, exactly: also within the step that fails."""
    steps = 96
    lasted, unserved = np.empty(24), np.empty((24, steps))
    hw = limits(one_way=one_way, standby_kw=0.0)
    given = inputs_of(hw, dispatch(24), np.zeros(24), np.full(24, load_kw))
    run_outages(given, EACH, np.full(24, stored_kwh), lasted, unserved)
    expected_h = (stored_kwh - 1.0) * one_way / load_kw
    assert lasted == pytest.approx(np.full(24, min(steps, expected_h)), abs=1e-6)
    assert unserved[:, -1] == pytest.approx(np.full(24, max(0.0, steps - expected_h) * load_kw), abs=1e-6)


def test_an_outage_runs_over_the_turn_of_the_year() -> None:
    sun = np.zeros(24)
    sun[0] = 3.0
    lasted, unserved = np.empty(24), np.empty((24, 3))
    run_outages(inputs_of(limits(), dispatch(24), sun, np.full(24, 1.0)), EACH, np.full(24, 1.0), lasted, unserved)
    assert lasted[[22, 23, 0]].tolist() == [
        0.0,
        0.0,
        3.0,
    ]  # from 23:00: nothing, then an hour of sun, then of it stored
    assert unserved[23].tolist() == [1.0, 1.0, 1.0]
