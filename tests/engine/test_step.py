"""The hour, case by case: expected numbers are arithmetic that stands beside them (by hand).

The stage of ``builders.limits`` is lossless and the battery too, unless a test says otherwise, so
that every number can be followed in the head. Stored energy 5 of 10 kWh, floor at 2 kWh.
"""

import hashlib

import pytest

from solarsim.engine.reasons import REASONS
from solarsim.engine.records import (
    GENERATOR,
    GRID,
    Cells,
    Conditions,
    Curve,
    Dispatch,
    Hour,
    Inputs,
    Limits,
    Orders,
    State,
    Switching,
)
from solarsim.engine.step import COMPILED_FOR, _output_from, _output_within, input_for, step
from tests.builders import conditions, limits, orders

pytestmark = pytest.mark.by_hand
# 5 kW rated, 0.05 kW to run at all, 1 % in proportion, 2 % more at rated output.
LOSSY = Curve(rated_kw=5.0, k0_kw=0.05, k1=0.01, k2=0.02)


def hour(pv: float, load: float, stored: float = 5.0, hw: Limits | None = None, **rule: object) -> Hour:
    """Run one step."""
    hw = limits() if hw is None else hw
    return Hour(*step(hw, orders(**rule), conditions(hw, pv, load), stored))


def test_stage_input_and_output_are_each_other_turned_round() -> None:
    # 2 + 0.05 + 0.01*2 + 0.02*2*2/5 = 2.086
    assert input_for(LOSSY, 2.0) == pytest.approx(2.086)
    assert _output_from(LOSSY, 2.086) == pytest.approx(2.0)
    assert _output_from(LOSSY, 100.0) == 5.0


def test_stage_at_rest_takes_nothing_and_gives_nothing_below_its_running_loss() -> None:
    assert input_for(LOSSY, 0.0) == 0.0
    assert _output_from(LOSSY, 0.05) == 0.0
    assert _output_from(LOSSY, 0.0501) == pytest.approx(0.0001 / 1.01, rel=1e-4)


def test_stage_gives_what_is_wanted_or_what_it_can() -> None:
    assert _output_within(LOSSY, 2.0, 3.0) == 2.0
    assert _output_within(LOSSY, 4.0, 2.086) == pytest.approx(2.0)
    assert _output_within(LOSSY, 9.0, float("inf")) == 5.0


def test_sun_serves_the_home_first_then_the_battery_then_the_grid() -> None:
    # 6 of sun: 1 to load, 3 into the battery (its limit), 2 sold.
    h = hour(6.0, 1.0)
    assert (h.pv_to_load_kw, h.pv_to_battery_kw, h.pv_to_grid_kw, h.curtailed_kw) == (1.0, 3.0, 2.0, 0.0)
    assert h.battery_kwh == 8.0


def test_grid_first_exports_before_it_charges() -> None:
    # 6 of sun: 1 to load; the stage passes 5, so 4 are sold; 1 is left for the battery.
    h = hour(6.0, 1.0, surplus_to_battery=False)
    assert (h.pv_to_load_kw, h.pv_to_grid_kw, h.pv_to_battery_kw, h.curtailed_kw) == (1.0, 4.0, 1.0, 0.0)


def test_export_limit_sends_the_rest_to_the_battery_and_then_nowhere() -> None:
    h = hour(6.0, 1.0, surplus_to_battery=False, export_limit_kw=0.5)
    assert (h.pv_to_grid_kw, h.pv_to_battery_kw, h.curtailed_kw) == (0.5, 3.0, 1.5)


def test_sun_above_what_the_stage_passes_still_charges_the_battery() -> None:
    # 9 of sun, 8 of load: 5 through the stage, 3 (charge limit) into the battery; the load would take the last 1.
    h = hour(9.0, 8.0)
    assert (h.pv_to_load_kw, h.pv_to_battery_kw, h.source_to_load_kw) == (5.0, 3.0, 3.0)
    assert (h.clipped_kw, h.curtailed_kw) == (1.0, 0.0)


def test_solar_charging_stops_at_the_ceiling() -> None:
    # Room of 1 kWh to the ceiling of 6.
    h = hour(6.0, 1.0, ceiling=0.6, export_limit_kw=0.0)
    assert (h.pv_to_battery_kw, h.curtailed_kw, h.battery_kwh) == (1.0, 4.0, 6.0)


