"""What must hold for any cells: limits of temperature, books, and the direction in which stress ages them."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from solarsim.aging import lfp
from solarsim.aging.history import _cycles_of, history_from
from solarsim.aging.law import Stress, condition, plus
from solarsim.engine.step import _accepted
from solarsim.hardware.cell_temperature import _charge_limit
from solarsim.home import Home
from solarsim.ledger.flows import balance_error_kw
from tests.builders import limits, scenario
from tests.draws import stretches

SOC = st.floats(0.0, 1.0)
CELSIUS = st.floats(-40.0, 70.0)
PATHS = st.lists(SOC, min_size=4, max_size=60)


@settings(max_examples=80)
@given(data=st.data())
def test_no_cell_is_charged_at_or_below_its_cold_limit_and_balance_closes(data: st.DataObject, demo_home: Home) -> None:
    stretch = data.draw(stretches(demo_home, 120, cold=True))
    flows, battery = stretch.flows(), stretch.scenario.battery
    assert battery is not None
    if stretch.temperature_c is None:  # drawn without a battery
        return
    frozen = stretch.temperature_c <= battery.charge_min_c
    slow = stretch.temperature_c < battery.charge_slow_below_c
    into_kwh = flows.battery_change_kwh
    assert (into_kwh[frozen] <= 0.0).all()
    assert flows["pv_to_battery_kw"][frozen].max(initial=0.0) == 0.0
    assert flows["grid_to_battery_kw"][frozen].max(initial=0.0) == 0.0
    assert (into_kwh[slow] <= battery.charge_slow_c_rate * battery.kwh + 1e-9).all()
    assert balance_error_kw(flows) <= 1e-6


@settings(max_examples=60)
@given(data=st.data())
def test_temperature_blocked_is_part_of_what_was_exported_or_curtailed(data: st.DataObject, demo_home: Home) -> None:
    flows = data.draw(stretches(demo_home, 240)).flows()
    unused = flows["pv_available_kw"] - flows["pv_to_battery_kw"] - flows["pv_to_load_kw"]
    assert (flows["temperature_blocked_kw"] <= np.maximum(0.0, unused) + 1e-9).all()


@given(low=CELSIUS, high=CELSIUS, chemistry=st.sampled_from(["lfp", "nmc", "sealed_lead_acid"]))
def test_colder_never_allows_more_charging(low: float, high: float, chemistry: str) -> None:
    battery = scenario(battery__chemistry=chemistry, battery__place="outdoor", battery__low_cutoff=0.1).battery
    assert battery is not None
    below_heat = np.minimum([low, high], battery.charge_max_c - 0.01)
    colder, warmer = _charge_limit(battery, 5.0, np.sort(below_heat))
    assert colder <= warmer


@given(stored=st.floats(0.0, 10.0), more=st.floats(0.0, 10.0), offer=st.floats(0.0, 3.0), width=st.floats(0.0, 10.0))
def test_a_fuller_battery_never_takes_more_and_never_overflows(
    stored: float, more: float, offer: float, width: float
) -> None:
    hw = limits(taper_kwh=width, one_way=0.95)
    stored, fuller = sorted((stored, min(10.0, stored + more)))
    less, most = _accepted(hw, 0.0, offer, fuller), _accepted(hw, 0.0, offer, stored)
    assert 0.0 <= less <= most + 1e-9
    assert most <= offer + 1e-12
    if width > 0.1:
        assert stored + 0.95 * most <= 10.0 + 1e-9


@given(one=SOC, other=SOC, temperature_c=st.floats(*lfp._RANGE_C), days=st.integers(0, 365))
def test_more_time_at_a_high_state_of_charge_never_ages_less(
    one: float, other: float, temperature_c: float, days: int
) -> None:
    """Iron phosphate, time alone, within the model's range of temperature."""
    low, high = sorted((one, other))

    def loss(days_high: int) -> float:
        soc = np.where(np.arange(365) < days_high, high, low)
        year = history_from(np.full(366, 0.5), np.full(365, temperature_c), 24.0)._replace(soc=soc)
        return float(condition(lfp.LFP, lfp.LFP.stress(year)).calendar_loss)

    assert loss(days) <= loss(min(365, days + 30)) * (1.0 + 1e-12)


@given(soc=SOC, cold=st.floats(*lfp._RANGE_C), warm=st.floats(*lfp._RANGE_C))
def test_warmer_never_ages_less(soc: float, cold: float, warm: float) -> None:
    cold, warm = sorted((cold, warm))
    assert lfp._calendar_rate(soc, cold) <= lfp._calendar_rate(soc, warm)


@given(soc=SOC, temperature_c=st.floats(*lfp._RANGE_C), parts=st.lists(st.floats(0.01, 5.0), min_size=1, max_size=12))
def test_constant_stress_in_parts_equals_the_closed_form(soc: float, temperature_c: float, parts: list[float]) -> None:
    day = history_from(np.full(366, soc), np.full(365, temperature_c), 24.0)
    yearly, state = lfp.LFP.stress(day), Stress()
    for years in parts:
        state = plus(state, yearly, years)
    closed = lfp._calendar_rate(soc, temperature_c) * np.sqrt(sum(parts) * 365 * 86400.0)
    assert condition(lfp.LFP, state).calendar_loss == pytest.approx(float(closed), rel=1e-9)


@given(path=PATHS)
@example(path=[3.8e-234, 0.0, 1.0, 0.0])  # a step whose square is zero
def test_cycles_of_a_circle_hold_all_of_its_ups_and_downs(path: list[float]) -> None:
    soc = np.array([*path, path[0]])
    cycles = _cycles_of(soc, 1.0)
    assert cycles.full == pytest.approx(np.abs(np.diff(soc)).sum() / 2.0, abs=1e-9)


@given(path=PATHS, turn=st.integers(0, 59))
def test_where_a_circle_is_opened_does_not_matter(path: list[float], turn: int) -> None:
    rolled = [*path[turn % len(path) :], *path[: turn % len(path)]]
    one, other = (_cycles_of(np.array([*each, each[0]]), 1.0) for each in (path, rolled))
    assert (one.depth**2 * one.times).sum() == pytest.approx((other.depth**2 * other.times).sum(), abs=1e-9)
