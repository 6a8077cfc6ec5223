"""``offers`` on the command line."""

import json

import pytest

from tests.cli.command import run

LIFE = ("--set", "life.years=2")


def test_variants_are_offers_of_the_first_file() -> None:
    done = run("offers", *LIFE, "--variant", "battery.bank.0.strings=2; inverter.standby_w=40", "--json")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert [each["name"] for each in found["offers"]] == ["demo", "variant 1"]
    assert found["offers"][1]["differences"] == {
        "inverter.standby_w": [55, 40],
        "battery.bank.0.strings": [None, 2],
    }


def test_csv_on_standard_output_has_a_row_for_each_offer() -> None:
    done = run("offers", *LIFE, "--variant", "battery=none", "--csv", "-")
    assert [row.split(",")[0] for row in done.stdout.splitlines()] == ["name", "demo", "variant 1"]


@pytest.mark.parametrize(
    ("words", "problem"),
    [
        (("greensboro",), "name at least two files"),
        (("greensboro", "--variant", "inverter.ac=2"), "--variant 'inverter.ac=2': inverter.ac: unknown key"),
        (("greensboro", "miami"), "is for another home"),
    ],
)
def test_what_cannot_be_compared_is_refused(words: tuple[str, ...], problem: str) -> None:
    done = run("offers", *words)
    assert (done.returncode, done.stdout) == (2, "")
    assert problem in done.stderr
