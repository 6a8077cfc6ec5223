"""Parts of the house that bills, a meter or a file already hold: taken out of them, asked for where nobody said."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solarsim.errors import ScenarioError
from solarsim.home import Home
from solarsim.load._in_bills import left_of_bills, moved_kwh
from solarsim.load.household import Household, household_load
from solarsim.scenario.read import demo_scenario_path, read_scenario
from tests.builders import scenario, timeline

WHERE = timeline()
HOURS = len(WHERE)
BILLS = {"monthly_kwh": [600.0] * 12, "shape": "evenings"}
PUMP: dict[str, Any] = {
    "kind": "appliance", "name": "pool pump", "critical": False, "power_w": 500.0,
    "windows": [{"from": "09:00", "to": "13:00", "duty": 1.0}],
}  # fmt: skip


def load_of(home: Home, load: dict[str, Any]) -> Household:
    return household_load(scenario(load=load), home.timeline, home.weather)


def of_months(load_kw: Any) -> list[float]:
    return [float(each) for each in np.bincount(WHERE.month - 1, load_kw)]


@pytest.mark.by_hand
def test_months_stay_those_of_the_bills(demo_home: Home) -> None:
    """500 W for 4 h are 2 kWh a day: 62 kWh of a month of 31 days, 538 kWh of 600 are left."""
    found = load_of(demo_home, {**BILLS, "parts": [{**PUMP, "in_bills": True}]})
    assert of_months(found.load_kw) == pytest.approx([600.0] * 12)
    assert of_months(found.kw_by_part["pool pump"])[:3] == pytest.approx([62.0, 56.0, 62.0])
    assert of_months(found.kw_by_part["all else"])[:3] == pytest.approx([538.0, 544.0, 538.0])
    assert "'pool pump': 730 kWh a year of load.monthly_kwh; all other loads: 6,470 kWh" in found.notes


def test_what_is_left_keeps_the_shape_of_the_bills(demo_home: Home) -> None:
    plain = load_of(demo_home, BILLS)
    found = load_of(demo_home, {**BILLS, "parts": [{**PUMP, "in_bills": True}]})
    january = WHERE.month == 1
    ratio = found.kw_by_part["all else"][january] / plain.load_kw[january]
    assert ratio == pytest.approx(np.full(january.sum(), 538.0 / 600.0))


def test_parts_on_top_are_added_and_the_critical_share_is_of_what_is_left(demo_home: Home) -> None:
    bills = {**BILLS, "critical_share": 0.5}
    added = load_of(demo_home, {**bills, "parts": [{**PUMP, "in_bills": False}]})
    inside = load_of(demo_home, {**bills, "parts": [{**PUMP, "in_bills": True}]})
    assert added.load_kw.sum() == pytest.approx(7200.0 + 730.0)
    assert inside.critical_kw == pytest.approx(0.5 * inside.kw_by_part["all else"])


@pytest.mark.by_hand
def test_a_year_s_sum_holds_parts_as_a_year(demo_home: Home) -> None:
    """3,650 kWh are 10 a day, so 310 in January; a pump of 16 kWh a day in January alone is of the year, not more."""
    bills = {"annual_kwh": 3650.0, "shape": "evenings"}
    assert of_months(load_of(demo_home, bills).load_kw)[:2] == pytest.approx([310.0, 280.0], rel=2e-3)
    pump = {**PUMP, "power_w": 4000.0, "windows": [{"months": [1], "from": "09:00", "to": "13:00", "duty": 1.0}]}
    found = load_of(demo_home, {**bills, "parts": [{**pump, "in_bills": True}]})
    assert found.load_kw.sum() == pytest.approx(3650.0)
    left_kwh = (3650.0 - 31 * 16.0) / 365
    assert of_months(found.kw_by_part["all else"])[1] == pytest.approx(28 * left_kwh, rel=2e-3)


def file_of(load_kw: Any, path: Path) -> dict[str, Any]:
    path.write_text("load_kw\n" + "\n".join(f"{each:.6f}" for each in load_kw) + "\n")
    return {"file": str(path)}


@pytest.mark.by_hand
def test_hours_of_a_file_are_taken_out_where_they_are(demo_home: Home, tmp_path: Path) -> None:
    """0.3 kW all day and the pump's 0.5 kW in its hours: without the pump 0.3 kW are left in every hour."""
    pump_kw = load_of(demo_home, {"parts": [PUMP]}).load_kw
    source = file_of(0.3 + pump_kw, tmp_path / "load.csv")
    found = load_of(demo_home, {**source, "parts": [{**PUMP, "in_bills": True}]})
    assert found.kw_by_part["all else"] == pytest.approx(np.full(HOURS, 0.3), abs=2e-6)
    assert not any("other hours" in note for note in found.notes)