def test_full_battery_takes_only_what_fits() -> None:
    # Room of 0.5 kWh; at 0.8 one way it takes 0.5 / 0.8 = 0.625 kW at its terminals.
    h = hour(6.0, 1.0, stored=9.5, hw=limits(one_way=0.8))
    assert h.pv_to_battery_kw == pytest.approx(0.625)
    assert h.battery_kwh == pytest.approx(10.0)


def test_deficit_is_served_by_the_battery_then_the_grid() -> None:
    # 4 of load, 0.5 of sun: 3 from the battery (its limit), 0.5 from the grid.
    h = hour(0.5, 4.0)
    assert (h.pv_to_load_kw, h.battery_to_load_kw, h.source_to_load_kw, h.battery_kwh) == (0.5, 3.0, 0.5, 2.0)


def test_reserve_stops_discharge_and_the_grid_takes_over() -> None:
    # 0.7 kWh above the floor; at 0.8 one way they give 0.56 kWh at the terminals.
    h = hour(0.0, 2.0, stored=2.7, hw=limits(one_way=0.8))
    assert h.battery_to_load_kw == pytest.approx(0.56)
    assert h.source_to_load_kw == pytest.approx(1.44)
    assert h.battery_kwh == pytest.approx(2.0)


def test_battery_below_a_raised_floor_neither_gives_nor_buys() -> None:
    h = hour(0.0, 2.0, stored=4.0, reserve=0.8)
    assert (h.battery_to_load_kw, h.source_to_battery_kw, h.battery_kwh) == (0.0, 0.0, 4.0)


def test_battery_that_may_not_serve_waits() -> None:
    h = hour(0.0, 2.0, serves_load=False)
    assert (h.battery_to_load_kw, h.source_to_load_kw, h.battery_kwh) == (0.0, 2.0, 5.0)


def test_conversion_and_battery_losses_are_counted_once_each() -> None:
    # Load 2 from the battery alone: 2.086 DC; at 0.9 one way 2.086/0.9 = 2.3178 leave the cells.
    h = hour(0.0, 2.0, hw=limits(curve=LOSSY, one_way=0.9))
    assert h.battery_kwh == pytest.approx(5.0 - 2.086 / 0.9)
    assert h.losses_kw == pytest.approx(0.086 + 2.086 * (1 / 0.9 - 1))


def test_sun_below_the_running_loss_goes_to_the_battery() -> None:
    h = hour(0.04, 2.0, hw=limits(curve=LOSSY), serves_load=False)
    assert (h.pv_to_load_kw, h.pv_to_battery_kw) == (0.0, 0.04)


def test_self_use_is_served_as_load_is() -> None:
    h = hour(0.0, 1.0, hw=limits(standby_kw=0.06))
    assert h.battery_to_load_kw == pytest.approx(1.06)


def test_self_discharge_takes_its_share_above_the_minimum() -> None:
    # (5 - 1) * 0.99 + 1 = 4.96: 0.04 kWh lost.
    h = hour(0.0, 0.0, hw=limits(kept=0.99))
    assert h.battery_kwh == pytest.approx(4.96)
    assert h.losses_kw == pytest.approx(0.04)


def test_order_to_charge_takes_the_grid_for_what_the_sun_lacks() -> None:
    # Charge limit 3: 1 from the sun, 2 from the grid, which also serves the load of 1.5.
    h = hour(1.0, 1.5, charge_to=0.9)
    assert (h.pv_to_battery_kw, h.source_to_battery_kw, h.source_to_load_kw) == (1.0, 2.0, 1.5)
    assert h.battery_kwh == 8.0


def test_order_to_charge_puts_in_what_the_way_in_loses() -> None:
    # 1 kWh to the level of 6 takes 1 / 0.8 = 1.25 at the terminals.
    h = hour(0.0, 0.0, hw=limits(one_way=0.8), charge_to=0.6)
    assert h.source_to_battery_kw == pytest.approx(1.25)
    assert h.battery_kwh == pytest.approx(6.0)


def test_order_to_charge_stops_at_its_level() -> None:
    h = hour(0.0, 1.5, charge_to=0.6)
    assert (h.source_to_battery_kw, h.battery_kwh) == (1.0, 6.0)


def test_charging_from_the_grid_passes_the_stage() -> None:
    # 2 kW into the battery take 2.086 kW from the grid.
    h = hour(0.0, 0.0, hw=limits(curve=LOSSY), charge_to=0.7)
    assert h.source_to_battery_kw == pytest.approx(2.086)
    assert h.battery_kwh == pytest.approx(7.0)


