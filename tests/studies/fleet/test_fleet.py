"""Many homes in this process: the same figures as ``compare``, home by home, and one answer whatever the order."""

import random
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pyarrow.parquet as pq
import pytest

from solarsim.errors import OutputError, ScenarioError
from solarsim.home import Parts, home_from
from solarsim.scenario.homes import read_homes
from solarsim.scenario.read import packaged_folder, read_scenario
from solarsim.studies.compare.compare import Comparison, compare
from solarsim.studies.fleet import _chunk
from solarsim.studies.fleet._rows import columns
from solarsim.studies.fleet._shared import LIMITS
from solarsim.studies.fleet.fleet import Fleet, FleetOptions, fleet
from solarsim.studies.life.life import life
from tests.cli.test_life import COSTS
from tests.studies.fleet.homes import some_homes, write_base, write_homes
from tests.studies.lives import STILL

LABELS = FleetOptions(labels=("feeder",), chunk=3)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    found = tmp_path_factory.mktemp("fleet")
    write_base(found)
    write_homes(found / "homes.csv", some_homes(8))
    return found


@pytest.fixture(scope="module")
def result(folder: Path) -> Fleet:
    return fleet(folder / "homes.csv", folder / "out.parquet", FleetOptions(group="feeder", chunk=3))


def rows(path: Path) -> list[dict[str, Any]]:
    return list(pq.read_table(path).to_pylist())


def test_every_figure_is_that_of_compare_and_the_best_are_marked(folder: Path, result: Fleet) -> None:
    found = {(row["id"], row["strategy"]): row for row in rows(result.path)}
    assert len(found) == 16
    for home in read_homes(folder / "homes.csv", ("feeder",)).rows():
        expected = compare(read_scenario(folder / "plain.toml").changed(home.changes))
        for run in expected.runs:
            row = found[home.id, run.name]
            record = run.record()
            assert {key: row[key] for key in record if key in row} == {k: v for k, v in record.items() if k in row}
            assert row["best"] == (run in expected.lowest)
            assert row["baseline_energy_cost"] == expected.baseline.energy_cost
            assert expected.solar_only is not None
            assert row["solar_only_annual_bill"] == expected.solar_only.annual_bill
            assert (row["feeder"], row["error"], row["currency"]) == ("AB"[home.place % 2], None, "USD")


def test_columns_are_all_annual_figures_of_compare(result: Fleet, demo_comparison: Comparison) -> None:
    record = demo_comparison.runs[0].record()
    scalars = {key for key, value in record.items() if not isinstance(value, list | dict)}
    assert scalars - columns(False).keys() == {"name", "battery_savings_share", "misfits"}
    assert result.homes == 8
    assert all(what.meaning and what.unit for what in columns(True).values())


@pytest.mark.slow
def test_file_and_digest_do_not_depend_on_chunks_and_digest_not_on_order(folder: Path, result: Fleet) -> None:
    again = fleet(folder / "homes.csv", folder / "again.parquet", FleetOptions(group="feeder", chunk=2))
    assert again.path.read_bytes() == result.path.read_bytes()
    write_homes(folder / "turned.csv", some_homes(8)[::-1])
    turned = fleet(folder / "turned.csv", folder / "turned.parquet", FleetOptions(group="feeder", chunk=5))
    assert again.digest == turned.digest == result.digest
    assert [each.record() for each in turned.strategies] == [each.record() for each in result.strategies]
    assert [each.record() for each in turned.savings] == [each.record() for each in result.savings]
    write_homes(folder / "other.csv", some_homes(7))
    assert fleet(folder / "other.csv", folder / "other.parquet", LABELS).digest != result.digest


def test_sums_and_savings_are_those_of_the_rows(result: Fleet) -> None:
    found = rows(result.path)
    by_name = {(each.kind, each.name): each for each in result.strategies}
    assert list(by_name) == [("baseline", ""), ("strategy", "home first"), ("strategy", "sell first"), ("lowest", "")]
    for name in ("home first", "sell first"):
        own, total = [row for row in found if row["strategy"] == name], by_name["strategy", name]
        for key in ("load_kwh", "pv_available_kwh", "import_kwh", "export_kwh"):
            assert getattr(total, key) == pytest.approx(sum(row[key] for row in own), rel=1e-9)
        assert total.own_import_peaks_kw == pytest.approx(sum(row["peak_import_kw"] for row in own), abs=1e-8)
        assert total.import_coincidence == total.peak_import_kw / total.own_import_peaks_kw
        assert 0.0 < total.peak_import_kw <= total.own_import_peaks_kw
        values = sorted((row["annual_savings"] for row in own), reverse=True)
        spread = next(each for each in result.savings if each.strategy == name and each.group is None)
        assert spread.homes == 8
        assert spread.mean == pytest.approx(np.mean(values))
        assert (spread.p90, spread.p50, spread.p10) == (values[7], values[4], values[0])  # reached by 8, 5, 1 of 8
    groups = [(each.group, each.homes) for each in result.savings if each.strategy == "" and each.group]
    assert groups == [("A", 4), ("B", 4)]
    steps = result.steps()
    best = steps[(steps.index.get_level_values("kind") == "lowest")]
    assert best["import_kw"].max() == by_name["lowest", ""].peak_import_kw
    assert steps.shape == (4 * 8760, 6)


