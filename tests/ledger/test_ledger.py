"""The year in kilowatt-hours and shares."""

from dataclasses import replace

import numpy as np
import pytest

from solarsim.ledger.flows import balance_error_kw
from solarsim.ledger.ledger import ledger_from
from solarsim.run import simulate
from solarsim.scenario.model import Scenario
from solarsim.studies.compare.compare import Comparison


def test_sums_are_those_of_the_hourly_columns(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        table = run.hourly()
        sums = run.ledger.annual_kwh
        for key, column in (
            ("pv_available_kwh", "pv_available_kw"),
            ("load_kwh", "load_kw"),
            ("import_kwh", "import_kw"),
            ("export_kwh", "export_kw"),
            ("clipped_kwh", "clipped_kw"),
            ("curtailed_kwh", "curtailed_kw"),
            ("losses_kwh", "losses_kw"),
        ):
            assert sums[key] == pytest.approx(table[column].sum())
        assert sums["pv_used_kwh"] == pytest.approx(
            sums["pv_available_kwh"] - sums["clipped_kwh"] - sums["curtailed_kwh"]
        )


def test_annual_books_close(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        kwh = run.ledger.annual_kwh
        given = kwh["pv_used_kwh"] + kwh["import_kwh"]
        taken = kwh["load_kwh"] + kwh["standby_kwh"] + kwh["export_kwh"] + kwh["losses_kwh"]
        assert given == pytest.approx(taken, abs=1e-6)
        # What went in and did not come out again is self-discharge.
        assert 0 <= kwh["battery_in_kwh"] - kwh["battery_out_kwh"] < 0.02 * 12 * 23.6


def test_money_is_the_rate_plan_applied_to_the_hourly_columns(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        table = run.hourly()
        cost = (table["import_kw"] * table["import_price"] - table["export_kw"] * table["export_price"]).sum()
        assert float(run.ledger.bill.total) == pytest.approx(cost + 12 * 14.0, abs=0.005 * 12 * 6)


def test_shares_are_shares(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        assert 0.0 <= run.ledger.self_consumption <= 1.0
        assert 0.0 <= run.ledger.self_sufficiency <= 1.0
    zero_export = next(run for run in demo_comparison.runs if run.strategy == "zero export")
    assert zero_export.ledger.self_consumption == 1.0


@pytest.mark.by_hand
def test_grid_energy_sold_again_takes_nothing_from_the_sun_s_shares(demo_comparison: Comparison) -> None:
    """Sun: 1 to load, 1 into the battery; grid: 3 into the battery. Out of the battery: 1 to load, 2 sold.

    A quarter of what leaves the battery is sun: sold 0.5 of 2 used, so 0.75 stayed; served 1.25 of
    a demand of 4.
    """
    flows = demo_comparison.runs[0].flows
    zero = np.zeros(8760)
    given = {
        "load_kw": 4.0, "pv_available_kw": 2.0, "pv_to_load_kw": 1.0, "pv_to_battery_kw": 1.0, "grid_to_battery_kw": 3.0,
        "battery_to_load_kw": 1.0, "battery_to_grid_kw": 2.0, "grid_to_load_kw": 2.0,
    }  # fmt: skip
    columns = dict.fromkeys(flows.columns, zero) | {name: np.full(8760, value) for name, value in given.items()}
    made = ledger_from(
        replace(flows, columns=columns), demo_comparison.home.scenario.rate_plan, demo_comparison.home.prices
    )
    assert made.self_consumption == pytest.approx(0.75)
    assert made.self_sufficiency == pytest.approx(1.25 / 4)


def test_battery_that_only_loses_charge_makes_no_cycles(demo: Scenario) -> None:
    idle = demo.strategies[0].model_copy(update={"battery_serves_load": False, "name": "idle"})
    run = simulate(demo.model_copy(update={"strategies": (idle,)}), "idle")
    assert run.ledger.annual_kwh["battery_in_kwh"] > 0.0
    assert run.ledger.equivalent_full_cycles == 0.0


def test_months_are_a_table_that_adds_up(demo_comparison: Comparison) -> None:
    run = demo_comparison.runs[0]
    monthly = run.monthly()
    assert monthly.index.tolist() == list(range(1, 13))
    assert monthly["import_kwh"].sum() == pytest.approx(run.ledger.annual_kwh["import_kwh"])
    assert monthly["bill"].sum() == pytest.approx(float(run.ledger.bill.total))


@pytest.mark.parametrize(
    ("column", "change"),
    [
        ("load_kw", 0.01), ("pv_to_load_kw", 0.01), ("import_kw", 0.01), ("export_kw", 0.01), ("losses_kw", 0.01),
        ("clipped_kw", 0.01), ("curtailed_kw", 0.01), ("battery_kwh", 0.01), ("pv_available_kw", -0.01),
        ("grid_to_battery_kw", 0.01),
        ("unserved_kw", 0.01), ("battery_to_grid_kw", 0.01), ("losses_kw", -50.0), ("battery_kwh", 100.0),
    ],
)  # fmt: skip
def test_a_book_that_does_not_close_is_found(demo_comparison: Comparison, column: str, change: float) -> None:
    flows = demo_comparison.runs[0].flows
    spoiled = flows[column].copy()
    spoiled[4000] += change
    assert balance_error_kw(replace(flows, columns={**flows.columns, column: spoiled})) >= abs(change) * 0.99


def test_discharge_from_below_the_floor_is_found(demo_comparison: Comparison) -> None:
    flows = demo_comparison.runs[0].flows
    raised = {**flows.columns, "discharge_floor": np.full(8760, 0.9)}
    assert balance_error_kw(replace(flows, columns=raised)) > 0.5