def test_charging_from_the_grid_stays_within_the_stage() -> None:
    # The battery would take 9; the stage takes its rated 5 from the grid and loses some.
    h = hour(0.0, 0.0, stored=1.0, hw=limits(charge_kw=9.0, curve=LOSSY), charge_to=1.0)
    assert h.source_to_battery_kw == pytest.approx(5.0)
    assert h.battery_kwh == pytest.approx(1.0 + _output_from(LOSSY, 5.0))


def test_sun_that_the_stage_cannot_pass_is_not_held_back_for_the_import_cap() -> None:
    # Load 9, cap 2: the stage passes 5 of the sun's 9; the other 4 may charge, the battery takes 3.
    h = hour(9.0, 9.0, charge_to=0.9, ceiling=0.5, import_cap_kw=2.0)
    assert (h.pv_to_load_kw, h.pv_to_battery_kw, h.clipped_kw) == (5.0, 3.0, 1.0)


def test_charging_is_not_started_for_less_than_the_running_loss() -> None:
    h = hour(0.0, 0.0, stored=5.98, hw=limits(curve=LOSSY), charge_to=0.6)
    assert (h.source_to_battery_kw, h.battery_kwh) == (0.0, 5.98)


def test_import_cap_leaves_room_for_the_load() -> None:
    # Cap 2.5, load 1.5: 1 for the battery.
    h = hour(0.0, 1.5, charge_to=0.9, import_cap_kw=2.5)
    assert (h.source_to_battery_kw, h.source_to_load_kw) == (1.0, 1.5)


def test_import_cap_makes_the_sun_serve_what_is_above_it() -> None:
    # Load 4, cap 2.5: 1.5 of the sun's 3 must serve; the other 1.5 may charge.
    h = hour(3.0, 4.0, charge_to=0.9, import_cap_kw=2.5)
    assert (h.pv_to_battery_kw, h.pv_to_load_kw, h.source_to_load_kw) == (1.5, 1.5, 2.5)


def test_battery_covers_demand_above_the_import_cap_even_where_it_may_not_serve() -> None:
    h = hour(0.0, 4.0, serves_load=False, import_cap_kw=2.5)
    assert (h.battery_to_load_kw, h.source_to_load_kw) == (1.5, 2.5)


def test_import_cap_never_cuts_demand() -> None:
    h = hour(0.0, 4.0, stored=2.0, serves_load=False, import_cap_kw=2.5)
    assert (h.battery_to_load_kw, h.source_to_load_kw) == (0.0, 4.0)


def test_order_to_charge_keeps_the_battery_from_serving_below_it() -> None:
    # No room to charge: 5 kWh is the level; then half a kilowatt-hour above it.
    h = hour(0.0, 2.0, charge_to=0.5)
    assert (h.battery_to_load_kw, h.source_to_load_kw, h.battery_kwh) == (0.0, 2.0, 5.0)
    h = hour(0.0, 2.0, stored=5.5, charge_to=0.5)
    assert (h.battery_to_load_kw, h.source_to_load_kw, h.battery_kwh) == (0.5, 1.5, 5.0)


@pytest.mark.parametrize("serves_load", [True, False])
def test_import_cap_holds_before_an_order_to_charge(serves_load: bool) -> None:
    # Load 4, cap 2.5, to be charged to 9: the battery covers 1.5 of it, and is not charged.
    h = hour(0.0, 4.0, charge_to=0.9, import_cap_kw=2.5, serves_load=serves_load)
    assert (h.battery_to_load_kw, h.source_to_load_kw, h.source_to_battery_kw) == (1.5, 2.5, 0.0)


def test_import_cap_uses_the_battery_down_to_the_reserve_and_no_further() -> None:
    # 0.6 kWh above the reserve of 2.
    h = hour(0.0, 4.0, stored=2.6, charge_to=0.9, import_cap_kw=2.5)
    assert h.battery_to_load_kw == pytest.approx(0.6)
    assert h.source_to_load_kw == pytest.approx(3.4)
    assert h.battery_kwh == pytest.approx(2.0)
    h = hour(0.0, 4.0, stored=1.5, charge_to=0.9, import_cap_kw=2.5)
    assert (h.battery_to_load_kw, h.source_to_load_kw, h.battery_kwh) == (0.0, 4.0, 1.5)


