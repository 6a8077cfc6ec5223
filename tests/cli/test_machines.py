"""Machines as they are: full disks, closed streams, read-only folders, signals, workers that are killed, hostile names.

Whatever happens, a command ends within its time, with a documented exit code and one line that says why, and leaves
nothing half-written. Processes are ended by their own number only.
"""

import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

import solarsim
from solarsim.scenario.read import demo_scenario_path, packaged_folder
from tests.cli.command import Done, run
from tests.cli.test_bad_scenarios import write_home
from tests.cli.test_life import COSTS
from tests.studies.lives import STILL
from tests.studies.test_workers import eventually, lives

TIMEOUT_S = 240  # a busy machine is slow; a command that hangs is not
RED, CLEAR = "\x1b[31m", "\x1b[2J"


def start(*words: str | Path, program: tuple[str, ...] = ("-m", "solarsim"), **how: Any) -> "subprocess.Popen[str]":
    """Start the program, its output in pipes unless it is said otherwise."""
    pipes = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    command = [sys.executable, *program, *map(str, words)]
    return subprocess.Popen(command, encoding="utf-8", **(pipes | how))


def ended(process: "subprocess.Popen[str]") -> Done:
    """Wait for the end; a process that hangs fails the test and is ended."""
    try:
        out, err = process.communicate(timeout=TIMEOUT_S)
    except subprocess.TimeoutExpired:
        process.kill()
        process.communicate()
        raise
    return subprocess.CompletedProcess(process.args, process.returncode, out or "", err or "")


def command(*words: str | Path, **how: Any) -> Done:
    return ended(start(*words, **how))


def closing(descriptor: int) -> Callable[[], None]:
    return lambda: os.close(descriptor)


def one_line(done: Done, code: int, says: str) -> None:
    assert (done.returncode, done.stdout) == (code, "")
    assert done.stderr.startswith("solarsim: ")
    assert done.stderr.count("\n") == 1, done.stderr
    assert says in done.stderr


def test_full_disk_behind_standard_output_is_told() -> None:
    with Path("/dev/full").open("w") as full:
        one_line(command("--version", stdout=full), 2, "standard output: cannot be written: No space left on device")


def test_closed_standard_output_is_told() -> None:
    one_line(command("--version", stdout=None, preexec_fn=closing(1)), 2, "standard output: is closed")


@pytest.mark.parametrize("how", ["closed", pytest.param("full", marks=pytest.mark.slow)])
def test_messages_that_cannot_be_written_neither_stop_a_command_nor_reach_its_output(how: str, tmp_path: Path) -> None:
    with Path("/dev/full").open("w") as full:
        errors = {"stderr": full} if how == "full" else {"stderr": None, "preexec_fn": closing(2)}
        refused = command("load", tmp_path / "none.toml", **errors)
        assert (refused.returncode, refused.stdout) == (2, "")
        noted = command("load", "--json", **errors) if how == "full" else None
    assert noted is None or json.loads(noted.stdout)["scenario"] == "Greensboro family home"


def test_folder_that_was_deleted_is_told(tmp_path: Path) -> None:
    gone = tmp_path / "gone"
    gone.mkdir()
    started = start("--version", cwd=gone, preexec_fn=gone.rmdir)
    one_line(ended(started), 2, "current folder: No such file or directory")


def test_terminal_that_knows_ascii_only_is_no_error() -> None:
    done = command("load", "--help", env=os.environ | {"PYTHONIOENCODING": "ascii", "LC_ALL": "C"})
    assert done.returncode == 0
    done = command("load", "caf\u00e9.toml", env=os.environ | {"PYTHONIOENCODING": "ascii"})
    one_line(done, 2, "caf\\xe9.toml: cannot be read")


def test_home_folder_need_not_exist() -> None:
    without = {key: value for key, value in os.environ.items() if not key.startswith(("HOME", "XDG"))}
    assert command("--version", env=without).returncode == 0
    assert command("--version", env=without | {"HOME": "/dev/null"}).returncode == 0


def limited(size: int) -> Callable[[], None]:
    """Return what limits the files that a process writes, as a full disk would."""
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


def test_starter_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    """Its scenario and its schema are small, its weather is not."""
    done = command("new", "mine.toml", "--example", "greensboro", cwd=tmp_path, preexec_fn=limited(200_000))
    one_line(done, 2, "723170TYA.CSV: cannot be written: File too large")
    assert list(tmp_path.iterdir()) == []
    (tmp_path / "solarsim.schema.json").mkdir()
    done = run("new", "mine.toml", "--example", "greensboro", folder=tmp_path)
    one_line(done, 2, "solarsim.schema.json: is a folder, must be a file")
    assert [each.name for each in tmp_path.iterdir()] == ["solarsim.schema.json"]


