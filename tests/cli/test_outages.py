"""The command ``outages`` as its user runs it."""

import json
from pathlib import Path

from tests.cli.command import run


def test_the_demo_s_backup_is_shown_and_drawn(tmp_path: Path) -> None:
    done = run("outages", "--plot", "out.png", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "Strategy: serve the home first" in done.stdout
    assert "Cost of a reserve" in done.stdout
    assert "Unserved energy in random outages" in done.stdout
    assert "exhaust can kill" in " ".join(done.stdout.split())
    assert max(map(len, done.stdout.splitlines())) <= 100
    assert [path.name for path in tmp_path.iterdir()] == ["out.png"]
    again = run("outages", "--plot", "out.png", folder=tmp_path)
    assert again.returncode == 2
    assert "out.png" in again.stderr


def test_json_of_another_strategy_with_fewer_years(tmp_path: Path) -> None:
    words = ("outages", "--json", "--strategy", "storm season reserve", "--years", "10", "--seed", "4")
    done = run(*words, folder=tmp_path)
    assert done.returncode == 0, done.stderr
    record = json.loads(done.stdout)
    assert record["strategy"] == "storm season reserve"
    assert (record["drawn"]["years"], record["drawn"]["seed"]) == (10, 4)
    assert record["outage_h"] == [1, 2, 4, 8, 12, 24, 48, 72]
