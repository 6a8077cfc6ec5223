"""The optimum."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.engine.records import Curve
from solarsim.engine.step import input_for
from solarsim.home import Home, home_from
from solarsim.studies.compare.compare import compare
from solarsim.studies.compare.optimum import least_cost, optimum, tangents
from tests.builders import limits, scenario


@given(k0=st.floats(0, 0.1), k1=st.floats(0, 0.05), k2=st.floats(0, 0.1), share=st.floats(0, 1))
def test_tangents_lie_below_the_stage_s_curve(k0: float, k1: float, k2: float, share: float) -> None:
    curve = Curve(rated_kw=6.0, k0_kw=k0, k1=k1, k2=k2)
    out = share * 6.0
    for slope, offset in tangents(curve):
        assert slope * out + offset <= input_for.py_func(curve, out) + 1e-9


def test_tangents_lie_close_below_the_curve() -> None:
    curve = Curve(rated_kw=6.0, k0_kw=0.02, k1=0.0, k2=0.04)
    for out in np.linspace(2.0, 6.0, 9):
        nearest = max(slope * out + offset for slope, offset in tangents(curve))
        assert input_for.py_func(curve, out) - nearest < 0.005


def test_optimum_beats_every_strategy_of_the_demo(demo_home: Home) -> None:
    found = compare(demo_home.scenario, demo_home, best=True)
    assert found.best is not None
    assert found.best.annual_bill is not None
    shares = [run.optimum_share for run in found.runs]
    assert all(share is not None and 0.5 < share <= 1.0 for share in shares)
    assert found.table()["optimum_share"].tolist() == shares


def test_optimum_share_is_not_above_one_by_rounded_bill_lines() -> None:
    """Every line of a bill is rounded to the cent, the bound is not: a share near 1 must not show it."""
    perfect = {"inverter__efficiency": {"constant": 0.97}, "battery__self_discharge_per_month": 0.0}
    found = compare(scenario(**perfect, inverter__standby_w=0.0), best=True)
    assert found.runs[0].optimum_share == pytest.approx(1.0, abs=1e-7)


def test_no_bound_where_export_pays_more_than_import() -> None:
    home = home_from(scenario(rate_plan__export={"pay": "flat", "price": 0.30}))
    found = optimum(home)
    assert found.annual_bill is None
    assert found.why_none == "export pays more than import costs in 8760 hours, so importing to export would pay"
    comparison = compare(home.scenario, home, best=True)
    assert comparison.runs[0].optimum_share is None


def test_export_pay_does_not_matter_where_nothing_may_be_exported() -> None:
    changes = {"rate_plan__export": {"pay": "flat", "price": 0.30}, "grid": {"export_limit_kw": 0.0}}
    assert optimum(home_from(scenario(**changes))).annual_bill is not None


def night_and_day(**hardware: Any) -> float:
    """Two hours: one of sun without load at price 0, one of load without sun at price 1; no export."""
    prices = np.array([0.0, 1.0]), np.zeros(2)
    return least_cost(limits(**hardware), *prices, np.array([9.0, 0.0]), np.array([0.0, 2.0]), 0.0)


@pytest.mark.by_hand
@pytest.mark.parametrize(
    ("hardware", "cost"),
    [
        ({}, 0.0),
        ({"charge_kw": 0.5}, 1.5),
        ({"discharge_kw": 0.5}, 1.5),
        ({"capacity_kwh": 1.5}, 1.5),  # 0.5 kWh above the minimum of 1
        ({"one_way": 0.8, "charge_kw": 1.0}, 2 - 0.8 * 0.8),
        ({"kept": 0.5, "capacity_kwh": 2.0}, 1.5),  # full with 1 above the minimum, half of it gone an hour later
        ({"standby_kw": 0.25, "capacity_kwh": 1.0}, 2.25),
    ],
    ids=str,
)
def test_bound_knows_every_limit_of_the_hardware(hardware: dict[str, float], cost: float) -> None:
    assert night_and_day(**hardware) == pytest.approx(cost, abs=1e-9)


@pytest.mark.by_hand
def test_stage_without_square_term_has_its_chord_to_the_rating() -> None:
    # At 5 kW: 5 + 0.05 + 0.05 = 5.1 taken; 5.1 / 5 = 1.02.
    (chord,) = tangents(Curve(rated_kw=5.0, k0_kw=0.05, k1=0.01, k2=0.0))
    assert chord == pytest.approx((1.02, 0.0))


@pytest.mark.by_hand
def test_bound_loses_power_in_the_charger_too() -> None:
    """2 kW in the second hour, bought in the first at 0.1: loss of 10 % each way at any power."""
    lossy = limits(curve=Curve(5.0, 0.0, 0.1, 0.0))
    cost = least_cost(lossy, np.array([0.1, 1.0]), np.zeros(2), np.zeros(2), np.array([0.0, 2.0]), 0.0)
    assert cost == pytest.approx(0.1 * 2 * 1.1 * 1.1)


def test_best_bill_is_the_bound_with_twelve_fixed_charges_rounded_down(demo_home: Home) -> None:
    found = optimum(demo_home)
    assert found.listed_cost is not None
    assert found.annual_bill is not None
    assert 0.0 <= found.listed_cost + 12 * 14.0 - found.annual_bill < 0.01


def test_bound_of_a_home_without_battery_buys_all_of_the_night() -> None:
    assert night_and_day(capacity_kwh=0.0, minimum_kwh=0.0, charge_kw=0.0, discharge_kw=0.0) == pytest.approx(2)