@pytest.mark.slow
def test_table_and_picture_are_written_both_or_neither(tmp_path: Path) -> None:
    (tmp_path / "load.png").write_bytes(b"old")
    words = ("load", demo_scenario_path(), "--csv", "load.csv", "--plot", "load.png", "--force")
    done = command(*words, cwd=tmp_path, preexec_fn=limited(150_000))
    one_line(done, 2, "load.csv: cannot be written: File too large")
    assert [(each.name, each.read_bytes()) for each in tmp_path.iterdir()] == [("load.png", b"old")]


#: Sends a signal to the process itself when it is about to import a module: the moment does not depend on the machine.
AT_IMPORT = """
import os, sys
_, module, number, *words = sys.argv
class Finder:
    def find_spec(self, name, path=None, target=None):
        if name == module:
            os.kill(os.getpid(), int(number))
sys.meta_path.insert(0, Finder())
sys.argv = ["solarsim", *words]
from solarsim.__main__ import main
main()
"""


@pytest.mark.parametrize(
    ("module", "kind"),
    [
        ("typer", signal.SIGINT),
        ("solarsim.cli.wear", signal.SIGTERM),
        pytest.param("solarsim.scenario.model", signal.SIGINT, marks=pytest.mark.slow),
        pytest.param("pydantic", signal.SIGHUP, marks=pytest.mark.slow),
        ("numba", signal.SIGINT),
        pytest.param("pvlib", signal.SIGTERM, marks=pytest.mark.slow),
    ],
)
def test_signal_at_any_time_is_one_line(module: str, kind: signal.Signals) -> None:
    words = (module, str(int(kind)), "load", str(demo_scenario_path()))
    one_line(command(*words, program=("-c", AT_IMPORT)), 128 + kind, "stopped")


