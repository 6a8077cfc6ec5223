"""Solar power on the home's AC side, from inverters of its own. All numbers by hand.

The stage and the battery of ``builders.limits`` are lossless: 5 kW, 10 kWh, low cutoff 1 kWh, 3 kW each way.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.engine.records import Curve, Hour, Limits
from solarsim.engine.step import step
from tests.builders import conditions, limits, orders

pytestmark = pytest.mark.by_hand
LOSSY = Curve(rated_kw=5.0, k0_kw=0.05, k1=0.01, k2=0.02)


def hour(pv: float, load: float, ac: float, stored: float = 5.0, hw: Limits | None = None, **rule: object) -> Hour:
    hw = limits() if hw is None else hw
    return Hour(*step(hw, orders(**rule), conditions(hw, pv, load, ac_solar_kw=ac), stored))


def test_it_serves_the_home_first() -> None:
    h = hour(0.0, 3.0, 2.0)
    assert (h.pv_to_load_kw, h.battery_to_load_kw, h.source_to_load_kw) == (2.0, 1.0, 0.0)
    h = hour(2.0, 3.0, 2.0)  # the roof on the DC side gives what is missing, and charges with the rest
    assert (h.pv_to_load_kw, h.pv_to_battery_kw, h.battery_kwh) == (3.0, 1.0, 6.0)


def test_what_is_left_charges_the_battery_and_then_is_exported() -> None:
    h = hour(0.0, 1.0, 5.0)
    assert (h.pv_to_load_kw, h.pv_to_battery_kw, h.pv_to_grid_kw, h.battery_kwh) == (1.0, 3.0, 1.0, 8.0)
    h = hour(0.0, 1.0, 5.0, surplus_to_battery=False)
    assert (h.pv_to_battery_kw, h.pv_to_grid_kw) == (0.0, 4.0)


def test_where_selling_comes_first_the_battery_takes_what_may_not_be_exported() -> None:
    h = hour(0.0, 1.0, 5.0, surplus_to_battery=False, export_limit_kw=1.5)
    assert (h.pv_to_grid_kw, h.pv_to_battery_kw, h.curtailed_kw) == (1.5, 2.5, 0.0)


def test_both_sides_share_one_export_limit() -> None:
    h = hour(6.0, 0.0, 4.0, stored=10.0, export_limit_kw=5.0)
    assert h.pv_to_grid_kw == 5.0
    assert h.curtailed_kw == 5.0


def test_the_stage_passes_power_one_way_at_a_time() -> None:
    """The DC side fills the battery's 3 kW and still has 2 kW to sell: the AC side's rest is sold too."""
    h = hour(5.0, 1.0, 3.0)
    assert (h.pv_to_load_kw, h.pv_to_battery_kw, h.pv_to_grid_kw) == (1.0, 3.0, 4.0)
    h = hour(1.0, 1.0, 3.0)  # the DC side fills a third of it: the AC side's rest passes the stage
    assert (h.pv_to_battery_kw, h.pv_to_grid_kw) == (3.0, 0.0)


def test_an_order_to_charge_takes_the_sun_of_both_sides_before_the_grid() -> None:
    h = hour(1.0, 0.5, 1.5, charge_to=1.0)
    assert (h.pv_to_load_kw, h.pv_to_battery_kw, h.source_to_battery_kw) == (0.5, 2.0, 1.0)
    assert h.pv_to_grid_kw == 0.0


def test_it_takes_no_part_in_an_outage_of_a_home_that_stops_with_the_grid() -> None:
    h = hour(0.0, 1.0, 3.0, grid=False, backed_kw=0.0, hw=limits(capacity_kwh=0.0, minimum_kwh=0.0))
    assert (h.pv_to_load_kw, h.curtailed_kw, h.unserved_kw) == (0.0, 3.0, 1.0)


def test_in_an_island_it_serves_and_charges() -> None:
    h = hour(0.0, 1.0, 3.0, grid=False)
    assert (h.pv_to_load_kw, h.pv_to_battery_kw, h.curtailed_kw, h.battery_kwh) == (1.0, 2.0, 0.0, 7.0)


def test_a_conversion_costs_what_the_stage_costs_the_other_way() -> None:
    # 2 kW from the AC side: x + 0.05 + 0.01 x + 0.004 x^2 = 2 -> x = 1.91615
    h = hour(0.0, 0.0, 2.0, hw=limits(curve=LOSSY))
    assert h.pv_to_battery_kw == pytest.approx(1.91615, abs=1e-5)
    assert h.losses_kw == pytest.approx(2.0 - 1.91615, abs=1e-5)


@given(
    pv=st.floats(0, 9), load=st.floats(0, 9), ac=st.floats(0, 9), stored=st.floats(1, 10),
    surplus_to_battery=st.booleans(), charge_to=st.sampled_from([0.0, 0.5, 1.0]), sell_to=st.sampled_from([1.0, 0.3]),
    export_limit_kw=st.sampled_from([0.0, 1.5, 99.0]), bias_kw=st.sampled_from([0.0, 0.1]), grid=st.booleans(),
)  # fmt: skip
def test_balance_of_any_hour_closes(pv: float, load: float, ac: float, stored: float, **rule: object) -> None:
    hw = limits(curve=LOSSY, one_way=0.95, standby_kw=0.05)
    h = hour(pv, load, ac, stored, hw, **rule)
    change = h.battery_kwh - stored
    assert min(h) >= -1e-9
    served = h.pv_to_load_kw + h.battery_to_load_kw + h.source_to_load_kw
    assert served + h.unserved_kw == pytest.approx(load + 0.05, abs=1e-9)
    bought = h.source_to_load_kw + h.source_to_battery_kw
    sold = h.pv_to_grid_kw + h.battery_to_grid_kw
    given_kw = pv + ac + bought
    assert given_kw == pytest.approx(served + sold + h.clipped_kw + h.curtailed_kw + change + h.losses_kw, abs=1e-9)
    assert min(bought, sold) <= 1e-9
    assert sold <= float(str(rule["export_limit_kw"])) + 1e-9
