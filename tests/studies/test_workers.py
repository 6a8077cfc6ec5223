"""Worker processes: the same answers by any number of them, whatever happens to them."""

import importlib
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from solarsim.errors import MachineError
from solarsim.studies._workers import Workers
from tests.studies import tasks

ITEMS = list(range(40))


@contextmanager
def within(seconds: float) -> Iterator[None]:
    """Fail where the block takes longer: a lost worker must not hang."""
    start = time.monotonic()
    yield
    assert time.monotonic() - start < seconds


def eventually(condition: Callable[[], bool], seconds: float = 20.0) -> bool:
    """Return whether a condition holds at some moment before the time is over: it may not hold for long."""
    end = time.monotonic() + seconds
    while not (holds := condition()) and time.monotonic() < end:
        time.sleep(0.02)
    return holds


def lives(process: int) -> bool:
    """Return whether a process runs; one that has ended and was not waited for does not."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def children_of(process: int) -> set[int]:
    folders = Path(f"/proc/{process}/task").iterdir()
    return {int(each) for folder in folders for each in (folder / "children").read_text().split()}


def test_answers_are_in_the_order_of_the_items_whatever_the_number_of_workers() -> None:
    expected = [3 * item for item in ITEMS]
    told: list[tuple[int, int]] = []
    for workers in (1, 3):
        with Workers(tasks.double_slowly, 3, workers) as pool:
            assert pool.map(ITEMS, chunk=7, progress=lambda done, of: told.append((done, of))) == expected
            assert pool.map([], chunk=7) == []
            assert pool.map([1]) == [3]
    assert told == [(7, 40), (14, 40), (21, 40), (28, 40), (35, 40), (40, 40)] * 2


def test_workers_are_kept_from_one_map_to_the_next_and_are_gone_in_the_end() -> None:
    with Workers(tasks.pid, 0, workers=2) as pool:
        first, second = (set(pool.map(ITEMS[:8], chunk=1)) for _ in range(2))
        assert first == second
        assert len(first) == 2
        assert os.getpid() not in first
        assert all(map(lives, first))
    assert not any(map(lives, first))


def test_what_a_task_prints_is_no_answer(capfd: pytest.CaptureFixture[str]) -> None:
    with Workers(tasks.double, 2, workers=2) as pool:
        assert pool.map(ITEMS[:4], chunk=2) == [0, 2, 4, 6]
    assert capfd.readouterr() == ("", "")


def test_items_of_a_worker_that_is_killed_are_done_again(tmp_path: Path) -> None:
    with within(60), Workers(tasks.die_once, str(tmp_path), workers=2) as pool:
        assert pool.map(ITEMS, chunk=4) == ITEMS
    assert {path.name for path in tmp_path.iterdir()} == {"3", "20"}


def test_worker_that_is_killed_while_it_receives_what_is_shared_is_replaced(tmp_path: Path) -> None:
    """The job is larger than a pipe holds: writing it to a process that has ended must not block."""
    with within(60), Workers(tasks.length, tasks.Large(str(tmp_path / "mark")), workers=2) as pool:
        assert pool.map([1, 2, 3], chunk=1) == [3_000_001, 3_000_002, 3_000_003]
    assert (tmp_path / "mark").exists()


def test_idle_worker_that_is_killed_is_replaced() -> None:
    with within(60), Workers(tasks.pid, 0, workers=2) as pool:
        for process in set(pool.map(ITEMS[:4], chunk=1)):
            os.kill(process, signal.SIGKILL)
        assert len(pool.map(ITEMS[:4], chunk=1)) == 4


def two_workers(task: Callable[[Any, int], Any], shared: object, chunk: int) -> list[Any]:
    with Workers(task, shared, workers=2) as pool:
        return pool.map(ITEMS, chunk)


def test_work_that_ends_its_workers_again_and_again_says_so() -> None:
    with within(60), pytest.raises(MachineError, match=r"worker process ended by SIGKILL, 3 times in turn; fewer"):
        two_workers(tasks.die, 0, chunk=4)
    with within(60), pytest.raises(MachineError, match="worker process ended with exit code 7, 3 times"):
        two_workers(tasks.leave, 7, chunk=20)


def test_workers_start_while_what_is_shared_is_made() -> None:
    with within(60), Workers.while_making(tasks.pid, lambda: 0, workers=2) as pool:
        assert pool.shared == 0
        started = children_of(os.getpid())
        assert set(pool.map(ITEMS, chunk=1)) == started
    assert not any(map(lives, started))


def test_workers_end_where_nothing_can_be_shared() -> None:
    started: set[int] = set()

    def fails() -> int:
        started.update(children_of(os.getpid()))
        return 1 // 0

    before = children_of(os.getpid())
    with pytest.raises(ZeroDivisionError):
        Workers.while_making(tasks.double, fails, workers=2)
    assert len(started - before) == 2
    assert not any(map(lives, started - before))


def test_module_that_fails_in_a_worker_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Its own error reaches the caller, and costs no further workers."""
    check = f"import os\nif os.getppid() == {os.getpid()}:\n    raise LookupError('no sky here')\n"
    (tmp_path / "only_in_the_parent.py").write_text(check + "def task(shared, item):\n    return item\n")
    monkeypatch.syspath_prepend(tmp_path)
    task = importlib.import_module("only_in_the_parent").task
    with within(60), pytest.raises(LookupError, match="no sky here"):
        two_workers(task, 0, chunk=20)