def test_a_bad_row_costs_only_itself(folder: Path, result: Fleet) -> None:
    bad: list[dict[str, Any]] = [
        {"id": "cold", "scenario": "plain.toml", "battery.capacity_kwh": -5},
        {"id": "lost", "scenario": "gone.toml"},
        {"id": "", "scenario": "plain.toml"},
    ]
    write_homes(folder / "bad.csv", [*some_homes(8), *bad])
    found = fleet(folder / "bad.csv", folder / "bad.parquet", FleetOptions(group="feeder", chunk=4))
    assert (found.homes, found.failed) == (11, 3)
    failed = [row for row in rows(found.path) if row["error"]]
    assert [(row["id"], row["strategy"], row["annual_bill"]) for row in failed] == [
        ("cold", None, None), ("lost", None, None), (None, None, None),
    ]  # fmt: skip
    assert "battery.capacity_kwh: -5 must be" in failed[0]["error"]
    assert failed[0]["battery.capacity_kwh"] == "-5"
    assert [each.homes for each in found.failures] == [1, 1, 1]
    assert [each.record() for each in found.strategies] == [each.record() for each in result.strategies]
    with pytest.raises(ScenarioError, match=r"home 'cold': .*must be"):
        fleet(folder / "bad.csv", folder / "strict.parquet", FleetOptions(group="feeder", chunk=4, strict=True))
    assert not list(folder.glob("strict.parquet*"))


def test_table_without_a_home_that_runs_is_an_error_and_its_reasons_are_written(folder: Path) -> None:
    write_homes(folder / "none.csv", [{"id": "a", "scenario": "gone.toml"}])
    with pytest.raises(ScenarioError, match=r"no home could be run: .*gone.toml"):
        fleet(folder / "none.csv", folder / "none.parquet")
    assert rows(folder / "none.parquet")[0]["id"] == "a"


