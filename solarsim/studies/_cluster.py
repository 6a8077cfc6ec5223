"""Work on a Dask cluster: a task and items in; answers, in the order in which they are ready, out.

- A worker that is killed is replaced by the cluster, and what it was doing is done again elsewhere.
- Where the connection to the scheduler is cut, a new one is tried for two minutes; what was lost is asked again.
- Items are drawn as workers become free, so that memory does not grow with their number.
- The processes of a cluster of this machine end with this one, however it ends. Ctrl-C reaches this process alone.
"""

import pickle
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, suppress
from importlib import import_module
from multiprocessing import resource_tracker
from tempfile import TemporaryDirectory
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self, TypeVar
from warnings import catch_warnings

from solarsim.errors import MachineError
from solarsim.parquet import check_installed
from solarsim.studies._signals import signals_blocked, signals_later

if TYPE_CHECKING:
    from distributed import Client, Future, LocalCluster

Item = TypeVar("Item")
Answer = TypeVar("Answer")

_AHEAD = 2  # items that wait on each worker beside the one that it does
_CUT_S = 120.0  # how long a lost scheduler, or one without workers, is waited for
_LOOK_S = 1.0
_CONNECT_S = 5.0
_LOGGERS = ("distributed", "distributed.client", "distributed.gc", "tornado", "tornado.application")
_QUIET = {
    "distributed.worker.memory.target": False,
    "distributed.worker.memory.spill": False,
    "distributed.worker.memory.pause": False,
    "distributed.worker.memory.terminate": False,
    "distributed.admin.tick.interval": "5s",
    "distributed.worker.profile.enabled": False,
    "distributed.comm.timeouts.connect": "10s",
    "distributed.nanny.pre-spawn-environ": {
        "DASK_DISTRIBUTED__LOGGING": repr(dict.fromkeys(_LOGGERS, "critical")),
        # A year's arrays are made and dropped all the time: kept in the heap, they cost a third less processor time.
        "MALLOC_TRIM_THRESHOLD_": str(16 * 2**20),
        "MALLOC_MMAP_THRESHOLD_": str(8 * 2**20),
        "MALLOC_ARENA_MAX": "1",
        **dict.fromkeys(("OMP_NUM_THREADS", "MKL_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1"),
    },
}


class Cluster:
    """A cluster of this machine, or a running one.

    Parameters
    ----------
    workers : int
        Processes on this machine, where no scheduler is named.
    scheduler : str, optional
        Address of a running scheduler, for example ``tcp://192.0.2.7:8786``.

    Raises
    ------
    MachineError
        The extra ``fleet`` is not installed.
    """

    def __init__(self, workers: int, scheduler: str | None = None) -> None:
        check_installed()
        self._asked, self._address = workers, scheduler
        self._client: Client | None = None
        self._shared: Future[Any] | None = None
        self._open = ExitStack()

    def __enter__(self) -> Self:
        """Start the cluster, or connect."""
        import dask.config
        import distributed  # noqa: F401  # its own settings are there before ours are laid over them

        self._open.enter_context(dask.config.set(_QUIET))
        _silence()
        try:
            if self._address is None:
                self._start()
            else:
                self._connect(self._address, _CONNECT_S)
                self._check_workers()
        except BaseException:
            self._open.close()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Leave a running cluster; end one of this machine."""
        self._open.close()

    @property
    def workers(self) -> int:
        """Number of threads of work that the cluster has now; at least 1."""
        client = self._client
        known = {} if client is None else client.scheduler_info(n_workers=-1).get("workers", {})
        return max(1, sum(int(each["nthreads"]) for each in known.values()))

    def answers(
        self, task: Callable[..., Answer], items: Iterator[Item], shared: bytes | None = None
    ) -> Iterator[tuple[Item, Answer]]:
        """Do a task on every item.

        Parameters
        ----------
        task : callable
            ``task(item)``, or ``task(shared, item)``: a function of a module, or a ``functools.partial`` of one.
        items : iterator
            Each is small, a few kilobytes.
        shared : bytes, optional
            A pickled object that every item needs; it reaches each worker once.

        Yields
        ------
        tuple
            An item with its answer, in the order in which they are ready.

        Raises
        ------
        MachineError
            A task has ended several workers in turn; the scheduler cannot be reached, or has had no workers for two
            minutes.
        """
        asked: dict[Future[Any], Item] = {}
        lost: list[Item] = []
        ended, since = False, time.monotonic()
        try:
            while True:
                while not ended and len(asked) < self._room():
                    try:
                        item = lost.pop() if lost else next(items)
                    except StopIteration:
                        ended = True
                        break
                    asked[self._submit(task, item, shared)] = item
                if not asked:
                    return
                for future in self._ready(asked):
                    since = time.monotonic()
                    item = asked.pop(future)
                    found = _outcome(future)
                    if found is _LOST:
                        lost.append(item)
                        ended = False
                    else:
                        future.release()
                        yield item, found
                if not self._connected():
                    lost += asked.values()
                    asked.clear()
                    ended = False
                    self._again()
                    since = time.monotonic()
                if time.monotonic() - since > _CUT_S and not self._has_workers():
                    raise MachineError(f"scheduler {self._address}: has had no workers for {_CUT_S:.0f} s")
        finally:
            with suppress(Exception):
                self._known.cancel(list(asked), force=True)

    def _submit(self, task: Callable[..., Answer], item: Item, shared: bytes | None) -> "Future[Any]":
        if shared is None:
            return self._known.submit(task, item, pure=False)
        if self._shared is None:
            self._shared = self._known.submit(pickle.loads, shared, pure=False)  # of the user's own cluster
        return self._known.submit(task, self._shared, item, pure=False)

    def _room(self) -> int:
        return (1 + _AHEAD) * self.workers

    @property
    def _known(self) -> "Client":
        if self._client is None:
            raise MachineError("the cluster is not there")
        return self._client

    def _ready(self, asked: "dict[Future[Any], Item]") -> "list[Future[Any]]":
        """Return the futures that are done, after a second at most."""
        from distributed import wait

        with suppress(*_cancelled()), self._known.as_current():
            wait(list(asked), timeout=_LOOK_S, return_when="FIRST_COMPLETED")
        return [future for future in asked if future.status != "pending"]

    def _connected(self) -> bool:
        return self._client is not None and self._client.status == "running"

    def _has_workers(self) -> bool:
        return bool(self._known.scheduler_info(n_workers=-1).get("workers"))

    def _start(self) -> None:
        """Start a cluster of this machine; its processes do not hear Ctrl-C, and end with this one."""
        import dask.config
        from distributed.utils import LoopRunner

        folder = self._open.enter_context(TemporaryDirectory(prefix="solarsim-fleet-", ignore_cleanup_errors=True))
        self._open.enter_context(dask.config.set({"temporary-directory": folder}))
        with catch_warnings(action="ignore"):  # where somebody ended the one before, it says so
            resource_tracker.ensure_running()  # starting it unblocks signals, so it must be there before they are held
        runner = LoopRunner(asynchronous=False)
        with signals_blocked("SIGINT", "SIGHUP"):  # not those by which the cluster ends its processes
            runner.start()
        self._open.callback(runner.stop)
        with signals_later("SIGINT", "SIGHUP", "SIGTERM"):  # a half-started cluster could not be ended
            self._connect(self._started(runner.loop, folder), 2 * _CONNECT_S)

    def _started(self, loop: Any, folder: str) -> str:
        """Start scheduler and workers; return the address. No frame keeps them: they go when they are closed."""
        from distributed import LocalCluster

        try:
            cluster = LocalCluster(
                n_workers=self._asked,
                threads_per_worker=1,
                host="127.0.0.1",
                dashboard_address=None,
                memory_limit=0,
                local_directory=folder,
                silence_logs=False,
                loop=loop,
            )
        except RuntimeError as error:
            raise MachineError(
                f"workers cannot be started ({_short(error)}); a script that starts them needs"
                " if __name__ == '__main__':"
            ) from None
        self._open.callback(lambda: _end(cluster))
        return str(cluster.scheduler_address)

    def _connect(self, address: str, seconds: float) -> None:
        from distributed import Client

        try:
            client = Client(address, timeout=seconds, set_as_default=False)
        except (OSError, TimeoutError, ValueError, KeyError) as error:  # the last: no such kind of address
            raise MachineError(f"scheduler {address}: cannot be reached: {_short(error)}") from None
        self._client = client
        self._open.callback(lambda: _close(client))

    def _again(self) -> None:
        """Connect once more to a scheduler that was lost."""
        if self._client is not None:
            _close(self._client)
            self._client = self._shared = None
        if self._address is None:
            raise MachineError("the cluster of this machine has ended")
        end = time.monotonic() + _CUT_S
        while True:
            try:
                return self._connect(self._address, _CONNECT_S)
            except MachineError:
                if time.monotonic() > end:
                    raise
                time.sleep(_LOOK_S)

    def _check_workers(self) -> None:
        """Refuse a cluster without workers, or with another version of solarsim."""
        client, own = self._known, version_here()
        try:
            client.wait_for_workers(1, timeout=2 * _CONNECT_S)
        except TimeoutError:
            raise MachineError(
                f"scheduler {self._address}: has no workers; start some with: dask worker ADDRESS"
            ) from None
        try:
            versions = client.run(version_here, on_error="return")
        except Exception as error:
            raise MachineError(f"scheduler {self._address}: its workers cannot run solarsim: {_short(error)}") from None
        for address, found in versions.items():
            if isinstance(found, BaseException):
                raise MachineError(f"worker {address}: cannot run solarsim: {_short(found)}")
            if found != own:
                raise MachineError(f"worker {address}: has solarsim {found}, must have {own}")


def version_here() -> str:
    """Return the version of solarsim in this process."""
    return str(import_module("solarsim").__version__)


_LOST = object()


def _outcome(future: "Future[Any]") -> Any:
    """Return a future's result; ``_LOST`` where it must be asked again."""
    from distributed.scheduler import KilledWorker

    if future.status in ("cancelled", "lost"):
        return _LOST
    try:
        return future.result(timeout=_CONNECT_S * 6)
    except KilledWorker:
        raise MachineError(
            "a worker process was ended again and again over one task; is there enough memory?"
        ) from None
    except _cancelled():
        return _LOST


def _cancelled() -> tuple[type[BaseException], ...]:
    """Return how the library says that a future is no more, or cannot be brought here."""
    import asyncio
    import concurrent.futures

    return OSError, TimeoutError, asyncio.CancelledError, concurrent.futures.CancelledError


def _end(cluster: "LocalCluster") -> None:
    """End a cluster of this machine; a worker that is being replaced cannot be joined: it ends with its parent."""
    with suppress(Exception):
        cluster.close(timeout=_CONNECT_S)


def _close(client: "Client") -> None:
    """Close a client, whether its scheduler is there or not."""
    with suppress(Exception):
        client.close(timeout=_CONNECT_S)


def _short(error: BaseException) -> str:
    return " ".join(str(error).split())[:200] or type(error).__name__


def _silence() -> None:
    """Keep the cluster's own messages off the screen: what matters is told by this module."""
    import logging
    import warnings

    for name in (*_LOGGERS, "asyncio"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    warnings.filterwarnings("ignore", module="distributed")
