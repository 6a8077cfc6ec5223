"""A Dask cluster of this machine or a running one: answers, lost workers, cut connections. Loopback addresses only."""

import os
import select
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path

import pytest

from solarsim.errors import MachineError
from solarsim.home import Home
from solarsim.studies import _cluster
from solarsim.studies._cluster import Cluster
from solarsim.studies._on_cluster import OnCluster
from solarsim.studies.risk.risk import risk
from solarsim.studies.size.size import size
from tests.studies import tasks
from tests.studies.fleet import failing
from tests.studies.test_workers import eventually, lives, within

pytestmark = pytest.mark.slow
NUMBERS = range(40)


def test_answers_of_a_cluster_of_this_machine_and_nothing_is_left() -> None:
    with within(60), Cluster(2) as cluster:
        assert cluster.workers == 2
        found = dict(cluster.answers(failing.triple, iter(NUMBERS)))
        assert found == {number: 3 * number for number in NUMBERS}
        processes = {answer for _, answer in cluster.answers(failing.process, iter(NUMBERS))}
        assert len(processes) == 2
        assert os.getpid() not in processes
    assert eventually(lambda: not any(map(lives, processes)))


def test_items_of_a_killed_worker_are_done_again(tmp_path: Path) -> None:
    with within(90), Cluster(2) as cluster:
        found = dict(cluster.answers(partial(failing.die_once, str(tmp_path)), iter(NUMBERS)))
    assert found == {number: number for number in NUMBERS}
    assert {path.name for path in tmp_path.iterdir()} == {"3", "20"}


def test_a_task_that_ends_every_worker_ends_the_work_in_one_line() -> None:
    with within(90), Cluster(2) as cluster, pytest.raises(MachineError, match="a worker process was ended again"):
        list(cluster.answers(failing.die, iter([1])))


def test_an_exception_of_a_task_is_raised_here() -> None:
    with within(60), Cluster(1) as cluster, pytest.raises(ValueError, match="number 5 is odd"):
        list(cluster.answers(failing.fail, iter([5])))


def test_items_are_drawn_as_workers_become_free() -> None:
    drawn = []

    def items() -> Iterator[int]:
        for number in range(100):
            drawn.append(number)
            yield number

    with within(60), Cluster(1) as cluster:
        next(iter(cluster.answers(failing.slowly, items())))
    assert len(drawn) < 10


