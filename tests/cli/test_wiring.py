"""``solarsim wiring`` as its user runs it."""

import json
from pathlib import Path

import pytest

from tests.cli.command import run


def test_page_leads_from_checks_to_cautions() -> None:
    done = run("wiring", "older_roof")
    assert (done.returncode, done.stderr) == (0, "")
    words = " ".join(done.stdout.split())
    assert "Fails: main panel, busbar" in words
    assert "33 checks: 31 ok, 1 fail, 1 not checked" in words
    assert "Backfeeding a dead line can kill" not in words  # it has no backup
    assert "licensed people must design, wire and inspect" in words
    assert max(map(len, done.stdout.splitlines())) <= 100


def test_strict_ends_with_2_where_a_check_fails() -> None:
    assert run("wiring", "older_roof", "--strict").returncode == 2
    assert run("wiring", "miami", "--strict").returncode == 0


def test_json_and_files(tmp_path: Path) -> None:
    done = run("wiring", "--json", "--csv", tmp_path / "checks.csv", "--plot", tmp_path / "line.svg")
    checks = json.loads(done.stdout)["checks"]
    assert {"name", "value", "limit", "margin", "result", "missing", "source"} <= checks[0].keys()
    assert (tmp_path / "checks.csv").read_text().count("\n") == len(checks) + 1
    assert "Hybrid inverter" in (tmp_path / "line.svg").read_text() or (tmp_path / "line.svg").stat().st_size > 10_000


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ("wiring.pv.0.conductor.awg=11", "wiring.pv.1st.conductor.awg"),
        ("wiring.edition=2022", "edition 2022 is not one of nec: 2017, 2020, 2023, 2026"),
        ("wiring.standard=iec", "edition 2023"),
        ("wiring.battery.fuse_a=-5", "wiring.battery.fuse_a"),
        ("wiring.pv.0.array=east", "'east' is not one of the arrays"),
        ("wiring.pv.0.conductor.terminals_c=90", ""),
        ("wiring.battery.conductor.insulation_c=60", "terminals_c 75 is above insulation_c 60"),
        ("site.design_high_c=-20", "site.design_high_c"),
        ("wiring.pv.0.module=other", "'other' is not one of the modules"),
    ],
)
def test_wrong_values_are_refused_by_name(change: str, words: str) -> None:
    done = run("wiring", "--set", change)
    if change.endswith("standard=iec"):
        assert "phases" in done.stderr
        assert done.returncode == 2
    elif words:
        assert words in done.stderr
        assert done.returncode == 2
    else:
        assert done.returncode == 0
