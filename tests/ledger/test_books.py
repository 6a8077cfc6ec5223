"""The year in kilowatt-hours and shares."""

from dataclasses import replace

import numpy as np
import pytest

from solarsim.ledger.flows import worst_residual_kw
from solarsim.studies.compare import Comparison


def test_sums_are_those_of_the_hourly_columns(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        table = run.hourly()
        sums = run.ledger.annual_kwh
        for key, column in (
            ("production_kwh", "pv_dc_kw"),
            ("load_kwh", "load_kw"),
            ("import_kwh", "import_kw"),
            ("export_kwh", "export_kw"),
            ("curtailed_kwh", "pv_curtailed_kw"),
            ("losses_kwh", "losses_kw"),
        ):
            assert sums[key] == pytest.approx(table[column].sum())
        assert sums["used_production_kwh"] == pytest.approx(sums["production_kwh"] - sums["curtailed_kwh"])


def test_annual_books_close(demo_comparison: Comparison) -> None:
    for run in demo_comparison.runs:
        kwh = run.ledger.annual_kwh
        given = kwh["used_production_kwh"] + kwh["import_kwh"]
        taken = kwh["load_kwh"] + kwh["own_use_kwh"] + kwh["export_kwh"] + kwh["losses_kwh"]
        assert given == pytest.approx(taken, abs=1e-6)
        assert kwh["battery_in_kwh"] == pytest.approx(kwh["battery_out_kwh"], abs=1e-6)


def test_money_is_the_tariff_applied_to_the_hourly_columns(demo_comparison: Comparison) -> None:
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
        ("pv_curtailed_kw", 0.01), ("battery_kwh", 0.01), ("pv_dc_kw", -0.01), ("grid_to_battery_kw", 0.01),
        ("unserved_kw", 0.01), ("battery_to_grid_kw", 0.01), ("losses_kw", -50.0), ("battery_kwh", 100.0),
    ],
)  # fmt: skip
def test_a_book_that_does_not_close_is_found(demo_comparison: Comparison, column: str, change: float) -> None:
    flows = demo_comparison.runs[0].flows
    spoiled = flows[column].copy()
    spoiled[4000] += change
    assert worst_residual_kw(replace(flows, columns={**flows.columns, column: spoiled})) >= abs(change) * 0.99


def test_discharge_from_below_the_floor_is_found(demo_comparison: Comparison) -> None:
    flows = demo_comparison.runs[0].flows
    raised = {**flows.columns, "soc_floor": np.full(8760, 0.9)}
    assert worst_residual_kw(replace(flows, columns=raised)) > 0.5
