"""The hour without the grid: what is backed up, who serves it, and when a generator runs. All numbers by hand.

The stage and the battery of ``builders.limits`` are lossless: 10 kWh, low cutoff 1 kWh, 3 kW each way.
"""

from math import nan

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.engine.reasons import (
    ABOVE_START_LEVEL,
    AT_BATTERY_LIMIT,
    AT_CUTOFF,
    AT_GENERATOR_RATING,
    AT_INVERTER_RATING,
    AT_OFF_GRID_FLOOR,
    BLOCKED_BY_TEMPERATURE,
    QUIET_HOURS,
    TANK_EMPTY,
    WAITS_TO_RESTART,
)
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
from solarsim.engine.year import run_year
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
    asked = {**orders()._asdict(), "grid": False, "generator_may_start": True, "tank_filled": False, **changes}
    return Dispatch(**{key: np.full(steps, asked[key]) for key in Dispatch._fields})


def run(pv: list[float], load: list[float], switching: Switching, start: float, **changes: object) -> np.ndarray:
    table = np.empty((len(pv), len(Hour._fields)))
    given = inputs_of(limits(), dispatch(len(pv), **changes), np.array(pv), np.array(load), switching=switching)
    run_steps(given, State(start, fuel_l=switching.tank_liters), table, UNKNOWN)
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
    lasted, unserved, why = np.empty(24), np.empty((24, steps)), np.empty((24, steps), np.int64)
    hw = limits(one_way=one_way, standby_kw=0.0)
    given = inputs_of(hw, dispatch(24), np.zeros(24), np.full(24, load_kw))
    run_outages(given, EACH, np.full(24, stored_kwh), State(nan), lasted, unserved, why, True)
    expected_h = (stored_kwh - 1.0) * one_way / load_kw
    assert lasted == pytest.approx(np.full(24, min(steps, expected_h)), abs=1e-6)
    assert unserved[:, -1] == pytest.approx(np.full(24, max(0.0, steps - expected_h) * load_kw), abs=1e-6)


def test_an_outage_runs_over_the_turn_of_the_year() -> None:
    sun = np.zeros(24)
    sun[0] = 3.0
    lasted, unserved, why = np.empty(24), np.empty((24, 3)), np.empty((24, 3), np.int64)
    given = inputs_of(limits(), dispatch(24), sun, np.full(24, 1.0))
    run_outages(given, EACH, np.full(24, 1.0), State(nan), lasted, unserved, why, True)
    assert lasted[[22, 23, 0]].tolist() == [
        0.0,
        0.0,
        3.0,
    ]  # from 23:00: nothing, then an hour of sun, then of it stored
    assert unserved[23].tolist() == [1.0, 1.0, 1.0]


#: 4 kW at 0.5 l/h and 0.25 l/kWh: 1.5 l in an hour at full output.
WITH_TANK = Switching(4.0, 0.2, 0.9, 0.0, 99.0, 1.0, 1.0, 4.0, 0.5, 0.25)


def test_an_empty_tank_ends_the_generator_s_run() -> None:
    """Two hours at 4 kW burn 3 of 4 l; the liter left keeps it running an hour at 2 kW, which the load takes."""
    table = run([0.0] * 5, [2.0] * 5, WITH_TANK, 2.0)
    generated = table.T[ROWS["source_to_load_kw"]] + table.T[ROWS["source_to_battery_kw"]]
    assert generated.tolist() == [4.0, 4.0, 2.0, 0.0, 0.0]
    assert table.T[ROWS["battery_kwh"]].tolist() == [4.0, 6.0, 6.0, 4.0, 2.0]
    assert (table.T[ROWS["source"]] == GENERATOR).tolist() == [True, True, True, False, False]


def test_a_tank_too_low_for_an_hour_at_no_load_is_empty_whatever_the_least_run() -> None:
    table = run([0.0] * 3, [2.0] * 3, WITH_TANK._replace(tank_liters=0.4, generator_least_h=3.0), 2.0)
    assert not table.T[ROWS["source"]].any()


def test_a_tank_is_full_while_the_grid_is_there_and_when_somebody_fills_it() -> None:
    """A tank for one hour at 4 kW: it runs in the first hour without the grid, and when it is filled."""
    grid, filled = [True, False, False, False, True, False], [False, False, False, True, False, False]
    asked = dispatch(6)._replace(grid=np.array(grid), tank_filled=np.array(filled))
    table = np.empty((6, len(Hour._fields)))
    levels = WITH_TANK._replace(tank_liters=1.5, generator_start=0.95, generator_stop=0.95)
    given = inputs_of(limits(), asked, np.zeros(6), np.full(6, 2.0), switching=levels)
    end = run_steps(given, State(2.0, fuel_l=0.0), table, UNKNOWN)
    assert (table.T[ROWS["source"]] == GENERATOR).tolist() == [False, True, False, True, False, True]
    assert end.fuel_l == 0.0


def test_a_year_without_the_grid_closes_with_the_fuel_it_began_with() -> None:
    """Fuel is carried round as the battery is: 16 h down to 2 kWh and 3 h of charging, twice; the tank filled once."""
    asked = dispatch(38)._replace(tank_filled=np.arange(38) == 12)
    levels = WITH_TANK._replace(tank_liters=10.0)
    given = inputs_of(limits(), asked, np.zeros(38), np.full(38, 0.5), switching=levels)
    year = run_year(given)
    again = np.empty_like(year.table)
    end = run_steps(given, year.start, again, UNKNOWN)
    assert (again == year.table).all()
    assert end.fuel_l == pytest.approx(year.start.fuel_l, abs=1e-6)
    assert 0.0 < end.fuel_l < 10.0


