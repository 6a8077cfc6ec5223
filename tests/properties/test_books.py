"""The books of the hour close for any home: property tests over random scenarios."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solarsim.engine.step import _drained, input_for
from solarsim.home import Home
from solarsim.ledger.flows import Flows, balance_error_kw
from solarsim.ledger.ledger import ledger_from
from tests.draws import Stretch, stretches

BOOK_KW = 1e-6


def books_by_outsider(flows: Flows, own_minimum: float) -> dict[str, float]:
    """Check every book from the hourly table's columns alone, as someone without our code would."""
    t = flows.table()
    step_h = flows.timeline.step_h
    stored_before = np.concatenate([[flows.start_kwh], t["battery_kwh"].to_numpy()[:-1]])
    change_kw = (t["battery_kwh"].to_numpy() - stored_before) / step_h
    discharge = t["battery_to_load_kw"] + t["battery_to_grid_kw"]
    power_columns = [name for name in t.columns if name.endswith("_kw")]
    return {
        "demand": (
            (t["load_kw"] + t["standby_kw"])
            - (t["pv_to_load_kw"] + t["battery_to_load_kw"] + t["grid_to_load_kw"])
            - (t["generator_to_load_kw"] + t["unserved_kw"])
        )
        .abs()
        .max(),
        "import": (t["import_kw"] - t["grid_to_load_kw"] - t["grid_to_battery_kw"]).abs().max(),
        "export": (t["export_kw"] - t["pv_to_grid_kw"] - t["battery_to_grid_kw"]).abs().max(),
        "both ways": (t["import_kw"] * t["export_kw"]).abs().max(),
        "power": (
            t["pv_available_kw"]
            + t["import_kw"]
            + t["generator_kw"]
            - (t["load_kw"] + t["standby_kw"] - t["unserved_kw"])
            - t["export_kw"]
            - t["clipped_kw"]
            - t["curtailed_kw"]
            - change_kw
            - t["losses_kw"]
        )
        .abs()
        .max(),
        "negative": max(0.0, -float(t[power_columns].to_numpy().min())),
        "too full": max(0.0, float(t["soc"].max()) - 1.0),
        "too empty": max(0.0, own_minimum - float(t["soc"].min())) if flows.capacity_kwh else 0.0,
        "below floor": float(
            np.minimum(discharge, (t["discharge_floor"] * flows.capacity_kwh - t["battery_kwh"]) / step_h).max()
        ),
        "charge and discharge": float(
            np.minimum(discharge, np.minimum(t["pv_to_battery_kw"] + t["grid_to_battery_kw"], 1.0)).max()
        ),
    }


@settings(max_examples=250)
@given(data=st.data())
def test_every_book_closes_for_any_home_and_strategy(data: st.DataObject, demo_home: Home) -> None:
    stretch = data.draw(stretches(demo_home, 480))
    flows = stretch.flows()
    battery = stretch.scenario.battery
    assert battery is not None
    for book, residual in books_by_outsider(flows, battery.low_cutoff).items():
        assert residual <= BOOK_KW, book
    assert balance_error_kw(flows) <= BOOK_KW


@settings(max_examples=80)
@given(data=st.data())
def test_limits_of_the_hardware_hold(data: st.DataObject, demo_home: Home) -> None:
    stretch = data.draw(stretches(demo_home, 240))
    flows, limits, cells = stretch.flows(), stretch.limits, stretch.cells
    out = flows["pv_to_load_kw"] + flows["pv_to_grid_kw"] + flows["battery_to_load_kw"] + flows["battery_to_grid_kw"]
    assert out.max() <= limits.curve.rated_kw + BOOK_KW
    assert (flows["export_kw"] <= stretch.dispatch.export_limit_kw + BOOK_KW).all()
    change = flows.battery_change_kwh / flows.timeline.step_h
    assert (change <= cells.charge_kw * limits.one_way + BOOK_KW).all()
    if limits.capacity_kwh:
        self_discharge = limits.capacity_kwh * (1 - limits.kept)
        most = np.minimum(cells.discharge_kw, stretch.dispatch.discharge_limit_kw)
        drained = np.array([_drained(limits, each) for each in most])
        assert (-change <= drained / limits.one_way + self_discharge + BOOK_KW).all()
        assert flows["soc"].max() <= 1.0
    assert (flows["battery_to_grid_kw"] <= stretch.dispatch.sell_limit_kw + BOOK_KW).all()
    most_charge_kw = np.array([input_for(limits.curve, min(each, 99.0)) for each in stretch.dispatch.grid_charge_kw])
    assert (flows["grid_to_battery_kw"] <= most_charge_kw + BOOK_KW).all()
    # While the stage charges from the grid it passes nothing the other way.
    assert np.minimum(out, flows["grid_to_battery_kw"]).max() == 0.0


