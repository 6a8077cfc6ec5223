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
from solarsim.ledger.bill import to_the_cent
from solarsim.ledger.flows import Flows, balance_error_kw
from solarsim.ledger.ledger import ledger_from
from solarsim.ledger.prices import prices_from
from solarsim.load.shapes import SHAPES, shape_weight, spread_months
from solarsim.run import Run
from solarsim.scenario.site import Site
from solarsim.studies.compare.compare import Comparison, facts_of
from solarsim.studies.compare.optimum import least_cost, optimum, tangents
from solarsim.views.month_plot import month_figure
from solarsim.views.records import comparison_json, hourly_csv, run_json
from solarsim.views.tables import comparison_notes
from tests.builders import limits, scenario, timeline

# ---- engine


# ---- production


# ---- ledger: one stand-in year, 5 of 10 kWh stored, the minimum at 1, and nothing flows but what is given
def year_of(comparison: Comparison, step_h: float = 1.0, **columns: Any) -> Flows:
    site = comparison.home.scenario.site
    where = comparison.home.timeline if step_h == 1.0 else site.timeline(step_h)
    zero = dict.fromkeys(comparison.runs[0].flows.columns, np.zeros(len(where)))
    given = {name: np.broadcast_to(value, len(where)) for name, value in ({"battery_kwh": 5.0} | columns).items()}
    return Flows(where, zero | given, float(given["battery_kwh"][-1]), capacity_kwh=10.0, minimum_kwh=1.0)


OPEN = {
    "demand": {"load_kw": 0.3, "pv_available_kw": 0.3},
    "import": {"import_kw": 0.3, "losses_kw": 0.3},
    "export": {"export_kw": 0.3, "pv_available_kw": 0.3},
    "both ways": {"load_kw": 0.3, "grid_to_load_kw": 0.3, "import_kw": 0.3, "pv_available_kw": 0.3, "pv_to_grid_kw": 0.3,
                  "export_kw": 0.3},
    "power": {"losses_kw": 0.3},
    "too full": {"battery_kwh": 10.3},
    "too empty": {"battery_kwh": 0.7},
    "below the floor": {"load_kw": 0.3, "battery_to_load_kw": 0.3, "pv_available_kw": 0.3, "discharge_floor": 1.0},
    "negative": {"pv_to_battery_kw": -0.3},
}  # fmt: skip
CLOSED = {
    "nothing": {},
    "unserved": {"load_kw": 0.3, "unserved_kw": 0.3},
    "generator": {"load_kw": 0.3, "generator_to_load_kw": 0.3, "generator_kw": 0.3},
}


@pytest.mark.by_hand
@pytest.mark.parametrize("book", OPEN)
def test_each_book_alone_finds_what_it_is_for(demo_comparison: Comparison, book: str) -> None:
    assert balance_error_kw(year_of(demo_comparison, **OPEN[book])) == pytest.approx(0.3)


@pytest.mark.parametrize("book", CLOSED)
def test_books_that_close_are_left_alone(demo_comparison: Comparison, book: str) -> None:
    assert balance_error_kw(year_of(demo_comparison, **CLOSED[book])) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.by_hand
def test_half_hours_move_half_the_energy_in_the_books(demo_comparison: Comparison) -> None:
    """1 kW for half an hour is 0.5 kWh: into the battery, out of it again, and through the meter."""
    charge, stored = np.tile([1.0, 0.0], 8760), np.tile([5.5, 5.0], 8760)
    flows = year_of(
        demo_comparison, 0.5, pv_available_kw=charge, pv_to_battery_kw=charge, load_kw=1 - charge,
        battery_to_load_kw=1 - charge, battery_kwh=stored,
    )  # fmt: skip
    assert balance_error_kw(flows) == pytest.approx(0.0, abs=1e-12)
    rate_plan = demo_comparison.home.scenario.rate_plan
    made = ledger_from(flows, rate_plan, prices_from(rate_plan, flows.timeline))
    assert made.annual_kwh["pv_available_kwh"] == pytest.approx(8760 * 0.5)
    assert made.annual_kwh["battery_out_kwh"] == pytest.approx(8760 * 0.5)


@pytest.mark.by_hand
def test_last_hour_of_standard_july_is_august_s_in_the_books(demo_comparison: Comparison) -> None:
    """31 July 23:00 EST is 1 August 00:00 by the clock on the wall; it is the last hour of day 212."""
    bought = np.zeros(8760)
    bought[212 * 24 - 1] = 3.0
    home = demo_comparison.home
    made = ledger_from(year_of(demo_comparison, import_kw=bought), home.scenario.rate_plan, home.prices)
    assert made.monthly_kwh["import_kwh"].tolist() == [0.0] * 7 + [3.0] + [0.0] * 4


