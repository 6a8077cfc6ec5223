"""The command line as its user runs it."""

import csv
import json
import os
import re
import subprocess
import sys
from errno import EBADF, ENOSPC
from pathlib import Path

import pytest

from solarsim.cli.app import _outcome, app
from solarsim.errors import MachineError, ScenarioError
from solarsim.scenario.read import demo_scenario_path, packaged_folder
from tests.cli.command import process, run

SCENARIOS = sorted(packaged_folder("scenarios").glob("*.toml"))

#: What a command without a scenario says on stderr.
DEMO_NOTE = "solarsim: note: no scenario given; this is the invented demo (see: solarsim new)\n"


def test_without_scenario_the_demo_is_compared(tmp_path: Path) -> None:
    done = process("compare", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "Greensboro family home" in done.stdout
    assert "no system" in done.stdout
    assert "licensed professionals" in " ".join(done.stdout.split())
    assert max(map(len, done.stdout.splitlines())) <= 100
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_shipped_scenario_runs_to_json(path: Path) -> None:
    done = run("compare", path, "--json")
    assert done.returncode == 0, done.stderr
    record = json.loads(done.stdout)
    for row in record["strategies"]:
        assert row["balance_error_kw"] <= 1e-6
        assert abs(row["year_gap_kwh"]) <= 1e-6
        assert row["annual_bill"] < record["baseline"]["annual_bill"]
    failing = ["wiring: a design check fails: main panel, busbar (solarsim wiring)"]
    assert record["notes"] == (failing if path.stem == "older_roof" else [])


@pytest.mark.slow  # the README's own output is tested in each run
def test_best_is_a_row_and_a_share(tmp_path: Path) -> None:
    done = run("compare", "--best", folder=tmp_path)
    assert "optimum" in done.stdout
    assert done.stderr.startswith(DEMO_NOTE)  # and that it compiles, the first time


def test_work_in_progress_shows_on_a_terminal(tmp_path: Path) -> None:
    reader, terminal = os.openpty()
    command = [sys.executable, "-m", "solarsim", "compare"]
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=terminal, check=True, cwd=tmp_path)
    assert "running every strategy ..." in os.read(reader, 100_000).decode()
    assert "running" not in done.stdout.decode()
    os.close(terminal)
    os.close(reader)


def test_hours_and_picture_of_a_strategy(tmp_path: Path) -> None:
    done = run(
        "flows", "--strategy", "zero export", "--csv", "h.csv", "--plot", "m.png", "--month", "7", folder=tmp_path
    )
    assert done.returncode == 0, done.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == ["h.csv", "m.png"]
    with (tmp_path / "h.csv").open() as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 8760
    assert all(float(row["export_kw"]) == 0.0 for row in rows)
    assert "Written: h.csv" in done.stdout
    again = run("flows", "--csv", "h.csv", folder=tmp_path)
    assert (again.returncode, again.stdout) == (2, "")
    assert run("flows", "--csv", "h.csv", "--force", folder=tmp_path).returncode == 0


def test_hourly_file_of_a_run_can_be_the_load_of_a_scenario(tmp_path: Path) -> None:
    assert run("flows", "--csv", "h.csv", folder=tmp_path).returncode == 0
    text = SCENARIOS[0].read_text()
    start, end = text.index("monthly_kwh"), text.index("[grid]")
    weather = packaged_folder("weather_samples")
    mine = (text[:start] + 'file = "h.csv"\n' + text[end:]).replace("../weather_samples", weather.as_posix())
    (tmp_path / "mine.toml").write_text(mine)
    first, second = (
        json.loads(run("compare", *words, "--json", folder=tmp_path).stdout) for words in ([], ["mine.toml"])
    )
    assert SCENARIOS[0].stem == "greensboro"
    for one, other in zip(first["strategies"], second["strategies"], strict=True):
        assert one["annual_bill"] == pytest.approx(other["annual_bill"], abs=0.02)