@pytest.mark.by_hand
def test_what_an_hour_does_not_hold_is_taken_from_its_month(demo_home: Home, tmp_path: Path) -> None:
    """0.3 kW in every hour cannot hold 0.5 kW: 0.2 kW x 4 h x 365 = 292 kWh come out of other hours."""
    source = file_of(np.full(HOURS, 0.3), tmp_path / "load.csv")
    found = load_of(demo_home, {**source, "parts": [{**PUMP, "in_bills": True}]})
    left = found.kw_by_part["all else"]
    assert left.min() == 0.0
    assert of_months(found.load_kw) == pytest.approx(of_months(np.full(HOURS, 0.3)))
    assert any(note.endswith(" kWh (292 kWh taken out of other hours of the month)") for note in found.notes)


@given(
    st.lists(st.floats(0.0, 5.0), min_size=24, max_size=24),
    st.lists(st.floats(0.0, 5.0), min_size=24, max_size=24),
    st.booleans(),
    st.booleans(),
)
def test_no_period_gains_or_loses_energy(bills: list[float], parts: list[float], hours: bool, year: bool) -> None:
    """Property: what is left and the parts together are the bills, and nothing is negative; else it is refused."""
    bills_kw, parts_kw = (np.tile(np.array(each), HOURS // 24) for each in (bills, parts))
    try:
        left_kw = left_of_bills(bills_kw, parts_kw, WHERE, hours_known=hours, of_year=year)
    except ScenarioError:
        assert sum(parts) > sum(bills) - 0.3 * 24
        return
    assert left_kw.min() >= 0.0
    if year:
        assert (left_kw + parts_kw).sum() == pytest.approx(bills_kw.sum(), abs=1e-4)
    else:
        assert of_months(left_kw + parts_kw) == pytest.approx(of_months(bills_kw), abs=1e-4)
    assert moved_kwh(bills_kw, parts_kw, WHERE) >= 0.0


def test_parts_beside_bills_must_say_whether_the_bills_hold_them() -> None:
    with pytest.raises(ScenarioError) as caught:
        scenario(load={**BILLS, "parts": [PUMP, {**PUMP, "name": "car"}]})
    assert caught.value.problems == (
        "plain.toml: load.parts.1st.in_bills: is missing; write true if load.monthly_kwh already holds 'pool pump',"
        " false if it comes on top of that",
        "plain.toml: load.parts.2nd.in_bills: is missing; write true if load.monthly_kwh already holds 'car', false if"
        " it comes on top of that",
    )


def test_without_bills_nothing_can_hold_a_part() -> None:
    scenario(load={"parts": [{**PUMP, "in_bills": False}]})
    with pytest.raises(ScenarioError, match=r"load.parts.1st.in_bills: true needs bills that hold 'pool pump'"):
        scenario(load={"parts": [{**PUMP, "in_bills": True}]})


def test_parts_that_use_more_than_the_bills_are_refused(demo_home: Home) -> None:
    low = {"monthly_kwh": [600.0] + [50.0] * 11, "shape": "evenings", "parts": [{**PUMP, "in_bills": True}]}
    with pytest.raises(ScenarioError, match=r"plain.toml: load.parts: those with in_bills = true use 56 kWh in mon"):
        load_of(demo_home, low)


def test_the_demo_with_a_car_asks_and_then_keeps_its_bills() -> None:
    """As on the command line: the car of the guide beside the demo's bills."""
    car = {
        "kind": "electric_car", "name": "car", "critical": False, "km_per_day": {"weekday": "15 mi", "weekend": 20},
        "kwh_per_km": 0.18, "charging_efficiency": 0.9, "charger_kw": 7.2, "battery_kwh": 58,
        "plugged_in": [{"from": "18:00", "to": "07:00"}],
    }  # fmt: skip
    demo = read_scenario(demo_scenario_path())
    with pytest.raises(ScenarioError, match=r"load.parts.1st.in_bills: is missing"):
        demo.changed({"load.parts": [car]})
    assert json.loads(demo.changed({"load.parts": [{**car, "in_bills": True}]}).model_dump_json())["load"]["parts"]
