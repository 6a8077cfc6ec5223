"""``report`` on the command line."""

import json
from pathlib import Path

import pytest

from tests.cli.command import run

QUICK = ("--without", "household", "--without", "installer", "--without", "bank")


@pytest.mark.parametrize(
    ("words", "problem"),
    [
        ((), "report: name the file to write: --out home.html"),
        (("--out", "-", "--json"), "both print to standard output"),
        (("--out", "missing/home.html"), "folder missing does not exist"),
        (("--out", "home.html", "--without", "bnak"), "section 'bnak' does not exist; did you mean 'bank'?"),
        (("--out", "home.html", "--strategy", "zero exprt"), "did you mean 'zero export'?"),
        (("greensboro", "miami", "--out", "home.html"), "is for another home"),
    ],
)
def test_what_cannot_be_written_is_refused(words: tuple[str, ...], problem: str, tmp_path: Path) -> None:
    done = run("report", *words, folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert problem in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_file_is_written_and_replaced_only_with_force(tmp_path: Path) -> None:
    done = run("report", "--out", "home.html", "--set", "life=none", *QUICK, folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "Not computed: cash flow by year" in done.stdout
    assert "Left out: household, installer, bank." in done.stdout
    assert done.stdout.endswith("Written: home.html\n")
    assert (tmp_path / "home.html").read_text().startswith("<!DOCTYPE html>")
    again = run("report", "--out", "home.html", folder=tmp_path)
    assert (again.returncode, again.stdout) == (2, "")
    assert "exists; --force replaces it" in again.stderr


@pytest.mark.slow
def test_json_is_the_report_s_own_numbers() -> None:
    done = run("report", "--json", *QUICK)
    found = json.loads(done.stdout)
    assert list(found) == ["made_on", "without", "homes", "no_offers", "notes"]
    assert found["homes"][0]["ratings"]["modules"] == 19
