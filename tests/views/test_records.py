"""Text for other programs."""

import csv
import io
import json
from dataclasses import replace

import numpy as np
import pytest

from solarsim.studies.compare.compare import Comparison
from solarsim.studies.compare.optimum import Best
from solarsim.views.records import comparison_json, hourly_csv, run_json, to_json
from solarsim.views.tables import comparison_notes


def test_csv_gives_the_flows_back_to_a_millionth_of_a_watt(demo_comparison: Comparison) -> None:
    flows = demo_comparison.runs[0].flows
    rows = list(csv.DictReader(io.StringIO(hourly_csv(flows))))
    assert len(rows) == 8760
    assert rows[0]["time"] == "2026-01-01T00:00:00-05:00"
    for name in ("load_kw", "pv_available_kw", "battery_kwh", "soc", "import_price"):
        np.testing.assert_allclose([float(row[name]) for row in rows], flows[name], atol=1e-9)
    assert not any(value == "-0.0" for row in rows for value in row.values())


def test_comparison_has_the_promised_keys(demo_comparison: Comparison) -> None:
    record = json.loads(comparison_json(demo_comparison))
    assert set(record) == {"scenario", "currency", "baseline", "strategies", "solar_only", "input_clipped_kwh", "notes"}
    assert record["baseline"]["annual_bill"] == pytest.approx(1798.20)
    promised = {
        "name", "pv_available_kwh", "load_kwh", "import_kwh", "export_kwh", "curtailed_kwh", "unserved_kwh", "losses_kwh",
        "self_consumption", "self_sufficiency", "equivalent_full_cycles", "annual_bill", "annual_savings",
        "balance_error_kw",
    }  # fmt: skip
    for row in record["strategies"]:
        assert promised <= set(row)


def test_optimum_is_in_the_comparison_where_asked_for(demo_comparison: Comparison) -> None:
    with_best = replace(demo_comparison, best=Best(32.0, 200.0))
    record = json.loads(comparison_json(with_best))
    assert record["best"]["annual_bill"] == 200.0
    assert all(0 < row["optimum_share"] < 1 for row in record["strategies"])


def test_run_is_json(demo_comparison: Comparison) -> None:
    run = json.loads(run_json(demo_comparison.home, demo_comparison.runs[0]))
    assert [month["month"] for month in run["months"]] == list(range(1, 13))
    assert sum(month["bill"] for month in run["months"]) == pytest.approx(run["strategy"]["annual_bill"])


def test_json_never_holds_nan_or_infinity() -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        to_json({"value": float("nan")})
    with pytest.raises(ValueError, match="not JSON compliant"):
        to_json([float("inf")])


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
