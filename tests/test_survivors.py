"""What no test caught when the code was changed by hand (each test names the mutants it kills)."""

import json
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from solarsim.engine.records import Curve
from solarsim.errors import ScenarioError
from solarsim.home import Home
from solarsim.ledger.flows import COLUMNS
from solarsim.ledger.ledger import ledger_from
from solarsim.load.shapes import SHAPES, shape_weight, spread_months
from solarsim.scenario.site import Site
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.compare.optimum import least_cost, optimum, tangents
from solarsim.views.month_plot import month_figure
from solarsim.views.records import comparison_json, hourly_csv, run_json
from solarsim.views.tables import comparison_notes
from tests.builders import limits, scenario, timeline


# ---- studies: how tight the bound is, where it can be counted by hand
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
    assert found.energy_cost is not None
    assert found.annual_bill is not None
    assert 0.0 <= found.energy_cost + 12 * 14.0 - found.annual_bill < 0.01


def test_bound_of_a_home_without_battery_buys_all_of_the_night() -> None:
    assert night_and_day(capacity_kwh=0.0, minimum_kwh=0.0, charge_kw=0.0, discharge_kw=0.0) == pytest.approx(2)


# ---- load
def test_half_hours_keep_the_bill_of_each_month() -> None:
    where = Site(name="here", time_zone="America/New_York", calendar_year=2026, albedo=0.2).timeline(0.5)
    load_kw = spread_months(np.full(12, 600.0), shape_weight(SHAPES["evenings"], where, 36.1), where)
    assert np.bincount(where.month - 1, load_kw * 0.5).tolist() == pytest.approx([600.0] * 12)


@pytest.mark.by_hand
def test_holiday_is_shaped_like_a_weekend_and_winter_like_winter() -> None:
    """Weights at 12:00: winter weekday 0.65, winter weekend 1.25; 26 November 2026 is a Thursday."""
    where = timeline(holidays={"dates": (date(2026, 1, 1),)})
    load_kw = spread_months(np.full(12, 600.0), shape_weight(SHAPES["evenings"], where, 36.1), where)
    assert load_kw[12] / load_kw[24 + 12] == pytest.approx(1.25 / 0.65)
    march = 24 * 59 + 12  # 1 March 2026 is a Sunday, 2 March a Monday: weights between the seasons
    assert load_kw[march] / load_kw[march + 24] == pytest.approx(1.20 / 0.68)


# ---- views
def test_csv_gives_every_column_back_without_minus_zeros(demo_comparison: Comparison) -> None:
    flows = demo_comparison.runs[0].flows
    spoiled = replace(flows, given={**flows.given, "unserved_kw": np.full(8760, -1e-12)})
    header, *lines = hourly_csv(spoiled).splitlines()
    table = np.array([[float(value) for value in line.split(",")[1:]] for line in lines])
    for place, name in enumerate(header.split(",")[1:]):
        np.testing.assert_allclose(table[:, place], flows[name], atol=1e-9, err_msg=name)
    assert not any("-0.0," in line for line in lines)


def test_json_tells_each_month_and_what_the_inputs_cut_off(demo_comparison: Comparison) -> None:
    home, run = demo_comparison.home, demo_comparison.runs[0]
    for month in json.loads(run_json(home, run))["months"]:
        assert month["import_kwh"] == pytest.approx(run.monthly()["import_kwh"][month["month"]])
    clipped = replace(home, production=replace(home.production, clipped_kw=np.full(8760, 0.1)))
    comparison = replace(demo_comparison, home=clipped)
    assert json.loads(comparison_json(comparison))["input_clipped_kwh"] == pytest.approx(876.0)
    assert any("cut off another 876 kWh" in note for note in comparison_notes(comparison))


def test_notes_tell_the_worst_book_of_all_runs(demo_comparison: Comparison) -> None:
    run = demo_comparison.runs[-1]
    spoiled = replace(run.flows, given={**run.flows.given, "load_kw": run.flows["load_kw"] + 0.5})
    bad = replace(run, ledger=ledger_from(spoiled))
    notes = comparison_notes(replace(demo_comparison, runs=(*demo_comparison.runs[:-1], bad)))
    assert any("closes to 5e-01 kW" in note for note in notes)


def test_picture_shows_the_numbers_of_the_table(demo_comparison: Comparison) -> None:
    """Each series of July, drawn against the hours of the table: value, sign and place in time."""
    run = next(run for run in demo_comparison.runs if run.strategy == "zero export")
    july = run.flows.timeline.month == 7
    f = {name: run.flows[name][july] for name in COLUMNS}
    power, meter, last = month_figure(run, 7, "t").axes
    drawn = {str(p.get_label()): p for panel in (power, meter, last) for p in panel.patches if hasattr(p, "get_data")}
    gives = f["battery_to_load_kw"] + f["battery_to_grid_kw"]
    taken = np.maximum(run.flows.battery_change_kwh[july], 0.0)
    expected = {
        "solar offered (DC)": (f["pv_available_kw"], 0.0),
        "of it unused": (f["pv_available_kw"], f["pv_available_kw"] - f["clipped_kw"] - f["curtailed_kw"]),
        "load and inverter's standby": (f["load_kw"] + f["standby_kw"], 0.0),
        "battery gives": (gives, 0.0),
        "battery takes": (-taken, 0.0),
        "bought": (gives + f["import_kw"], gives),
        "sold": (-taken - f["export_kw"], -taken),
    }
    for label, (values, baseline) in expected.items():
        data = drawn[label].get_data()
        np.testing.assert_allclose(data.values, values, err_msg=label)
        np.testing.assert_allclose(data.baseline + 0 * values, baseline + 0 * values, err_msg=label)
    (soc,) = [line for line in last.lines if line.get_label() == "state of charge"]
    np.testing.assert_allclose(np.asarray(soc.get_ydata(), np.float64), f["soc"] * 100)
    np.testing.assert_allclose(np.asarray(soc.get_xdata(), np.float64), drawn["bought"].get_data().edges[1:])


# ---- cli


# ---- scenario
@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"inverter__standby_w": 1000.0}, "in watts"),  # a fifth of 5 kW
        ({"strategies__0__windows": [{"from": "16:00", "to": "21:00", "reserve": 0.05}]}, "low_cutoff 0.1"),
        ({"battery__max_discharge_kw": None}, "nothing limits its discharge"),
        ({"inverter__efficiency": {"points": [{"load": 0.5, "efficiency": e} for e in (0.95, 0.96, 0.97)]}},
         "at least three different loads"),
        ({"battery__bank": [{"cells_in_series": 16, "cell_ah": 100.0, "cell_v": 3.2}], "battery__capacity_kwh": None,
          "battery__nominal_v": 51.2}, "nominal_v follows from the bank's strings"),
    ],
)  # fmt: skip
def test_more_half_or_double_specified_parts_are_refused(changes: dict[str, object], told: str) -> None:
    with pytest.raises(ScenarioError, match=told):
        scenario(**changes)


def test_bias_may_belong_to_a_window_of_zero_export() -> None:
    window = {"from": "10:00", "to": "14:00", "export_limit_kw": 0.0}
    scenario(strategies__0__zero_export_bias_kw=0.03, strategies__0__windows=[window])
