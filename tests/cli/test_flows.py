"""``solarsim flows`` as its user runs it."""

import json

import pytest

from tests.cli.command import run


def test_hour_is_explained_and_in_json() -> None:
    done = run("flows", "--hour", "2026-07-03T18:00")
    assert done.returncode == 0
    assert "because of `reserve = 0.2`" in " ".join(done.stdout.split())
    found = json.loads(run("flows", "--hour", "2026-07-03T18:00", "--json").stdout)
    assert found["decisions"][0]["keys"] == ["reserve"]
    assert found["flows"]["import_price"] == 0.34


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--hour", "18:00"], "must be a date and time by the wall clock"),
        (["--hour", "2024-07-03T18:00"], "is not in 2026"),
        (["--hour", "2026-07-03T18:00", "--month", "7", "--plot", "x.png"], "cannot be combined"),
        (["--best"], "--best needs --hour"),
    ],
)
def test_wrong_hours_are_refused(words: list[str], told: str) -> None:
    done = run("flows", *words)
    assert done.returncode == 2
    assert told in done.stderr
