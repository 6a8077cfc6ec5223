"""Limits of power that a strategy sets, what of the load the battery serves, and the floor off the grid.

Hardware of ``builders.limits``: lossless, 5 kW, 10 kWh, 3 kW each way; stored 5 kWh, reserve 2 kWh.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.engine.records import Conditions, Curve, Hour, Limits
from solarsim.engine.step import input_for, step
from tests.builders import conditions, limits, orders

LOSSY = Curve(rated_kw=5.0, k0_kw=0.05, k1=0.01, k2=0.02)
SMALL_KW = 1e-9


def hour(pv: float, load: float, stored: float = 5.0, hw: Limits | None = None, **rule: object) -> Hour:
    """Run one step."""
    hw = limits() if hw is None else hw
    return Hour(*step(hw, orders(**rule), conditions(hw, pv, load), stored))


@pytest.mark.by_hand
def test_charging_from_the_grid_keeps_to_its_limit_and_the_sun_adds_to_it() -> None:
    # The battery accepts 3: 0.5 of sun, 1.5 from the grid.
    h = hour(0.5, 1.0, charge_to=0.9, grid_charge_kw=1.5)
    assert (h.pv_to_battery_kw, h.source_to_battery_kw, h.source_to_load_kw) == (0.5, 1.5, 1.0)
    # With 2 of sun only 1 is left to the battery's own limit.
    assert hour(2.0, 1.0, charge_to=0.9, grid_charge_kw=1.5).source_to_battery_kw == 1.0
    assert hour(2.0, 1.0, charge_to=0.9, grid_charge_kw=0.0).source_to_battery_kw == 0.0


@pytest.mark.by_hand
def test_limit_of_grid_charging_is_at_the_battery_s_terminals() -> None:
    # 1.5 at the terminals cost 1.5 + 0.05 + 0.015 + 0.02 * 1.5 * 1.5 / 5 = 1.574 of AC power.
    h = hour(0.0, 0.0, hw=limits(curve=LOSSY), charge_to=0.9, grid_charge_kw=1.5)
    assert h.source_to_battery_kw == pytest.approx(1.574)
    assert h.battery_kwh == pytest.approx(6.5)


@pytest.mark.by_hand
def test_discharge_limit_leaves_the_rest_to_the_grid_for_load_cap_and_sale() -> None:
    assert hour(0.5, 4.0, discharge_limit_kw=1.25)[5:8] == (1.25, 0.0, 2.25)
    h = hour(0.0, 4.0, serves_load=False, import_cap_kw=2.5, discharge_limit_kw=1.0)
    assert (h.battery_to_load_kw, h.source_to_load_kw) == (1.0, 3.0)
    h = hour(0.0, 0.5, sell_to=0.2, discharge_limit_kw=1.25)
    assert (h.battery_to_load_kw, h.battery_to_grid_kw) == (0.5, 0.75)


@pytest.mark.by_hand
def test_sale_keeps_to_its_limit_beside_the_sun_s_own_export() -> None:
    # 2 of sun, 0.5 of load: 1.5 of sun is exported, 1 from the battery on top.
    h = hour(2.0, 0.5, sell_to=0.2, sell_limit_kw=1.0)
    assert (h.pv_to_grid_kw, h.battery_to_grid_kw, h.battery_to_load_kw) == (1.5, 1.0, 0.0)
    h = hour(0.0, 0.5, sell_to=0.2, sell_limit_kw=1.0)
    assert (h.battery_to_grid_kw, h.battery_to_load_kw) == (1.0, 0.5)


@pytest.mark.by_hand
def test_sale_of_nothing_is_no_order_to_sell() -> None:
    h = hour(0.0, 1.0, sell_to=0.2, sell_limit_kw=0.0, serves_load=False)
    assert (h.battery_to_grid_kw, h.battery_to_load_kw, h.battery_kwh) == (0.0, 0.0, 5.0)


@pytest.mark.by_hand
def test_battery_that_serves_what_is_backed_up_leaves_the_rest_to_sun_and_grid() -> None:
    # Load 4, of it 1.5 backed up.
    asked: dict[str, Any] = {"backed_up_only": True, "backed_kw": 1.5}
    h = hour(0.0, 4.0, **asked)
    assert (h.battery_to_load_kw, h.source_to_load_kw) == (1.5, 2.5)
    # The sun's 1 serves what is backed up first, as it comes from the same inverter.
    h = hour(1.0, 4.0, **asked)
    assert (h.pv_to_load_kw, h.battery_to_load_kw, h.source_to_load_kw) == (1.0, 0.5, 2.5)
    h = hour(2.0, 4.0, **asked)
    assert (h.pv_to_load_kw, h.battery_to_load_kw, h.source_to_load_kw) == (2.0, 0.0, 2.0)
    assert hour(0.0, 1.0, **asked).battery_to_load_kw == 1.0


@pytest.mark.by_hand
def test_battery_covers_no_more_than_what_is_backed_up_above_the_import_cap() -> None:
    h = hour(0.0, 4.0, backed_up_only=True, backed_kw=0.5, import_cap_kw=2.5)
    assert (h.battery_to_load_kw, h.source_to_load_kw) == (0.5, 3.5)


@pytest.mark.by_hand
def test_floor_off_the_grid_ends_an_outage_before_the_low_cutoff() -> None:
    dark: dict[str, Any] = {"grid": False, "generator_charge_kw": 9.0}
    h = hour(0.0, 3.0, stored=4.0, reserve=0.9, off_grid_floor=0.25, **dark)
    assert (h.battery_to_load_kw, h.unserved_kw, h.battery_kwh) == (1.5, 1.5, 2.5)
    # Below the low cutoff it means the cutoff; with the grid it means nothing.
    assert hour(0.0, 3.0, stored=2.0, off_grid_floor=0.05, **dark).battery_kwh == 1.0
    assert hour(0.0, 3.0, stored=4.0, reserve=0.2, off_grid_floor=0.25).battery_kwh == 2.0


@pytest.mark.by_hand
def test_limits_of_the_strategy_do_not_hold_in_an_outage() -> None:
    asked: dict[str, Any] = {
        "discharge_limit_kw": 0.1,
        "backed_up_only": True,
        "grid_charge_kw": 0.0,
        "generator_charge_kw": 9.0,
    }
    assert hour(0.0, 2.0, grid=False, **asked).battery_to_load_kw == 2.0
    assert hour(0.0, 1.0, grid=False, generator_kw=3.0, **asked).source_to_battery_kw == 2.0


@dataclass(frozen=True)
class Case:
    """One drawn step."""

    hw: Limits
    rule: dict[str, Any]
    now: Conditions
    stored: float


@st.composite
def cases(draw: st.DrawFn) -> Case:
    power = st.floats(0.0, 6.0)
    hw = limits(curve=draw(st.sampled_from([LOSSY, limits().curve])), one_way=draw(st.floats(0.8, 1.0)))
    rule: dict[str, Any] = {
        "surplus_to_battery": draw(st.booleans()),
        "serves_load": draw(st.booleans()),
        "charge_to": draw(st.just(0.0) | st.floats(0.2, 1.0)),
        "sell_to": draw(st.just(1.0) | st.floats(0.1, 0.9)),
        "import_cap_kw": draw(st.just(float("inf")) | power),
        "export_limit_kw": draw(st.just(0.0) | power),
    }
    now = conditions(hw, draw(st.just(0.0) | power), draw(power), ac_solar_kw=draw(st.just(0.0) | power))
    return Case(hw, rule, now, draw(st.floats(1.0, 10.0)))


@settings(max_examples=400)
@given(case=cases(), limit_kw=st.tuples(*[st.floats(0.0, 4.0)] * 4))
def test_limits_are_never_exceeded(case: Case, limit_kw: tuple[float, float, float, float]) -> None:
    charge, discharge, sell, backed = limit_kw
    asked = {"grid_charge_kw": charge, "discharge_limit_kw": discharge, "sell_limit_kw": sell, "backed_kw": backed}
    h = Hour(*step(case.hw, orders(**case.rule, **asked, backed_up_only=True), case.now, case.stored))
    assert h.source_to_battery_kw <= input_for(case.hw.curve, charge) + SMALL_KW
    drained_kwh = max(0.0, case.stored - h.battery_kwh)
    assert drained_kwh * case.hw.one_way <= discharge + SMALL_KW
    assert h.battery_to_grid_kw <= sell + SMALL_KW
    sells = float(case.rule["sell_to"]) < 1.0 and float(case.rule["export_limit_kw"]) > 0.0 and sell > 0.0
    if not sells:
        assert h.battery_to_load_kw <= backed + SMALL_KW


@settings(max_examples=200)
@given(case=cases())
def test_limits_that_do_not_bind_change_nothing(case: Case) -> None:
    plain = step(case.hw, orders(**case.rule), case.now, case.stored)
    wide = {"grid_charge_kw": 99.0, "discharge_limit_kw": 99.0, "sell_limit_kw": 99.0, "backed_kw": 99.0}
    assert step(case.hw, orders(**case.rule, **wide, backed_up_only=True), case.now, case.stored) == plain


@settings(max_examples=200)
@given(case=cases(), low=st.floats(0.0, 4.0), more=st.floats(0.0, 2.0))
def test_a_wider_limit_never_discharges_less(case: Case, low: float, more: float) -> None:
    ends = [
        step(case.hw, orders(**case.rule, discharge_limit_kw=limit), case.now, case.stored).battery_kwh
        for limit in (low, low + more)
    ]
    assert np.diff(ends)[0] <= SMALL_KW