@pytest.mark.slow
def test_a_fault_of_ours_costs_only_its_home(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def odd(*_: object) -> None:
        raise ZeroDivisionError("odd")

    monkeypatch.setattr(_chunk, "compare", odd)
    with pytest.raises(ScenarioError, match="internal error, please report it: ZeroDivisionError: odd"):
        fleet(folder / "homes.csv", folder / "odd.parquet", LABELS)


@pytest.mark.slow
def test_years_that_differ_are_refused_or_added_by_weekday(folder: Path) -> None:
    mixed = [each | {"site.calendar_year": 2026 - n % 2} for n, each in enumerate(some_homes(2))]
    write_homes(folder / "years.csv", mixed)
    with pytest.raises(ScenarioError, match=r"calendar years of the homes differ \(2025, 2026\)"):
        fleet(folder / "years.csv", folder / "years.parquet", LABELS)
    found = fleet(folder / "years.csv", folder / "years.parquet", FleetOptions(labels=("feeder",), by_weekday=True))
    assert (found.year, found.failed, found.strategies[0].homes) == (2026, 0, 2)
    assert "by weekday on 2026" in found.notes[0]


@pytest.mark.slow
def test_life_adds_what_life_says(folder: Path) -> None:
    write_base(folder, "costly.toml", costs=COSTS, life=STILL)
    write_homes(folder / "life.csv", [{"id": "a", "scenario": "costly.toml"}, {"id": "b", "scenario": "plain.toml"}])
    found = fleet(folder / "life.csv", folder / "life.parquet", FleetOptions(with_life=True))
    expected = life(read_scenario(folder / "costly.toml"))
    *good, bad = rows(found.path)
    for row, each in zip(good, expected.strategies, strict=True):
        assert (row["npv"], row["simple_payback_years"]) == (each.npv, each.simple_payback_years)
        assert row["upfront_cost"] == expected.upfront_cost
    assert "has no table [costs]" in bad["error"]


@pytest.mark.slow
def test_hours_of_every_home_are_those_of_its_run(folder: Path) -> None:
    told: list[str] = []
    options = FleetOptions(labels=("feeder",), chunk=2, hourly=folder / "hours")
    write_homes(folder / "three.csv", some_homes(3))
    fleet(folder / "three.csv", folder / "three.parquet", options, notice=told.append)
    found = pq.read_table(folder / "hours").to_pandas()
    assert len(found) == 3 * 2 * 8760
    home = next(iter(read_homes(folder / "three.csv", ("feeder",)).rows()))
    run = compare(read_scenario(folder / "plain.toml").changed(home.changes)).runs[1]
    own = found[(found["id"] == "home 0") & (found["strategy"] == run.name)].set_index("time").sort_index()
    table = run.hourly()
    assert (own.index == pd.DatetimeIndex(table.index).tz_convert("UTC")).all()
    assert np.array_equal(own["import_kw"], table["import_kw"])
    size = sum(file.stat().st_size for file in (folder / "hours").rglob("*.parquet"))
    assert 0.4 * 3 * 2 * 8760 * 45 < size < 3 * 2 * 8760 * 45
    assert told == [f"{folder / 'hours'}: the hours of 3 homes take about 0.0024 GB"]


def test_hours_that_do_not_fit_on_the_disk_are_refused_before_any_work(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("solarsim.studies.fleet.fleet.free_bytes", lambda _: 1e6)
    with pytest.raises(OutputError, match=r"take about 0\.0063 GB, the disk has 0\.001 GB left"):
        fleet(folder / "homes.csv", folder / "no.parquet", FleetOptions(labels=("feeder",), hourly=folder / "full"))


def test_columns_of_the_result_are_refused_as_labels(folder: Path) -> None:
    write_homes(folder / "own.csv", [{"id": "a", "scenario": "plain.toml", "best": 1}])
    with pytest.raises(ScenarioError, match="column 'best': the result has a column of this name"):
        fleet(folder / "own.csv", folder / "own.parquet", FleetOptions(labels=("best",)))
    with pytest.raises(ScenarioError, match="has no column 'street'"):
        fleet(folder / "homes.csv", folder / "own.parquet", FleetOptions(labels=("feeder",), group="street"))


@pytest.mark.slow
def test_shared_parts_are_made_once_and_kept_within_their_limits(folder: Path, result: Fleet) -> None:
    assert result.failed == 0
    kept = _chunk._kept.parts
    write_homes(folder / "many.csv", some_homes(8))
    fleet(folder / "many.csv", folder / "many.parquet", LABELS)
    parts = _chunk._kept.parts
    assert parts is not kept  # files may have changed from one run to the next
    assert {kind: len(each) for kind, each in parts._kept.items()} == {
        "timeline": 1, "prices": 1, "dispatches": 1, "weather": 1, "sky": 1, "production": 3, "bank": 3, "load": 7,
    }  # fmt: skip
    assert all(parts._bytes[kind] <= LIMITS[kind] for kind in LIMITS)
    monkey = pytest.MonkeyPatch()
    with monkey.context() as patch:
        patch.setitem(LIMITS, "load", 300_000)
        fleet(folder / "many.csv", folder / "many.parquet", LABELS)
        assert len(_chunk._kept.parts._kept["load"]) == 2


@pytest.mark.slow
def test_two_hundred_random_homes_are_billed_to_the_cent_as_compare_bills_them(folder: Path) -> None:
    """Weather alone is shared with the other side: roof, prices, battery and load are computed anew for each."""
    draw = random.Random(17)  # noqa: S311  # homes, no secrets
    plans = ["", "flat.toml", "three_periods.toml", "rising_tiers.toml", "demand.toml"]
    ready = packaged_folder("scenarios") / "rate_plans"
    drawn = [
        {
            "id": number,
            "scenario": "plain.toml",
            "load.monthly_kwh": [draw.randrange(150, 1200) for _ in range(12)],
            "load.shape": draw.choice(["evenings", "home_all_day"]),
            "battery": draw.choice(["", "", "", "none"]),
            "battery.capacity_kwh": round(draw.uniform(3.0, 30.0), 2),
            "arrays.0.tilt_deg": draw.randrange(0, 60, 10),
            "arrays.0.azimuth_deg": draw.randrange(90, 271, 30),
            "arrays.0.modules_in_series": draw.randrange(4, 14),
            "inverter.ac_kw": round(draw.uniform(3.0, 8.0), 1),
            "rate_plan": plan and str(ready / plan),
            "strategies.1.reserve": round(draw.uniform(0.1, 0.9), 2),
        }
        for number in range(200)
        for plan in [draw.choice(plans)]
    ]
    for each in drawn:
        if each["battery"] == "none":
            each["battery.capacity_kwh"] = ""
    write_homes(folder / "random.csv", drawn)
    found = fleet(folder / "random.csv", folder / "random.parquet")
    assert found.failed == 0
    bills = {(row["id"], row["strategy"]): row for row in rows(found.path)}
    base = read_scenario(folder / "plain.toml")
    known = Parts(timeline=base.site.timeline(), weather=home_from(base).weather)
    for home in read_homes(folder / "random.csv").rows():
        scenario = base.changed(home.changes)
        for run in compare(scenario, home_from(scenario, None, known)).runs:
            row = bills[home.id, run.name]
            assert (row["annual_bill"], row["annual_savings"]) == (run.annual_bill, run.annual_savings), home
            assert row["import_kwh"] == run.import_kwh
