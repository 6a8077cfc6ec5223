"""``fleet`` as its user runs it."""

import json
import os
import re
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pyarrow.parquet as pq
import pytest

from solarsim.studies.fleet._store import folder_of
from tests.cli.command import process, run
from tests.cli.test_bad_scenarios import assert_refused
from tests.studies.fleet.homes import some_homes, write_base, write_homes


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_base(tmp_path)
    write_homes(tmp_path / "homes.csv", some_homes(3))
    return tmp_path


def test_fleet_writes_rows_sums_and_a_picture(folder: Path) -> None:
    words = ["--group", "feeder", "--workers", "1", "--sums", "s.parquet", "--plot", "p.svg"]
    done = run("fleet", "homes.csv", "--out", "r.parquet", *words, folder=folder)
    assert done.returncode == 0, done.stderr
    told = [line for line in done.stderr.splitlines() if "compiling the engine" not in line]
    assert told == ["solarsim: written: r.parquet", "solarsim: written: s.parquet"]
    assert done.stdout.startswith("3 homes, 2026\n")
    assert "Written: p.svg" in done.stdout
    assert pq.read_metadata(folder / "r.parquet").num_rows == 6
    assert pq.read_metadata(folder / "s.parquet").num_rows == 4 * 8760
    assert sorted(path.name for path in folder.iterdir()) == [
        "homes.csv", "p.svg", "plain.toml", "r.parquet", "s.parquet",
    ]  # fmt: skip
    again = run("fleet", "homes.csv", "--out", "r.parquet", *words, folder=folder)
    assert again.returncode == 2
    assert again.stderr == "solarsim: r.parquet: exists; --force replaces it\n"


def test_json_has_sums_and_savings_and_rows_need_not_be_kept(folder: Path) -> None:
    done = run("fleet", "homes.csv", "--label", "feeder", "--workers", "1", "--json", folder=folder)
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert (found["homes"], found["failed"], found["group_by"]) == (3, 0, None)
    assert [each["kind"] for each in found["strategies"]] == ["baseline", "strategy", "strategy", "lowest"]
    assert found["strategies"][0]["homes"] == 3
    assert len(found["savings"]) == 3
    assert sorted(path.name for path in folder.iterdir()) == ["homes.csv", "plain.toml"]


CASES = {
    "no file": ("fleet gone.csv --out r.parquet", "gone.csv: cannot be read: No such file or directory"),
    "a scenario": ("fleet plain.toml --out r.parquet", "plain.toml: is a scenario, must be a table of homes"),
    "no parquet": ("fleet homes.csv --out r.csv", "r.csv: the name of the result ends with .parquet"),
    "no sum": ("fleet homes.csv --sums s.csv", "s.csv: the name of the sum ends with .parquet"),
    "unknown column": ("fleet homes.csv --out r.parquet", "unknown key 'feeder'"),
    "unknown group": (
        "fleet homes.csv --label feeder --group fedder",
        "has no column 'fedder'; did you mean 'feeder'?",
    ),
    "nothing to resume": (
        "fleet homes.csv --label feeder --workers 1 --out r.parquet --resume",
        "r.parquet.unfinished: is not there, so there is nothing to resume",
    ),
    "resume without out": ("fleet homes.csv --label feeder --resume", "--resume needs the --out of the run"),
    "workers": ("fleet homes.csv --workers 0", "'--workers': '0' must be a whole number from 1"),
    "two in one": ("fleet homes.csv --out a.parquet --sums a.parquet", "cannot be both the result and the sum"),
    "folder of hours": ("fleet homes.csv --hourly none/hours", "folder"),
    "hours in a full folder": ("fleet homes.csv --hourly .", ".: is not an empty folder; --force writes into it"),
    "bad scheduler": (
        "fleet homes.csv --label feeder --scheduler nonsense://x",
        "scheduler nonsense://x: cannot be reached",
    ),
}


@pytest.mark.parametrize(("words", "says"), CASES.values(), ids=list(CASES))
def test_wrong_commands_are_refused(folder: Path, words: str, says: str) -> None:
    assert_refused(folder, words, says)


def test_an_unfinished_run_is_not_lost_by_accident(folder: Path) -> None:
    folder_of(folder / "r.parquet").mkdir()
    assert_refused(folder, "fleet homes.csv --label feeder --out r.parquet", "--resume goes on, --force starts anew")


def test_missing_extra_is_one_line(folder: Path) -> None:
    """As on a machine where the extra was not installed: its packages are hidden from this process."""
    code = (
        "import sys, importlib.util as u; real = u.find_spec;"
        "u.find_spec = lambda name, *a: None if name in ('pyarrow', 'distributed') else real(name, *a);"
        "sys.argv = ['solarsim', 'fleet', 'homes.csv']; from solarsim.__main__ import main; main()"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == ("solarsim: this needs pyarrow and distributed: python -m pip install 'solarsim[fleet]'\n")


def test_help_does_not_load_what_a_fleet_needs() -> None:
    code = (
        "import sys, os, solarsim.cli.app as c; os._exit = lambda n: None; sys.argv = ['solarsim', *sys.argv[1:]];"
        " c.main(); print([m for m in ('dask', 'distributed', 'pyarrow') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code, "fleet", "--help"], capture_output=True, text=True, check=True)
    assert done.stdout.strip().splitlines()[-1] == "[]"


@pytest.mark.slow
def test_progress_is_shown_on_a_terminal_and_not_in_a_pipe(folder: Path) -> None:
    words = ["fleet", "homes.csv", "--label", "feeder", "--workers", "2"]
    reader, terminal = os.openpty()
    command = [sys.executable, "-m", "solarsim", *words]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=terminal, cwd=folder) as started:
        os.close(terminal)
        told = b""
        with suppress(OSError):  # how a terminal says that nobody writes to it any more
            while piece := os.read(reader, 4096):
                told += piece
        os.close(reader)
        assert started.wait(60) == 0
    assert re.search(r"running homes: \d of 3", told.decode())
    done = process(*words, folder=folder)
    assert (done.returncode, done.stderr) == (0, "")