def test_quarter_hours_from_scenario_to_file_and_back(tmp_path: Path) -> None:
    weather = packaged_folder("weather_samples").as_posix()
    text = (
        SCENARIOS[0]
        .read_text()
        .replace("../weather_samples", weather)
        .replace("step_minutes = 60", "step_minutes = 15")
    )
    (tmp_path / "mine.toml").write_text(text)
    assert run("flows", "mine.toml", "--csv", "h.csv", folder=tmp_path).returncode == 0
    with (tmp_path / "h.csv").open() as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 35040
    assert [row["time"] for row in rows[1:4]] == [f"2026-01-01T00:{minute}:00-05:00" for minute in (15, 30, 45)]
    start, end = text.index("monthly_kwh"), text.index("[grid]")
    (tmp_path / "own.toml").write_text(text[:start] + 'file = "h.csv"\n' + text[end:])
    done = run("compare", "own.toml", "--finer", "15", "--json", folder=tmp_path)
    record = json.loads(done.stdout)
    told = record["finer_steps"]["strategies"][2]
    assert told["name"] == record["strategies"][0]["name"]
    assert told["finer"]["annual_bill"] == record["strategies"][0]["annual_bill"]
    hourly = json.loads(run("compare", "--json", folder=tmp_path).stdout)["strategies"][0]["annual_bill"]
    assert told["hourly"]["annual_bill"] == pytest.approx(hourly, abs=0.02)
    refused = run("compare", "--finer", "20")
    assert (refused.returncode, refused.stdout) == (2, "")
    assert "'20' must be 30 or 15 (minutes)" in refused.stderr


def test_months_of_a_strategy_as_json() -> None:
    record = json.loads(run("flows", "--json").stdout)
    assert record["strategy"]["name"] == "serve the home first"
    assert len(record["months"]) == 12


def test_savings_of_one_strategy() -> None:
    record = json.loads(run("savings", "--strategy", "zero export", "--json").stdout)
    (only,) = record["strategies"]
    assert only["simple_payback_years"] == pytest.approx(record["upfront_cost"] / only["annual_savings"])
    table = run("savings").stdout
    assert "simple payback" in table
    assert "13,167.00" in table


def test_tables_are_never_cut_on_a_narrow_terminal() -> None:
    import fcntl
    import struct
    import termios

    reader, terminal = os.openpty()
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 50, 0, 0))
    command = [sys.executable, "-m", "solarsim", "flows"]
    environment = {**os.environ, "TERM": "dumb"}
    subprocess.run(command, stdout=terminal, stderr=subprocess.DEVNULL, check=True, env=environment)
    shown = os.read(reader, 100_000).decode()
    assert " 399.75" in shown
    os.close(terminal)
    os.close(reader)


def test_bills_month_by_month() -> None:
    done = run("compare", "--months")
    assert "Bill, USD" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 100
    record = json.loads(run("compare", "--json").stdout)
    for row in record["strategies"]:
        assert sum(row["monthly_bill"]) == pytest.approx(row["annual_bill"])


def test_version_and_help() -> None:
    assert run("--version").stdout.startswith("solarsim ")
    for words in ([], ["compare"], ["flows"], ["savings"]):
        done = run(*words, "--help")
        assert done.returncode == 0
        assert "Usage" in done.stdout


@pytest.mark.slow
def test_engine_is_compiled_once_and_says_so(tmp_path: Path) -> None:
    """A fresh cache folder: the first run says that it compiles, the second does not."""
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
    command = [sys.executable, "-m", "solarsim", "compare", "--json"]
    first, second = (
        subprocess.run(command, capture_output=True, text=True, check=True, env=environment) for _ in range(2)
    )
    assert "compiling the engine for this machine (once" in first.stderr
    assert second.stderr == DEMO_NOTE
    assert first.stdout == second.stdout


def test_scenario_itself_is_never_replaced(tmp_path: Path) -> None:
    assert run("new", "mine.toml", "--example", "greensboro", folder=tmp_path).returncode == 0
    before = (tmp_path / "mine.toml").read_bytes()
    done = run("flows", "mine.toml", "--csv", "mine.toml", "--force", folder=tmp_path)
    assert (done.returncode, done.stderr) == (2, "solarsim: mine.toml: is the scenario itself\n")
    assert (tmp_path / "mine.toml").read_bytes() == before


def test_help_lists_every_command_under_its_heading(tmp_path: Path) -> None:
    done = run("--help", folder=tmp_path)
    assert done.stdout.startswith("Usage: solarsim [OPTIONS] COMMAND")
    assert max(map(len, done.stdout.splitlines())) <= 80
    headings = [line[:-1] for line in done.stdout.splitlines() if line.startswith(("The ", "To "))]
    assert headings == ["The home", "The year", "The decision", "To share"]
    listed = re.findall(r"^  ([a-z]+)  +\S", done.stdout, re.MULTILINE)
    assert set(listed) == {each.callback.__name__ for each in app.registered_commands if each.callback}
    assert len(listed) == len(set(listed))