RESTART = GRID_ALONE._replace(battery_restart=0.4)


def test_a_battery_that_reached_its_low_cutoff_restarts_at_its_level() -> None:
    """1 kWh above the cutoff lasts an hour; two hours of 1.5 kW of sun all charge it to 4 kWh; then it serves again."""
    table = run([0.0, 1.5, 1.5, 0.0, 0.0], [1.0] * 5, RESTART, 2.0)
    assert table.T[ROWS["battery_kwh"]].tolist() == [1.0, 2.5, 4.0, 3.0, 2.0]
    assert table.T[ROWS["unserved_kw"]].tolist() == [0.0, 1.0, 1.0, 0.0, 0.0]
    without = run([0.0, 1.5, 1.5, 0.0, 0.0], [1.0] * 5, GRID_ALONE, 2.0)
    assert without.T[ROWS["unserved_kw"]].tolist() == [0.0, 0.0, 0.0, 0.0, 1.0]


def test_a_generator_serves_while_the_battery_waits_and_the_grid_does_too() -> None:
    """The generator starts at 0.1 and stores 2 kWh an hour, to above 0.4; on the grid nothing is discharged."""
    levels = RESTART._replace(generator_kw=3.0, generator_start=0.1, generator_stop=0.4, generator_charge_kw=99.0)
    table = run([0.0] * 5, [1.0] * 5, levels, 2.0)
    assert table.T[ROWS["battery_kwh"]].tolist() == [1.0, 3.0, 5.0, 4.0, 3.0]
    assert not table.T[ROWS["unserved_kw"]].any()
    on_grid = run([0.0] * 3, [1.0] * 3, RESTART, 2.0, grid=True, reserve=0.1)
    assert on_grid.T[ROWS["battery_to_load_kw"]].tolist() == [1.0, 0.0, 0.0]
    assert on_grid.T[ROWS["source_to_load_kw"]].tolist() == [0.0, 1.0, 1.0]


def test_inverters_on_the_ac_side_stop_while_the_battery_waits() -> None:
    """No one makes the voltage that they follow: their 2 kW are curtailed, and charge nothing."""
    given = inputs_of(limits(), dispatch(2), np.zeros(2), np.full(2, 1.0), switching=RESTART)
    table = np.empty((2, len(Hour._fields)))
    run_steps(given._replace(ac_solar_kw=np.full(2, 2.0)), State(1.0, waits=True), table, UNKNOWN)
    assert table.T[ROWS["curtailed_kw"]].tolist() == [2.0, 2.0]
    assert table.T[ROWS["battery_kwh"]].tolist() == [1.0, 1.0]


def reasons(load: list[float], stored: float, switching: Switching = GRID_ALONE, **changes: object) -> list[int]:
    """Return why each hour of an outage without sun leaves some unserved."""
    size = len(load)
    hw = limits(**{key: changes.pop(key) for key in ("discharge_kw",) if key in changes})
    given = inputs_of(hw, dispatch(size, **changes), np.zeros(size), np.array(load), switching=switching)
    cold = given.cells._replace(discharge_kw=np.where(np.array(load) == COLD_KW, 0.0, hw.discharge_kw))
    lasted, unserved, why = np.empty(1), np.empty((1, size)), np.empty((1, size), np.int64)
    begin = State(nan, fuel_l=switching.tank_liters)
    run_outages(
        given._replace(cells=cold), np.zeros(1, np.int64), np.full(size, stored), begin, lasted, unserved, why, True
    )
    return [int(each) for each in why[0]]


COLD_KW = 0.75  # a load that stands for an hour of cold cells


def test_why_something_is_unserved() -> None:
    assert reasons([1.0, 1.0, 1.0], 2.5) == [0, AT_CUTOFF, AT_CUTOFF]
    assert reasons([1.0, 1.0], 3.0, off_grid_floor=0.2) == [0, AT_OFF_GRID_FLOOR]
    assert reasons([1.0, 4.0], 9.0) == [0, AT_BATTERY_LIMIT]  # 3 kW
    assert reasons([1.0, 6.0], 9.0, discharge_kw=9.0) == [0, AT_INVERTER_RATING]  # 5 kW
    assert reasons([COLD_KW, 1.0], 9.0) == [BLOCKED_BY_TEMPERATURE, 0]
    assert reasons([1.0, 1.0, 1.0], 2.0, RESTART) == [0, WAITS_TO_RESTART, WAITS_TO_RESTART]


def test_why_the_generator_does_not_help() -> None:
    """4 kW, from 0.2 on; the load empties the battery within the first hour or rests above what both deliver."""
    assert reasons([3.0, 1.0], 3.5, WITH_TANK, generator_may_start=False) == [
        AT_CUTOFF + ABOVE_START_LEVEL,
        AT_CUTOFF + QUIET_HOURS,
    ]
    assert reasons([3.0, 1.0], 3.5, WITH_TANK) == [AT_CUTOFF + ABOVE_START_LEVEL, 0]
    assert reasons([3.0, 1.0], 1.0, WITH_TANK._replace(tank_liters=0.4)) == [AT_CUTOFF + TANK_EMPTY] * 2
    assert reasons([8.0], 2.0, WITH_TANK) == [AT_CUTOFF + AT_GENERATOR_RATING]  # 4 kW, and 1 kWh for the rest
    assert reasons([8.0], 2.0, WITH_TANK._replace(tank_liters=1.25)) == [AT_CUTOFF + TANK_EMPTY]  # 3 kW for the hour