@contextmanager
def running(workers: int, python: str = sys.executable) -> Iterator[tuple[str, list["subprocess.Popen[bytes]"]]]:
    """Start a scheduler and workers as a user does, as processes of their own; yield the address and the workers."""
    port = free_port()
    address = f"tcp://127.0.0.1:{port}"
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    quiet = {"env": environment, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    words = ["scheduler", "--host", "127.0.0.1", "--port", str(port), "--no-dashboard"]
    started = [subprocess.Popen([python, "-m", "dask", *words], **quiet)]  # type: ignore[call-overload]
    try:
        for _ in range(workers):
            more = ["worker", address, "--nthreads", "1", "--no-dashboard", "--no-nanny", "--host", "127.0.0.1"]
            started.append(subprocess.Popen([python, "-m", "dask", *more], **quiet))  # type: ignore[call-overload]
        yield address, started[1:]
    finally:
        for each in started:
            each.kill()
        for each in started:
            each.wait(10)


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def test_running_cluster_answers_loses_a_worker_and_stays() -> None:
    with within(120), running(2) as (address, workers):
        with eventual_cluster(address) as cluster:
            assert eventually(lambda: cluster.workers == 2)
            answers = cluster.answers(failing.slowly, iter(range(100)))
            found = [next(answers) for _ in range(10)]
            workers[0].send_signal(signal.SIGKILL)
            found += answers
            assert dict(found) == {number: 3 * number for number in range(100)}
        with Cluster(1, address) as cluster:
            assert dict(cluster.answers(failing.triple, iter([1]))) == {1: 3}
        assert workers[1].poll() is None


class Relay:
    """A wire between client and scheduler that can be cut and mended."""

    def __init__(self, port: int) -> None:
        self._to = port
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = self._listener.getsockname()[1]
        self._pairs: list[tuple[socket.socket, socket.socket]] = []
        self.cut = False
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self._listener.accept()
            except OSError:
                return
            if self.cut:
                near.close()
                continue
            try:
                far = socket.create_connection(("127.0.0.1", self._to))
            except OSError:  # the scheduler is not there yet
                near.close()
                continue
            self._pairs.append((near, far))
            threading.Thread(target=self._pass, args=(near, far), daemon=True).start()

    def __enter__(self) -> "Relay":
        """Relay already."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close everything."""
        self.break_wire()
        self._listener.close()

    def _pass(self, near: socket.socket, far: socket.socket) -> None:
        with suppress(OSError, ValueError):
            while True:
                for ready in select.select([near, far], [], [])[0]:
                    data = ready.recv(65536)
                    if not data:
                        raise OSError
                    (far if ready is near else near).sendall(data)
        for each in (near, far):
            each.close()

    def break_wire(self) -> None:
        """Cut what is connected, and refuse what comes until it is mended."""
        self.cut = True
        pairs, self._pairs = self._pairs, []
        for pair in pairs:
            for each in pair:
                with suppress(OSError):
                    each.shutdown(socket.SHUT_RDWR)


def test_a_connection_that_is_cut_for_a_while_loses_nothing() -> None:
    with within(180), running(1) as (address, _), Relay(int(address.rpartition(":")[2])) as relay:
        with eventual_cluster(f"tcp://127.0.0.1:{relay.port}") as cluster:
            answers = cluster.answers(failing.slowly, iter(range(60)))
            found = [next(answers) for _ in range(5)]
            relay.break_wire()
            threading.Timer(4.0, lambda: setattr(relay, "cut", False)).start()
            found += answers
        assert dict(found) == {number: 3 * number for number in range(60)}


@contextmanager
def eventual_cluster(address: str) -> Iterator[Cluster]:
    """Connect as soon as the scheduler is there."""
    end = time.monotonic() + 30
    while True:
        try:
            cluster = Cluster(1, address)
            cluster.__enter__()
            break
        except MachineError:
            if time.monotonic() > end:
                raise
    try:
        yield cluster
    finally:
        cluster.__exit__(None, None, None)


def test_a_scheduler_that_does_not_come_back_is_told_in_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(_cluster, "_CUT_S", 2.0)
    with (
        within(120),
        running(1) as (address, _),
        Relay(int(address.rpartition(":")[2])) as relay,
        eventual_cluster(f"tcp://127.0.0.1:{relay.port}") as cluster,
    ):
        answers = cluster.answers(failing.slowly, iter(range(60)))
        next(answers)
        relay.break_wire()
        with pytest.raises(MachineError, match=r"scheduler tcp://127\.0\.0\.1:\d+: cannot be reached"):
            list(answers)


def test_a_cluster_without_workers_or_with_another_version_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(_cluster, "_CONNECT_S", 3.0)
    with within(120), running(0) as (address, _):
        assert eventually(lambda: listens(address))
        with pytest.raises(MachineError, match="has no workers; start some with: dask worker"):
            Cluster(1, address).__enter__()
    monkeypatch.setattr(_cluster, "_CONNECT_S", 15.0)
    monkeypatch.setattr(_cluster, "version_here", Version("9.9"))
    with within(120), running(1) as (address, _):
        assert eventually(lambda: listens(address))
        with pytest.raises(MachineError, match=r"has solarsim 0\.2\.0, must have 9\.9"):
            Cluster(1, address).__enter__()


def listens(address: str) -> bool:
    """Return whether anything takes connections there."""
    try:
        socket.create_connection(("127.0.0.1", int(address.rpartition(":")[2]))).close()
    except OSError:
        return False
    return True


class Version:
    """Another version here than on the workers, which know only the real one."""

    def __init__(self, version: str) -> None:
        self._version = version

    def __call__(self) -> str:
        """Return the version."""
        return self._version

    def __reduce__(self) -> tuple[object, ...]:
        return (getattr, (_cluster, "version_here"))


def test_workers_on_a_cluster_answer_in_order_with_what_is_shared() -> None:
    told: list[tuple[int, int]] = []
    with within(120), running(2) as (address, _):
        assert eventually(lambda: listens(address))
        with OnCluster(tasks.double_slowly, 3, address) as several:
            assert several.map(list(NUMBERS), chunk=7, progress=lambda done, of: told.append((done, of))) == [
                3 * number for number in NUMBERS
            ]
            assert several.map([]) == []
            assert several.map([1]) == [3]
    assert sorted(told)[-1] == (40, 40)


def test_risk_and_size_give_the_same_answer_on_a_cluster(demo_home: Home) -> None:
    scenario = demo_home.scenario
    axes = {"battery.bank.0.strings": [1, 2]}
    with within(300), running(2) as (address, _):
        assert eventually(lambda: listens(address))
        there = risk(scenario, home=demo_home, lifetimes=10, seed=5, scheduler=address)
        sized = size(scenario, axes, demo_home, scheduler=address)
    assert there.record() == risk(scenario, home=demo_home, lifetimes=10, seed=5).record()
    assert sized.record() == size(scenario, axes, demo_home).record()
