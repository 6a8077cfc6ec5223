"""What cells do to the hour: taper near full, Peukert's loss, cold, heater; by hand."""

from math import exp

import pytest

from solarsim.engine.records import Hour, Limits
from solarsim.engine.step import _accepted, _delivered, _drained, step
from tests.builders import conditions, limits, orders

pytestmark = pytest.mark.by_hand
# 10 kWh, 3 kW, slower from 8 kWh on: 3 kW there, 0 at full.
TAPERED = limits(taper_kwh=2.0)


def hour(
    pv: float, load: float, stored: float, hw: Limits = TAPERED, cells: dict[str, float] | None = None, **rule: object
) -> Hour:
    """Run one step."""
    return Hour(*step(hw, orders(**rule), conditions(hw, pv, load, **(cells or {})), stored))


def test_below_the_taper_all_of_an_offer_is_taken() -> None:
    assert _accepted(TAPERED, 0.0, 3.0, 5.0) == 3.0
    assert _accepted(TAPERED, 1.0, 2.0, 5.0) == 2.0


def test_inside_the_taper_the_room_shrinks_exponentially() -> None:
    # From 9 kWh: the limit is 1.5 kW and falls with the room, which shrinks by exp(-3/2) in an hour.
    assert _accepted(TAPERED, 0.0, 3.0, 9.0) == pytest.approx(1.0 - exp(-1.5))


def test_an_hour_that_reaches_the_taper_is_steady_first() -> None:
    # From 7 kWh at 3 kW: 20 minutes to 8 kWh, then 2 kWh of room for 40 minutes.
    assert _accepted(TAPERED, 0.0, 3.0, 7.0) == pytest.approx(1.0 + 2.0 * (1.0 - exp(-1.5 * 2 / 3)))


def test_a_small_offer_meets_the_taper_later() -> None:
    # 0.6 kW is the limit at 9.6 kWh: from 9 it is steady all the hour; from 9.3 for half an hour.
    assert _accepted(TAPERED, 0.0, 0.6, 9.0) == 0.6
    assert _accepted(TAPERED, 0.0, 0.6, 9.3) == pytest.approx(0.3 + 0.4 * (1.0 - exp(-0.75)))


def test_two_half_hours_take_what_one_hour_does() -> None:
    half = limits(taper_kwh=2.0, step_h=0.5, one_way=0.95)
    whole = limits(taper_kwh=2.0, one_way=0.95)
    for stored in (6.5, 7.9, 8.4, 9.9):
        first = 0.5 * _accepted(half, 0.0, 3.0, stored)
        second = 0.5 * _accepted(half, 0.0, 3.0, stored + 0.95 * first)
        assert first + second == pytest.approx(_accepted(whole, 0.0, 3.0, stored))


def test_what_the_taper_leaves_is_exported() -> None:
    h = hour(6.0, 1.0, stored=9.0)
    taken = 1.0 - exp(-1.5)
    assert h.pv_to_battery_kw == pytest.approx(taken)
    assert h.pv_to_grid_kw == pytest.approx(6.0 - 1.0 - taken - h.clipped_kw)
    assert h.curtailed_kw == 0.0  # with a larger rating all the rest would be exported
    assert h.battery_kwh == pytest.approx(9.0 + taken)
    assert h.temperature_blocked_kw == 0.0


def test_the_grid_charges_along_the_taper_too() -> None:
    h = hour(0.0, 1.0, stored=9.0, charge_to=1.0)
    assert h.source_to_battery_kw == pytest.approx(1.0 - exp(-1.5))
    assert h.temperature_blocked_kw == 0.0


def test_peukert_drains_more_than_is_given() -> None:
    hw = limits(peukert=1.25, rated_kw=0.5)
    # 2 kW is four times the rated discharge: 2 x 4^0.25 = 2.828427
    assert _drained(hw, 2.0) == pytest.approx(2.828427, abs=1e-6)
    h = hour(0.0, 2.0, stored=8.0, hw=hw)
    assert h.battery_to_load_kw == pytest.approx(2.0)
    assert h.battery_kwh == pytest.approx(8.0 - 2.828427, abs=1e-6)
    assert h.losses_kw == pytest.approx(0.828427, abs=1e-6)


def test_peukert_stops_at_the_floor() -> None:
    hw = limits(peukert=1.25, rated_kw=0.5)
    # 1 kWh above the floor of 2: 0.5 x (1/0.5)^(1/1.25) = 0.870551 kW last the hour.
    h = hour(0.0, 2.0, stored=3.0, hw=hw)
    assert _delivered(hw, 1.0) == pytest.approx(0.870551, abs=1e-6)
    assert h.battery_to_load_kw == pytest.approx(0.870551, abs=1e-6)
    assert h.battery_kwh == pytest.approx(2.0)


def test_at_or_below_the_rated_discharge_peukert_takes_nothing() -> None:
    hw = limits(peukert=1.25, rated_kw=0.5)
    assert (_drained(hw, 0.5), _delivered(hw, 0.4)) == (0.5, 0.4)
    assert _drained(limits(), 9.0) == _delivered(limits(), 9.0) == 9.0


def test_cold_keeps_sun_out_that_is_exported_or_curtailed() -> None:
    # 6 of sun, 1 of load: 3 would go into the battery; cold lets 0.5 in, 2.5 are kept out.
    h = hour(6.0, 1.0, stored=5.0, hw=limits(), cells={"charge_kw": 0.5}, export_limit_kw=1.0)
    assert (h.pv_to_battery_kw, h.temperature_blocked_kw) == (0.5, 2.5)
    assert (h.pv_to_grid_kw, h.curtailed_kw) == (1.0, 3.5)


@pytest.mark.parametrize(
    ("pv", "stored", "temperature_blocked"),
    [(1.5, 5.0, 0.5), (1.0, 5.0, 0.0), (0.2, 5.0, 0.0), (6.0, 9.0, 1.0), (6.0, 10.0, 0.0)],
    ids=["little surplus", "no surplus", "deficit", "little room", "full"],
)
def test_only_surplus_sun_that_had_room_counts_as_temperature_blocked(
    pv: float, stored: float, temperature_blocked: float
) -> None:
    h = hour(pv, 1.0, stored=stored, hw=limits(), cells={"charge_kw": 0.0})
    assert h.pv_to_battery_kw == 0.0
    assert h.temperature_blocked_kw == pytest.approx(temperature_blocked)


def test_cold_stops_an_order_to_charge_from_the_grid() -> None:
    h = hour(0.0, 1.0, stored=3.0, hw=limits(), cells={"charge_kw": 0.0}, charge_to=0.9)
    assert (h.source_to_battery_kw, h.source_to_load_kw) == (0.0, 1.0)
    assert h.battery_to_load_kw == 0.0  # what is to be charged is not discharged meanwhile


def test_cold_can_stop_discharging() -> None:
    h = hour(0.0, 1.0, stored=5.0, hw=limits(), cells={"discharge_kw": 0.0}, sell_to=0.3)
    assert (h.battery_to_load_kw, h.battery_to_grid_kw, h.source_to_load_kw) == (0.0, 0.0, 1.0)


def test_the_heater_is_served_as_load_is() -> None:
    h = hour(0.0, 1.0, stored=5.0, hw=limits(), cells={"heater_kw": 0.2})
    assert h.battery_to_load_kw == pytest.approx(1.2)