def test_import_cap_adds_the_battery_to_a_sun_that_is_not_enough() -> None:
    # Load 4, cap 2.5: 1 of sun and 0.5 from the battery.
    h = hour(1.0, 4.0, charge_to=0.9, import_cap_kw=2.5)
    assert (h.pv_to_load_kw, h.battery_to_load_kw, h.source_to_load_kw) == (1.0, 0.5, 2.5)
    assert h.pv_to_battery_kw == 0.0


def test_battery_serves_down_to_an_order_s_level_and_below_it_only_what_the_cap_asks() -> None:
    # Half a kilowatt-hour above the level serves; the cap of 2.5 asks for 1.5 in all.
    h = hour(0.0, 4.0, stored=5.5, charge_to=0.5, import_cap_kw=2.5)
    assert (h.battery_to_load_kw, h.source_to_load_kw, h.battery_kwh) == (1.5, 2.5, 4.0)
    # 2.5 kWh above the level serve 2.5: more than the cap asks for.
    h = hour(0.0, 4.0, stored=7.5, charge_to=0.5, import_cap_kw=2.5)
    assert (h.battery_to_load_kw, h.source_to_load_kw, h.battery_kwh) == (2.5, 1.5, 5.0)


def test_order_to_sell_serves_the_home_and_sells_down_to_its_level() -> None:
    # 2.5 kWh above the level of 2.5: 1 to load, 1.5 sold.
    h = hour(0.0, 1.0, sell_to=0.25)
    assert (h.battery_to_load_kw, h.battery_to_grid_kw, h.battery_kwh) == (1.0, 1.5, 2.5)


def test_order_to_sell_serves_the_home_even_where_the_battery_may_not() -> None:
    # What leaves the inverter meets the home's load before the meter.
    h = hour(0.0, 1.0, sell_to=0.25, serves_load=False)
    assert (h.battery_to_load_kw, h.battery_to_grid_kw) == (1.0, 1.5)


def test_order_to_sell_keeps_to_the_export_limit_and_to_the_stage() -> None:
    assert hour(0.0, 1.0, sell_to=0.2, export_limit_kw=0.7).battery_to_grid_kw == pytest.approx(0.7)
    h = hour(4.0, 1.0, stored=9.0, sell_to=0.2)
    assert h.pv_to_load_kw + h.pv_to_grid_kw + h.battery_to_grid_kw == 5.0


def test_order_to_sell_stops_at_the_reserve() -> None:
    assert hour(0.0, 0.0, stored=2.5, sell_to=0.1).battery_to_grid_kw == 0.5


def test_below_the_level_of_selling_the_home_is_still_served_to_the_floor() -> None:
    h = hour(0.0, 1.0, stored=4.0, sell_to=0.5)
    assert (h.battery_to_load_kw, h.battery_to_grid_kw) == (1.0, 0.0)


def test_zero_export_keeps_its_small_import() -> None:
    h = hour(6.0, 1.0, stored=10.0, export_limit_kw=0.0, bias_kw=0.05)
    assert h.pv_to_load_kw == pytest.approx(0.95)
    assert h.source_to_load_kw == pytest.approx(0.05)
    assert h.pv_to_grid_kw == 0.0


def test_small_import_is_kept_only_while_export_is_zero() -> None:
    assert hour(6.0, 1.0, export_limit_kw=1.0, bias_kw=0.05).source_to_load_kw == 0.0


HALF = limits(step_h=0.5, charge_kw=9.0, discharge_kw=9.0)


def test_half_hour_steps_move_half_the_energy() -> None:
    assert hour(6.0, 1.0, hw=limits(step_h=0.5)).battery_kwh == pytest.approx(6.5)


def test_half_hour_steps_fill_a_room_with_twice_the_power() -> None:
    # Room of 1 kWh: 2 kW for half an hour, by the sun up to the ceiling and by order up to its level.
    assert hour(6.0, 1.0, hw=HALF, ceiling=0.6).pv_to_battery_kw == pytest.approx(2.0)
    assert hour(0.0, 1.0, hw=HALF, charge_to=0.6).source_to_battery_kw == pytest.approx(2.0)


def test_half_hour_steps_empty_it_with_twice_the_power() -> None:
    # 1 kWh above the floor, and above the level of selling: 2 kW for half an hour.
    assert hour(0.0, 4.0, stored=3.0, hw=HALF).battery_to_load_kw == pytest.approx(2.0)
    assert hour(0.0, 0.0, stored=6.0, hw=HALF, sell_to=0.5).battery_to_grid_kw == pytest.approx(2.0)


