"""``fleet`` when the machine fails: workers killed, Ctrl-C, the command itself killed, a full disk."""

import os
import resource
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from solarsim.studies.fleet._store import folder_of
from tests.cli.command import process
from tests.studies.fleet.homes import some_homes, write_base, write_homes
from tests.studies.test_workers import eventually, lives, within

pytestmark = pytest.mark.slow
HOMES = 60
WORDS = ("fleet", "homes.csv", "--label", "feeder", "--workers", "2", "--out")
#: One process, which is sooner there; the result does not depend on it.
ALONE = tuple("1" if word == "2" else word for word in WORDS)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    found = tmp_path_factory.mktemp("failures")
    write_base(found)
    write_homes(found / "homes.csv", some_homes(HOMES))
    return found


@pytest.fixture(scope="module")
def whole(folder: Path) -> bytes:
    done = process(*ALONE, "whole.parquet", folder=folder)
    assert done.returncode == 0, done.stderr
    return (folder / "whole.parquet").read_bytes()


def children(parent: int) -> list[int]:
    """Return the processes that a process started, and those that they started."""
    found = []
    for entry in Path("/proc").iterdir():
        try:
            if entry.name.isdecimal() and int((entry / "stat").read_text().rpartition(")")[2].split()[1]) == parent:
                found += [int(entry.name), *children(int(entry.name))]
        except OSError:
            continue
    return found


def at_work(parent: int) -> list[int]:
    """Return the workers of a command: its processes that have loaded numbers."""
    return [each for each in children(parent) if "numpy" in maps(each)]


def maps(process_id: int) -> str:
    try:
        return Path(f"/proc/{process_id}/maps").read_text()
    except OSError:
        return ""


def start(folder: Path, *words: str) -> "subprocess.Popen[str]":
    """Start a fleet; temporary files of a command that is killed stay in the test's own folder."""
    command = [sys.executable, "-m", "solarsim", *WORDS, *words]
    environment = os.environ | {"TMPDIR": str(folder)}
    return subprocess.Popen(
        command,
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env=environment,
    )


def some_are_done(folder: Path, out: str) -> bool:
    unfinished = folder_of(folder / out)
    return unfinished.is_dir() and len(list(unfinished.glob("homes-*.parquet"))) >= 2


def test_a_worker_that_is_killed_changes_nothing(folder: Path, whole: bytes) -> None:
    with within(110), start(folder, "killed.parquet") as command:
        assert eventually(lambda: some_are_done(folder, "killed.parquet"), 60)
        os.kill(at_work(command.pid)[0], signal.SIGKILL)
        _, told = command.communicate(timeout=90)
    assert (command.returncode, told) == (0, "solarsim: written: killed.parquet\n")
    assert (folder / "killed.parquet").read_bytes() == whole


def test_a_stopped_command_ends_its_workers_and_is_resumed(folder: Path, whole: bytes) -> None:
    """The signal goes to the whole group, as Ctrl-C on a terminal does."""
    out = "stopped.parquet"
    with within(110), start(folder, out) as command:
        assert eventually(lambda: some_are_done(folder, out), 60)
        workers = children(command.pid)
        os.killpg(command.pid, signal.SIGINT)
        _, told = command.communicate(timeout=30)
    assert (command.returncode, told) == (130, "solarsim: stopped\n")
    assert eventually(lambda: not any(map(lives, workers)))
    assert not (folder / out).exists()
    refused = process(*WORDS, out, folder=folder)
    assert (refused.returncode, "--resume goes on" in refused.stderr) == (2, True)
    resumed = process(*ALONE, out, "--resume", folder=folder)
    assert resumed.returncode == 0, resumed.stderr
    assert (folder / out).read_bytes() == whole


def test_ctrl_c_while_workers_are_started_is_heard_when_they_can_be_ended(folder: Path) -> None:
    with within(110), start(folder, "early.parquet") as command:
        assert eventually(lambda: len(children(command.pid)) >= 2, 60)
        workers = children(command.pid)
        os.killpg(command.pid, signal.SIGINT)
        _, told = command.communicate(timeout=60)
    assert (command.returncode, told) == (130, "solarsim: stopped\n")
    assert eventually(lambda: not any(map(lives, workers)))
    assert not list(folder.glob("early.parquet*"))


def test_a_command_that_is_killed_leaves_no_worker_and_is_resumed(folder: Path, whole: bytes) -> None:
    with within(110), start(folder, "gone.parquet") as command:
        assert eventually(lambda: some_are_done(folder, "gone.parquet"), 60)
        workers = children(command.pid)
        command.kill()
        command.communicate(timeout=30)
    assert workers
    assert eventually(lambda: not any(map(lives, workers)))
    resumed = process(*ALONE, "gone.parquet", "--resume", folder=folder)
    assert resumed.returncode == 0, resumed.stderr
    assert (folder / "gone.parquet").read_bytes() == whole


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """Mount a disk of a megabyte; where that is not allowed, there is none."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["/bin/mount", "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(disk)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("no disk can be mounted here")
    yield disk
    subprocess.run(["/bin/umount", str(disk)], check=True)


def test_a_full_disk_is_one_line_and_is_resumed_when_there_is_room(
    folder: Path, whole: bytes, small_disk: Path
) -> None:
    out, filler = small_disk / "full.parquet", small_disk / "filler"
    filler.write_bytes(bytes(2**20 - 2**15))
    done = process(*ALONE, str(out), folder=folder)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
    assert "cannot be written: No space left on device" in done.stderr
    assert not out.exists()
    filler.unlink()
    again = process(*ALONE, str(out), "--resume" if folder_of(out).exists() else "--force", folder=folder)
    assert again.returncode == 0, again.stderr
    assert out.read_bytes() == whole


def test_a_limit_on_files_is_one_line(folder: Path, tmp_path: Path) -> None:
    """As a quota: no file of this process may be longer than 8 kB."""

    def limit() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (8192, 8192))

    command = [sys.executable, "-m", "solarsim", "fleet", str(folder / "homes.csv"), "--label", "feeder"]
    done = subprocess.run(
        [*command, "--workers", "1", "--out", "r.parquet"], cwd=tmp_path, capture_output=True, text=True, timeout=100,
        preexec_fn=limit, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.count("\n") == 1
    assert "cannot be written: File too large" in done.stderr
    assert list(tmp_path.iterdir()) == []