@pytest.mark.by_hand
def test_shares_cycles_and_peak_of_a_year_one_can_count(demo_comparison: Comparison) -> None:
    """Every three hours 1 kWh goes in, 0.9 comes out, 0.1 is lost at rest: 2920 x 0.9 of 10 kWh are 262.8 cycles.

    Demand 3 and 1 of standby; sun: 1 to load, 1 into the battery, 0.5 unused; grid: 3 into the battery. So a
    quarter of what leaves it is sun: in every third hour 0.25 to load and 0.5 sold.
    """
    give = np.tile([0.0, 1.0, 0.0], 2920)
    flows = year_of(
        demo_comparison, load_kw=3.0, standby_kw=1.0, pv_available_kw=2.5, curtailed_kw=0.5, pv_to_load_kw=1.0,
        pv_to_battery_kw=1.0, grid_to_battery_kw=3.0, battery_to_load_kw=give, battery_to_grid_kw=2 * give,
        import_kw=3.0 + give, battery_kwh=np.tile([6.0, 5.1, 5.0], 2920),
    )  # fmt: skip
    made = ledger_from(flows, demo_comparison.home.scenario.rate_plan, demo_comparison.home.prices)
    assert made.equivalent_full_cycles == pytest.approx(262.8)
    assert made.peak_import_kw == 4.0
    assert made.self_consumption == pytest.approx(1 - 0.5 / 3 / 2)
    assert made.self_sufficiency == pytest.approx((1 + 0.25 / 3) / 4)
    facts = facts_of(Run("counted", flows, made, 0.0))
    told = ("self_consumption", "self_sufficiency", "equivalent_full_cycles", "peak_import_kw")
    assert [facts[key] for key in told] == [getattr(made, key) for key in told]


def test_state_of_charge_is_that_at_the_end_of_the_step(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        np.testing.assert_allclose(run.flows["soc"] * run.flows.capacity_kwh, run.flows["battery_kwh"])


def test_a_cent_has_no_minus_zero() -> None:
    assert str(to_the_cent(-0.001)) == "0.00"


# ---- studies: how tight the bound is, where it can be counted by hand
def night_and_day(home: Home, **hardware: Any) -> float:
    """Two hours: one of sun without load at price 0, one of load without sun at price 1; no export."""
    prices = replace(home.prices, import_price=np.array([0.0, 1.0]), export_price=np.zeros(2))
    return least_cost(limits(**hardware), prices, np.array([9.0, 0.0]), np.array([0.0, 2.0]), 0.0)


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
def test_bound_knows_every_limit_of_the_hardware(demo_home: Home, hardware: dict[str, float], cost: float) -> None:
    assert night_and_day(demo_home, **hardware) == pytest.approx(cost, abs=1e-9)


@pytest.mark.by_hand
def test_stage_without_square_term_has_its_chord_to_the_rating() -> None:
    # At 5 kW: 5 + 0.05 + 0.05 = 5.1 taken; 5.1 / 5 = 1.02.
    (chord,) = tangents(Curve(rated_kw=5.0, k0_kw=0.05, k1=0.01, k2=0.0))
    assert chord == pytest.approx((1.02, 0.0))


@pytest.mark.by_hand
def test_bound_loses_power_in_the_charger_too(demo_home: Home) -> None:
    """2 kW in the second hour, bought in the first at 0.1: loss of 10 % each way at any power."""
    prices = replace(demo_home.prices, import_price=np.array([0.1, 1.0]), export_price=np.zeros(2))
    lossy = limits(curve=Curve(5.0, 0.0, 0.1, 0.0))
    cost = least_cost(lossy, prices, np.zeros(2), np.array([0.0, 2.0]), 0.0)
    assert cost == pytest.approx(0.1 * 2 * 1.1 * 1.1)


def test_best_bill_is_the_bound_with_twelve_fixed_charges_rounded_down(demo_home: Home) -> None:
    found = optimum(demo_home)
    assert found.energy_cost is not None
    assert found.annual_bill is not None
    assert 0.0 <= found.energy_cost + 12 * 14.0 - found.annual_bill < 0.01


def test_bound_of_a_home_without_battery_buys_all_of_the_night(demo_home: Home) -> None:
    assert night_and_day(
        demo_home, capacity_kwh=0.0, minimum_kwh=0.0, charge_kw=0.0, discharge_kw=0.0
    ) == pytest.approx(2)


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


# ---- run


# ---- views
def test_csv_gives_every_column_back_without_minus_zeros(demo_comparison: Comparison) -> None:
    flows = demo_comparison.runs[0].flows
    spoiled = replace(flows, columns={**flows.columns, "unserved_kw": np.full(8760, -1e-12)})
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
    bad = replace(demo_comparison.runs[-1], ledger=replace(demo_comparison.runs[-1].ledger, balance_error_kw=0.5))
    notes = comparison_notes(replace(demo_comparison, runs=(*demo_comparison.runs[:-1], bad)))
    assert any("closes to 5e-01 kW" in note for note in notes)


def test_picture_shows_the_numbers_of_the_table(demo_comparison: Comparison) -> None:
    """Each series of July, drawn against the hours of the table: value, sign and place in time."""
    run = next(run for run in demo_comparison.runs if run.strategy == "zero export")
    july = run.flows.timeline.month == 7
    f = {name: values[july] for name, values in run.flows.columns.items()}
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