def test_machine_without_room_for_a_process_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(sys, "executable", str(tmp_path / "missing"))
    with pytest.raises(MachineError, match="worker process cannot be started: No such file or directory, 3 times"):
        two_workers(tasks.double, 2, chunk=20)
    with pytest.raises(MachineError, match="cannot be started"), Workers.while_making(tasks.double, int, 2) as pool:
        pool.map(ITEMS, chunk=2)


def test_exception_of_a_task_is_raised_here() -> None:
    with within(60), pytest.raises(ValueError, match="item 5 is odd") as caught:
        two_workers(tasks.fail, 0, chunk=2)
    assert "in a worker process" in caught.value.__notes__[0]
    with pytest.raises(RuntimeError, match="_OddError: "):
        two_workers(tasks.fail_oddly, 0, chunk=20)


def test_work_that_is_stopped_ends_its_workers_at_once(tmp_path: Path) -> None:
    """Ctrl-C, here raised by the thread that would show progress."""

    def interrupt() -> None:
        assert eventually(lambda: len(list(tmp_path.iterdir())) == 2)
        signal.pthread_kill(threading.main_thread().ident or 0, signal.SIGINT)

    thread = threading.Thread(target=interrupt)
    thread.start()
    with within(30), pytest.raises(KeyboardInterrupt), Workers(tasks.wait_long, str(tmp_path), workers=2) as pool:
        pool.map(ITEMS, chunk=20)
    thread.join()
    assert not any(lives(int(path.name)) for path in tmp_path.iterdir())


@pytest.mark.parametrize("kind", [signal.SIGTERM, signal.SIGKILL])
def test_workers_end_with_their_parent(tmp_path: Path, kind: signal.Signals) -> None:
    script = f"""
from solarsim.studies._workers import Workers, _Worker
from tests.studies import tasks
with Workers(tasks.wait_long, {str(tmp_path)!r}, workers=2) as pool:
    pool.map(list(range(4)), chunk=2)
"""
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    with subprocess.Popen([sys.executable, "-c", script], env=environment) as parent:
        assert eventually(lambda: len(list(tmp_path.iterdir())) == 2)
        parent.send_signal(kind)
        parent.wait(20)
    workers = [int(path.name) for path in tmp_path.iterdir()]
    assert eventually(lambda: not any(map(lives, workers)))