@pytest.mark.parametrize("words", [("compare",), ("compare", "--json"), ("--help",)])
def test_a_reader_that_stops_early_is_no_error(tmp_path: Path, words: tuple[str, ...]) -> None:
    """The pipe of ``solarsim compare | head -1`` is closed before anything is written to it."""
    reader, writer = os.pipe()
    os.close(reader)
    command = [sys.executable, "-m", "solarsim", *words]
    done = subprocess.run(command, stdout=writer, stderr=subprocess.PIPE, text=True, check=False, cwd=tmp_path)
    os.close(writer)
    assert (done.returncode, done.stderr.replace(DEMO_NOTE, "")) == (0, "")


def complete(*words: str) -> list[str]:
    """Return what the shell offers for the last word, asked for as bash asks."""
    asked = {"_SOLARSIM_COMPLETE": "complete_bash", "COMP_WORDS": " ".join(words), "COMP_CWORD": str(len(words) - 1)}
    command = [sys.executable, "-m", "solarsim"]
    done = subprocess.run(command, env=os.environ | asked, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


def test_shell_completion_offers_commands_and_options() -> None:
    assert complete("solarsim", "co") == ["compare"]
    assert "--json" in complete("solarsim", "compare", "--")


def test_shell_completion_installs_with_one_command(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "solarsim", "--install-completion", "bash"]
    home = os.environ | {
        "HOME": str(tmp_path),
        "SHELL": "/bin/bash",
        "_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1",
    }
    done = subprocess.run(command, env=home, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    (script,) = tmp_path.rglob("*.sh")
    assert "_SOLARSIM_COMPLETE=complete_bash" in script.read_text()
    assert str(script) in (tmp_path / ".bashrc").read_text()


def _raise(error: BaseException) -> None:
    raise error


@pytest.mark.parametrize(
    ("error", "code", "told"),
    [
        (ScenarioError("a: x", "b: y"), 2, "solarsim: a: x\nsolarsim: b: y\n"),
        (MachineError("worker process lost"), 2, "solarsim: worker process lost\n"),
        (MemoryError(), 2, "solarsim: out of memory\n"),
        (ZeroDivisionError("by zero"), 1, "solarsim: internal error, please report it: ZeroDivisionError: by zero\n"),
        (KeyboardInterrupt(), 130, "solarsim: stopped\n"),
        (BrokenPipeError(), 0, ""),
        (OSError(ENOSPC, "No space left"), 2, "solarsim: standard output: cannot be written: No space left\n"),
        (OSError(EBADF, "odd"), 1, "solarsim: internal error, please report it: OSError: [Errno 9] odd\n"),
    ],
    ids=lambda value: type(value).__name__,
)
def test_every_end_has_its_exit_code(
    capsys: pytest.CaptureFixture[str], error: BaseException, code: int, told: str
) -> None:
    assert _outcome(lambda: _raise(error)) == code
    assert capsys.readouterr().err == told


@pytest.mark.parametrize("command", ["compare", "flows"])
def test_notes_are_told_beside_the_result(tmp_path: Path, command: str) -> None:
    text = demo_scenario_path().read_text().replace("America/New_York", "America/Chicago")
    home = tmp_path / "home.toml"
    home.write_text(text.replace("../weather_samples", packaged_folder("weather_samples").as_posix()))
    done = run(command, home, "--json")
    assert "solarsim: note: " in done.stderr
    assert "moved by -1 h" in done.stderr
    assert "moved by -1 h" in json.loads(done.stdout)["notes"][0]


def test_hourly_table_goes_to_standard_output_alone(tmp_path: Path) -> None:
    printed = run("flows", "--csv", "-", folder=tmp_path)
    assert (printed.returncode, printed.stderr) == (0, DEMO_NOTE)
    run("flows", "--csv", "hours.csv", folder=tmp_path)
    assert printed.stdout == (tmp_path / "hours.csv").read_text()
    assert [each.name for each in tmp_path.iterdir()] == ["hours.csv"]
