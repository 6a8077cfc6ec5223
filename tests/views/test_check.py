"""The page of a check: one page, what is wrong elsewhere, what is missing with the commands that need it."""

import pytest

from solarsim.views.check import page
from tests.checked import checked_bare, checked_demo


@pytest.fixture(scope="module")
def lines() -> list[str]:
    return "\n".join(page(checked_demo())).split("\n")


def test_the_demo_is_one_page(lines: list[str]) -> None:
    assert lines[0] == "Greensboro family home: no errors found."
    assert len(lines) <= 66
    assert max(map(len, lines)) <= 80


def test_files_and_assumptions_are_named(lines: list[str]) -> None:
    assert "  weather.file: ../weather_samples/723170TYA.CSV" in lines
    assert "  losses: array.snow 0, module.aging 0, operation.downtime 0" in lines
    assert any(line.startswith("Not in the scenario, so not modeled: site.horizon, ") for line in lines)
    assert not any(line.startswith("Missing:") for line in lines)


def test_what_is_missing_stands_with_its_commands() -> None:
    text = "\n".join(page(checked_bare()))
    assert "plain home: 1 error, one line each on standard error." in text
    assert (
        "  life, offers, size\n    has no table [costs]; add one with parts\n    has no table [life]; add one with"
        in text
    )
    assert "weather (once the errors are fixed)." in " ".join(text.split())