def test_signal_that_is_ignored_stays_ignored() -> None:
    """Under nohup a terminal that is closed ends nothing."""
    done = command(
        "typer", str(int(signal.SIGHUP)), "--version", program=("-c", AT_IMPORT),
        preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_IGN),
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write a home whose names would recolor a terminal, break a formula, or add to a web page."""
    path = tmp_path_factory.mktemp("hostile") / "home.toml"
    fridge = {
        "kind": "appliance", "name": f"{CLEAR}\x9b2J\u202e<script>", "critical": False, "power_w": 100.0,
        "always_duty": 0.5, "in_bills": False,
    }  # fmt: skip
    load = {"monthly_kwh": [310.0] * 12, "shape": "evenings", "parts": [fridge]}
    write_home(path, name=f"{RED}a $x_2$ $\\frac$ <b>home</b>\x07\r\nnext", load=load)
    return path


def test_names_in_files_do_not_reach_a_terminal_as_control_characters(hostile: Path) -> None:
    page, record = run("load", hostile), run("load", hostile, "--json")
    told = run("load", hostile, "--set", "load.parts.0.power_w=x")
    for text in (page.stdout, record.stdout, page.stderr, told.stderr):
        assert all(each.isprintable() or each in "\n\xa0" for each in text), text
    assert "\\x1b[31ma $x_2$ $\\frac$" in page.stdout
    assert "\\x1b[2J" in page.stdout
    assert json.loads(record.stdout)["scenario"].startswith(f"{RED}a $x_2$")
    assert json.loads(record.stdout)["parts"][1]["name"] == f"{CLEAR}\x9b2J\u202e<script>"


@pytest.mark.slow
def test_names_in_files_are_text_in_pictures_and_web_pages(hostile: Path) -> None:
    done = run("load", hostile, "--plot", hostile.with_suffix(".svg"), "--force")
    assert (done.returncode, done.stderr) == (0, "")
    assert hostile.with_suffix(".svg").is_file()
    year = solarsim.load_year(solarsim.read_scenario(hostile))
    assert "<b>home" not in year._repr_html_()
    assert "<script>" not in year.parts[1]._repr_html_()
    assert "&lt;script&gt;" in year.parts[1]._repr_html_()


# --- read-only installations


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Copy the package to where its compiled engine cannot be kept, whoever runs the test: a file is in the way."""
    site = tmp_path_factory.mktemp("site")
    package = Path(solarsim.__file__).parent
    shutil.copytree(package, site / "solarsim", ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("scenarios", "weather_samples"):
        shutil.copytree(packaged_folder(name), site / "solarsim" / "packaged" / name, dirs_exist_ok=True)
    (site / "solarsim" / "engine" / "__pycache__").touch()
    return site


@pytest.mark.slow
def test_read_only_installation_and_home_run_with_a_cache_elsewhere_or_without_one(
    installed: Path, tmp_path: Path
) -> None:
    temporary, work = tmp_path / "tmp", tmp_path / "work"
    temporary.mkdir()
    work.mkdir()
    machine = {
        "PATH": os.environ["PATH"], "HOME": "/dev/null", "PYTHONPATH": str(installed), "TMPDIR": str(temporary),
    }  # fmt: skip
    own = temporary / f"solarsim-{os.getuid()}"

    def done(*words: str) -> Done:
        found = command(*words, env=machine, cwd=work)
        assert found.returncode == 0, found.stderr
        return found

    first, second = (done("flows", "--month", "1", "--plot", name) for name in ("a.svg", "b.svg"))
    assert f"compiling the engine for this machine (once; it is kept in {own}; a few seconds)" in first.stderr
    assert first.stderr.count("\n") == 2
    assert second.stderr.count("\n") == 1, "that it is the demo; nothing is compiled, no font is looked for"
    assert first.stdout.replace("a.svg", "") == second.stdout.replace("b.svg", "")
    assert own.stat().st_mode & 0o077 == 0
    assert [each.name for each in temporary.iterdir()] == [own.name]

    shutil.rmtree(own)
    own.touch()  # somebody else's
    third = done("flows")
    assert "(in every run, since no folder can be written to keep it; NUMBA_CACHE_DIR names one; a f" in third.stderr
    assert third.stderr.count("\n") == 2
    assert third.stdout.splitlines() == [line for line in first.stdout.splitlines() if "a.svg" not in line]


# --- workers of the real command


@pytest.fixture
def lifetimes(tmp_path: Path) -> Iterator["subprocess.Popen[str]"]:
    """Start risk on two processes."""
    spread = {"uncertainty": {"lifetimes": 40, "seed": 1, "weather_standard_deviation": 0.05}}
    write_home(tmp_path / "home.toml", costs=COSTS, life=STILL | {"years": 4} | spread)
    process = start("risk", "home.toml", "--json", "--workers", "2", cwd=tmp_path)
    yield process
    if process.poll() is None:
        process.kill()
        process.communicate()


def workers_of(process: "subprocess.Popen[str]") -> list[int]:
    """Return the numbers of a process's workers that live: imports start other programs for a moment (uname)."""
    found = []
    for folder in Path("/proc").iterdir():
        try:
            fields = (folder / "stat").read_text().rpartition(")")[2].split() if folder.name.isdecimal() else []
            if (
                fields
                and int(fields[1]) == process.pid
                and b"_workers import serve" in (folder / "cmdline").read_bytes()
            ):
                found.append(int(folder.name))  # one that has ended has no command line
        except OSError:
            continue
    return found


def first_workers(process: "subprocess.Popen[str]", count: int) -> list[int]:
    found: list[int] = []

    def are_there() -> bool:
        found[:] = workers_of(process)
        return len(found) >= count or process.poll() is not None

    assert eventually(are_there, TIMEOUT_S)
    return found


def kill(processes: list[int]) -> None:
    for each in processes:
        try:
            os.kill(each, signal.SIGKILL)
        except ProcessLookupError:  # it has ended by itself
            continue


@pytest.mark.slow
@pytest.mark.parametrize("after_s", [0.0, 1.0])
def test_lost_workers_change_no_answer(lifetimes: "subprocess.Popen[str]", tmp_path: Path, after_s: float) -> None:
    workers = first_workers(lifetimes, 1 if after_s == 0 else 2)
    time.sleep(after_s)
    kill(workers)
    done = ended(lifetimes)
    assert (done.returncode, done.stderr) == (0, "")
    alone = run("risk", "home.toml", "--json", "--workers", "1", folder=tmp_path)
    assert done.stdout == alone.stdout


@pytest.mark.slow
def test_workers_that_are_always_killed_end_the_command_in_one_line(lifetimes: "subprocess.Popen[str]") -> None:
    while lifetimes.poll() is None:
        kill(workers_of(lifetimes))
        time.sleep(0.01)
    one_line(ended(lifetimes), 2, "worker process ended by SIGKILL, 3 times in turn; fewer workers need less memory")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "after_s"), [(signal.SIGINT, 0.0), (signal.SIGTERM, 0.7), (signal.SIGKILL, 0.0), (signal.SIGKILL, 0.7)]
)
def test_workers_end_with_the_command(lifetimes: "subprocess.Popen[str]", kind: signal.Signals, after_s: float) -> None:
    first_workers(lifetimes, 1)
    time.sleep(after_s)
    workers = workers_of(lifetimes)
    lifetimes.send_signal(kind)
    done = ended(lifetimes)
    if kind is signal.SIGKILL:
        assert (done.returncode, done.stderr) == (-kind, "")
    else:
        one_line(done, 128 + kind, "stopped")
    assert eventually(lambda: not any(map(lives, workers)))