@settings(max_examples=60)
@given(data=st.data())
def test_import_cap_bounds_charging_from_the_grid(data: st.DataObject, demo_home: Home) -> None:
    stretch = data.draw(stretches(demo_home, 240))
    flows = stretch.flows()
    charging = flows["grid_to_battery_kw"] > 0.0
    assert (flows["import_kw"][charging] <= stretch.dispatch.import_cap_kw[charging] + BOOK_KW).all()


@settings(max_examples=80)
@given(data=st.data(), cap_kw=st.floats(0.0, 2.0))
def test_import_exceeds_its_cap_only_where_sun_and_battery_can_do_no_more(
    data: st.DataObject, cap_kw: float, demo_home: Home
) -> None:
    """At the reserve, at the battery's power limit, at the rating, or where all together do not start the stage."""
    stretch = data.draw(stretches(demo_home, 240))
    rules = stretch.dispatch = stretch.dispatch._replace(import_cap_kw=np.full(240, cap_kw))
    flows, limits, cells = stretch.flows(), stretch.limits, stretch.cells
    above = flows["import_kw"] > np.maximum(cap_kw, rules.bias_kw) + BOOK_KW
    left_kwh = np.maximum(0.0, flows["battery_kwh"] - rules.reserve * limits.capacity_kwh)
    left_kw = left_kwh * limits.one_way / limits.step_h
    stage = flows["pv_to_load_kw"] + flows["battery_to_load_kw"]
    needs = np.array([input_for(limits.curve, each) for each in stage])
    discharge_kw = np.minimum(cells.discharge_kw, rules.discharge_limit_kw)
    at_limit = needs - (flows["pv_available_kw"] - flows["pv_to_battery_kw"]) >= discharge_kw - BOOK_KW
    # At dawn the sun may charge what it cannot serve: what counts is what was stored before, less self-discharge.
    before_kwh = flows["battery_kwh"] - flows.battery_change_kwh
    kept_kwh = limits.minimum_kwh + (before_kwh - limits.minimum_kwh) * limits.kept
    before_kwh = np.maximum(0.0, kept_kwh - rules.reserve * limits.capacity_kwh)
    before_kw = before_kwh * limits.one_way / limits.step_h
    most_kw = flows["pv_available_kw"] + np.minimum(before_kw, discharge_kw)
    stalled = (stage == 0.0) & (most_kw <= limits.curve.k0_kw + BOOK_KW)
    assert ((left_kw <= BOOK_KW) | at_limit | stalled | (stage >= limits.curve.rated_kw - BOOK_KW))[above].all()
    assert not flows["grid_to_battery_kw"][above].any()


@settings(max_examples=60)
@given(data=st.data())
def test_battery_of_zero_size_equals_no_battery(data: st.DataObject, demo_home: Home) -> None:
    stretch = data.draw(stretches(demo_home, 240))
    empty = {"capacity_kwh": 0.0, "minimum_kwh": 0.0, "charge_kw": 0.0, "discharge_kw": 0.0}
    none = stretch.flows(**empty, one_way=1.0, kept=1.0)
    tiny = stretch.flows(**empty)
    for column in ("import_kw", "export_kw", "clipped_kw", "curtailed_kw"):
        np.testing.assert_array_equal(none[column], tiny[column])
    assert none["battery_to_load_kw"].max() == 0.0
    assert none["pv_to_battery_kw"].max() == 0.0


@settings(max_examples=60)
@given(data=st.data())
def test_doubling_every_rate_doubles_the_energy_charge(data: st.DataObject, demo_home: Home) -> None:
    stretch = data.draw(stretches(demo_home, 480))
    flows = stretch.flows()
    once = _energy_charge(stretch, flows, 1.0)
    # Each line is rounded to the cent: twice a rounded line is off by at most a cent.
    assert _energy_charge(stretch, flows, 2.0) == pytest.approx(2 * once, abs=0.01 * 12 * 4)


def _energy_charge(stretch: Stretch, flows: Flows, factor: float) -> float:
    dearer = stretch.scenario.rate_plan.grown(energy=factor, demand=1.0, customer_charge=1.0, export=factor)
    lines = ledger_from(replace(flows, prices=stretch.prices.repriced(dearer))).bill.lines
    return float(sum(line.amount for line in lines if line.unit == "kWh"))