def test_order_to_sell_says_nothing_while_export_is_zero() -> None:
    h = hour(0.0, 1.0, sell_to=0.25, serves_load=False, export_limit_kw=0.0)
    assert (h.battery_to_load_kw, h.battery_to_grid_kw) == (0.0, 0.0)


def test_order_to_charge_and_the_sun_together_keep_to_the_charge_limit() -> None:
    # The order takes 1 up to its level, the sun may add 2 more up to the limit of 3.
    h = hour(6.0, 0.0, charge_to=0.6, export_limit_kw=0.0)
    assert (h.pv_to_battery_kw, h.curtailed_kw) == (3.0, 3.0)


def test_import_cap_counts_what_the_sun_loses_in_the_stage() -> None:
    # Load 4, cap 2.5: 1.5 must come from the sun and take 1.5 + 0.05 + 0.015 + 0.009 = 1.574 of its 3.
    h = hour(3.0, 4.0, hw=limits(curve=LOSSY), charge_to=0.9, import_cap_kw=2.5)
    assert h.pv_to_load_kw == pytest.approx(1.5)
    assert h.pv_to_battery_kw == pytest.approx(3.0 - 1.574)


@pytest.mark.parametrize("stored", [1.0, 10.0])
def test_rounding_never_leaves_the_battery_s_limits(stored: float) -> None:
    for one_way in (0.93, 0.97, 0.9695359714832658):
        h = hour(7.3, 0.1, stored=stored, hw=limits(one_way=one_way, charge_kw=99.0, discharge_kw=99.0))
        assert h.battery_kwh <= 10.0
        assert hour(0.0, 9.0, stored=stored, hw=limits(one_way=one_way), reserve=0.1).battery_kwh >= 1.0


def test_a_battery_that_is_not_asked_gives_nothing_at_all() -> None:
    """Not even the last bit of a sum: cycles are counted by whether the battery gave."""
    for pv in (0.3, 1.7, 2.9, 4.1):
        for free in (True, False):
            h = hour(
                pv, 0.9, stored=9.99, hw=limits(curve=LOSSY, one_way=0.97), serves_load=False, surplus_to_battery=free
            )
            assert (h.battery_to_load_kw, h.battery_to_grid_kw) == (0.0, 0.0)


def test_rounding_never_leaves_the_low_cutoff() -> None:
    """Emptying 0.02 kWh at 0.97 one way ends at 0.9999999999999999 without the clamp (found by search)."""
    lossy = limits(one_way=0.97, discharge_kw=99.0)
    assert step(lossy, orders(reserve=0.1), conditions(lossy, 2.63, 4.6), 1.02).battery_kwh == 1.0


def test_a_battery_that_is_not_asked_gives_not_even_a_last_bit() -> None:
    """3.79 kW of sun: the stage's output and its inverse differ in the last bit (found by search)."""
    lossy = limits(curve=LOSSY, one_way=0.9)
    assert step(lossy, orders(serves_load=False), conditions(lossy, 3.79, 4.0), 1.26).battery_to_load_kw == 0.0


def test_compiled_and_plain_step_agree() -> None:
    for pv, load, stored in ((0.0, 0.0, 1.0), (6.0, 1.0, 5.0), (0.5, 4.0, 2.7), (9.0, 8.0, 9.5)):
        hw = limits(curve=LOSSY, one_way=0.95, taper_kwh=3.0, peukert=1.2, rated_kw=0.5)
        case = hw, orders(charge_to=0.5), conditions(hw, pv, load, charge_kw=1.0), stored
        assert tuple(step(*case)) == pytest.approx(tuple(step.py_func(*case)))


def test_a_step_s_records_are_one_entry_of_the_year_s() -> None:
    assert Orders._fields[:16] == Dispatch._fields[:16]
    assert Conditions._fields == (*Inputs._fields[4:], *Cells._fields)


def test_a_change_of_the_records_is_told_to_the_compiled_code() -> None:
    """Numba's cache looks at the compiled functions' file only: it must change when a record does."""
    records = Curve, Limits, Cells, Dispatch, Switching, Inputs, Orders, Conditions, Hour, State
    fields = [(each.__name__, each._fields) for each in records]
    assert hashlib.sha256(repr((GRID, GENERATOR, REASONS, fields)).encode()).hexdigest()[:8] == COMPILED_FOR
