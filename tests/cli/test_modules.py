"""``solarsim modules`` as its user runs it."""

import json

from tests.cli.command import run


def test_modules_are_looked_up_by_parts_of_their_names() -> None:
    done = run("modules", "cs6k", "300ms")
    assert 'table_row = "Canadian Solar Inc. CS6K-300MS"' in " ".join(done.stdout.split())
    record = json.loads(run("modules", "cs6k", "300ms", "--json").stdout)
    assert [row["name"] for row in record["modules"]] == ["Canadian Solar Inc. CS6K-300MS"]
    assert record["closest"] == []


def test_a_misspelled_name_is_answered_with_the_closest() -> None:
    done = run("modules", "SunPowr SPR-X22-360")
    assert done.returncode == 0
    assert "No module matches" in done.stdout
    assert "SunPower SPR-X22-360" in done.stdout
    many = run("modules", "300")
    assert "the first 40" in many.stdout
