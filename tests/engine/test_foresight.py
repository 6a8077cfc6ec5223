"""Perfect foresight: the best order of each step."""

from math import inf

import numpy as np
import pytest

from solarsim.engine.foresight import Worth, _stored_at, best_orders, orders_given, possible_orders
from solarsim.engine.records import Floats, Inputs
from solarsim.engine.year import HOUR_COLUMNS, run_year
from tests.builders import inputs_of, limits
from tests.engine.test_year import dispatch


def cost_of_schedule(inputs: Inputs, import_price: Floats, export_price: Floats) -> float:
    """Return what a year costs with the best orders."""
    steps = inputs.pv_kw.size
    none = np.zeros(steps)
    worth = Worth(import_price, export_price, 0.0, 0.0, 10.0, np.full(steps, inf), none, 0.0, none, 0.0)
    choices = possible_orders(12)
    given = orders_given(choices, best_orders(inputs, choices, worth), inputs.dispatch.reserve)
    ordered = inputs._replace(dispatch=inputs.dispatch._replace(**given))
    flows = dict(zip(HOUR_COLUMNS, run_year(ordered).table.T, strict=True))
    bought = flows["source_to_load_kw"] + flows["source_to_battery_kw"]
    sold = flows["pv_to_grid_kw"] + flows["battery_to_grid_kw"]
    return float((import_price * bought - export_price * sold).sum())


#: Compiling the dynamic program takes five seconds in a new environment.
pytestmark = pytest.mark.slow


@pytest.mark.parametrize(("capacity_kwh", "cutoff"), [(9.6, 0.1), (7.68, 0.08), (10.24, 0.1), (13.0, 0.05)])
def test_highest_level_is_full_and_not_above_it(capacity_kwh: float, cutoff: float) -> None:
    hardware = limits(capacity_kwh=capacity_kwh, minimum_kwh=cutoff * capacity_kwh)
    for last in (10, 14, 20, 80):
        assert _stored_at(hardware, last, last) == capacity_kwh
        assert _stored_at(hardware, 0, last) == hardware.minimum_kwh


@pytest.mark.by_hand
@pytest.mark.parametrize("capacity_kwh", [10.0, 9.6])  # 0.1 and 0.9 of the second add up to more than it
def test_schedule_buys_cheap_and_sells_dear_whatever_a_full_battery_rounds_to(capacity_kwh: float) -> None:
    """Lossless: each day 0.9 of the capacity is bought at 0.1 and sold at 0.5."""
    days = 10
    hardware = limits(capacity_kwh=capacity_kwh, minimum_kwh=0.1 * capacity_kwh, charge_kw=20.0, discharge_kw=20.0)
    hardware = hardware._replace(curve=hardware.curve._replace(rated_kw=20.0))
    nothing = np.zeros(2 * days)
    prices = np.tile([0.1, 0.5], days)
    inputs = inputs_of(hardware, dispatch(2 * days, reserve=0.1), nothing, nothing)
    assert cost_of_schedule(inputs, prices, prices) == pytest.approx(-0.4 * 0.9 * capacity_kwh * days)


@pytest.mark.by_hand
def test_schedule_keeps_near_a_net_import_where_all_orders_cost_the_same() -> None:
    """Lossless, one price for import and export: any exchange is worth the same, and the one asked for is followed."""
    steps = 8
    hardware = limits(charge_kw=20.0, discharge_kw=20.0)
    hardware = hardware._replace(curve=hardware.curve._replace(rated_kw=20.0))
    none, price, net_kw = np.zeros(steps), np.full(steps, 0.2), np.tile([0.0, 9.0, 0.0, -9.0], 2)
    inputs, choices = inputs_of(hardware, dispatch(steps, reserve=0.1), none, none), possible_orders(12)
    for net_price, followed in ((0.001, True), (0.0, False)):
        worth = Worth(price, price, 0.0, 0.0, 10.0, np.full(steps, inf), none, 0.0, net_kw, net_price)
        given = orders_given(choices, best_orders(inputs, choices, worth), inputs.dispatch.reserve)
        flows = dict(
            zip(
                HOUR_COLUMNS, run_year(inputs._replace(dispatch=inputs.dispatch._replace(**given))).table.T, strict=True
            )
        )
        found = flows["source_to_battery_kw"] - flows["battery_to_grid_kw"]
        assert np.allclose(found, net_kw) == followed
