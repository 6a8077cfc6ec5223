"""The commands about rate plans as their user runs them."""

import json
from pathlib import Path

from solarsim.scenario.read import packaged_folder, read_rate_plan, ready_rate_plans
from solarsim.studies.compare.compare import Comparison
from tests.cli.command import run
from tests.cli.test_bad_scenarios import assert_refused, write_home

READY = packaged_folder("scenarios") / "rate_plans"


def test_bill_of_a_month_with_and_without_the_system(tmp_path: Path) -> None:
    done = run("bill", "--month", "7", "--strategy", "zero export", folder=tmp_path)
    assert done.returncode == 0
    assert done.stderr.count("\n") == 1  # that it is the demo
    assert "July bill" in done.stdout
    assert "no system" in done.stdout
    assert "zero export" in done.stdout
    assert "licensed professionals" in " ".join(done.stdout.split())
    assert max(map(len, done.stdout.splitlines())) <= 100
    assert list(tmp_path.iterdir()) == []


def test_bill_of_the_year_is_what_compare_says(demo_comparison: Comparison) -> None:
    year = json.loads(run("bill", "--month", "year", "--json").stdout)
    bills = [each.ledger.bill for each in (demo_comparison.baseline, demo_comparison.runs[0])]
    assert [each["total"] for each in year["bills"]] == [float(bill.total) for bill in bills]
    assert [len(each["lines"]) for each in year["bills"]] == [len(bill.lines) for bill in bills]


def test_plans_of_the_demo(tmp_path: Path) -> None:
    done = run("plans", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "* Lowest energy cost: " in done.stdout
    assert all(read_rate_plan(path).name in done.stdout for path in ready_rate_plans())


def test_plans_that_are_named_stand_beside_the_scenario_s_own() -> None:
    flat, demand = (READY / f"{name}.toml" for name in ("flat", "demand"))
    record = json.loads(run("plans", "--rate-plan", flat, "--rate-plan", demand, "--json").stdout)
    names = [plan["rate_plan"] for plan in record["plans"]]
    assert names == ["Evening peak (invented)", "Flat (invented)", "Demand (invented)"]


def test_plans_of_another_currency_are_left_out_and_told(tmp_path: Path) -> None:
    write_home(tmp_path / "home.toml", rate_plan__currency="CHF")
    done = run("plans", "home.toml", folder=tmp_path)
    assert done.returncode == 0
    assert done.stderr.count("left out: its currency is USD") == 7
    assert "Changing both saves nothing more." in done.stdout


def test_wrong_words_are_refused(tmp_path: Path) -> None:
    write_home(tmp_path / "home.toml")
    assert_refused(tmp_path, "bill home.toml --month 13", "--month", "'13'", "1 to 12, or year")
    assert_refused(tmp_path, "bill home.toml --strategy home_first", "did you mean 'home first'?")
    assert_refused(tmp_path, "plans home.toml --rate-plan none.toml", "none.toml: cannot be read")
    assert_refused(tmp_path, "plans home.toml --rate-plan home.toml", "home.toml: is a scenario; a rate plan file")
    (tmp_path / "flat.toml").write_bytes((READY / "flat.toml").read_bytes())
    assert_refused(
        tmp_path, "bill flat.toml", 'flat.toml: is a rate plan file; name it in a scenario (rate_plan = "flat.toml")'
    )
