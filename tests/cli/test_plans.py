"""The commands about rate plans as their user runs them."""

import json
from pathlib import Path

from solarsim.scenario.read import packaged_folder, read_rate_plan
from solarsim.studies.compare.compare import Comparison
from tests.builders import READY_PLANS
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


def test_a_picture_of_the_own_plan_needs_no_other(tmp_path: Path) -> None:
    write_home(tmp_path / "mine.toml")
    done = run("plans", "mine.toml", "--plot", "weeks.svg", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "week of Monday" in (tmp_path / "weeks.svg").read_text()
    assert_refused(tmp_path, "plans mine.toml --weeks flat", "Invalid value for --weeks: needs --plot FILE")
    wrong = run("plans", "mine.toml", "--plot", "other.svg", "--weeks", "night", folder=tmp_path)
    assert (wrong.returncode, (tmp_path / "other.svg").exists()) == (2, False)
    assert "rate plan 'night' is not compared here" in wrong.stderr


def test_plans_of_the_demo(tmp_path: Path) -> None:
    for example in ([], ["storm_coast"]):
        done = run("plans", *example, folder=tmp_path)
        assert done.returncode == 0, done.stderr
        assert "* Lowest energy cost: " in done.stdout
        assert all(read_rate_plan(path).name in done.stdout for path in READY_PLANS)


def test_a_home_of_one_s_own_is_compared_with_the_plans_that_it_names(tmp_path: Path) -> None:
    """The packaged plans are inventions: nobody can be on them."""
    (tmp_path / "flat.toml").write_bytes((READY / "flat.toml").read_bytes())
    write_home(tmp_path / "home.toml", plans={"files": ["flat.toml"]})
    write_home(tmp_path / "mine.toml")
    assert_refused(tmp_path, "plans mine.toml", "mine.toml: has no table [plans] with files of other rate plans; add")
    named = json.loads(run("plans", "home.toml", "--json", folder=tmp_path).stdout)
    assert [plan["rate_plan"] for plan in named["plans"]] == ["flat", "Flat (invented)"]
    there = json.loads(run("plans", tmp_path / "home.toml", "--rate-plan", READY / "demand.toml", "--json").stdout)
    assert [plan["rate_plan"] for plan in there["plans"]] == ["flat", "Demand (invented)"]


def test_plans_that_are_named_stand_beside_the_scenario_s_own() -> None:
    flat, demand = (READY / f"{name}.toml" for name in ("flat", "demand"))
    record = json.loads(run("plans", "--rate-plan", flat, "--rate-plan", demand, "--json").stdout)
    names = [plan["rate_plan"] for plan in record["plans"]]
    assert names == ["Evening peak (invented)", "Flat (invented)", "Demand (invented)"]


def test_plans_that_cannot_be_read_or_compared_are_refused(tmp_path: Path) -> None:
    (tmp_path / "flat.toml").write_bytes((READY / "flat.toml").read_bytes())
    (tmp_path / "bad.toml").write_text('name = "bad"\ncurency = "USD"\n')
    write_home(tmp_path / "home.toml", rate_plan__currency="CHF", plans={"files": ["flat.toml"]})
    assert_refused(tmp_path, "plans home.toml", "'Flat (invented)': currency is 'USD', the scenario's is 'CHF'")
    for files, told, lines in (
        (["none.toml"], "none.toml: cannot be read", 1),
        (["home.toml"], "home.toml: is a scenario; a rate plan file", 1),
        (["bad.toml"], "bad.toml: curency: unknown key; did you mean 'currency'?", 4),
        ([], "plans.files: ", 1),
        (["flat.toml", "flat.toml"], "plans.files: ", 1),
    ):
        write_home(tmp_path / "home.toml", plans={"files": files})
        assert_refused(tmp_path, "plans home.toml", told, lines=lines)


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
