"""Workers of a running cluster in place of own processes: the same interface, the same answers."""

import pickle
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from types import TracebackType
from typing import Any, Self, TypeVar

from solarsim.studies._cluster import Cluster
from solarsim.studies._workers import Progress, Workers

Shared = TypeVar("Shared")
Item = TypeVar("Item")
Answer = TypeVar("Answer")


class OnCluster(Workers[Shared, Item, Answer]):
    """``Workers`` whose processes are those of a cluster; what is shared reaches each of them once.

    Parameters
    ----------
    task, shared
        As for ``Workers``.
    scheduler : str
        Address of a running Dask scheduler.
    """

    def __init__(self, task: Callable[[Shared, Item], Answer], shared: Shared, scheduler: str) -> None:
        super().__init__(task, shared, workers=1)
        self._cluster = Cluster(1, scheduler)

    def map(self, items: Sequence[Item], chunk: int = 16, progress: Progress | None = None) -> list[Answer]:
        """Do the task on every item; see ``Workers.map``.

        Parameters
        ----------
        items, chunk, progress
            As there.

        Returns
        -------
        list
            An answer for each item, in their order.

        Raises
        ------
        MachineError
            See ``Cluster.answers``.
        """
        self._job = self._job or pickle.dumps(self._shared)
        chunks: Iterator[tuple[int, Sequence[Item]]] = (
            (first, items[first : first + chunk]) for first in range(0, len(items), chunk)
        )
        found: dict[int, list[Answer]] = {}
        done = 0
        for (first, some), answers in self._cluster.answers(partial(_answers, self._task), chunks, self._job):
            found[first] = answers
            done += len(some)
            if progress is not None:
                progress(done, len(items))
        return [answer for first in sorted(found) for answer in found[first]]

    def __enter__(self) -> Self:
        """Connect."""
        self._cluster.__enter__()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Leave the cluster."""
        self._cluster.__exit__(kind, error, trace)


def workers_for(
    task: Callable[[Shared, Item], Answer], shared: Shared, workers: int, scheduler: str | None
) -> Workers[Shared, Item, Answer]:
    """Return processes of this machine, or of a running cluster where a scheduler is named."""
    return Workers(task, shared, workers) if scheduler is None else OnCluster(task, shared, scheduler)


def workers_while_making(
    task: Callable[[Shared, Item], Answer], make: Callable[[], Shared], workers: int, scheduler: str | None
) -> Workers[Shared, Item, Answer]:
    """Return workers as ``workers_for`` does; processes of this machine start while ``make`` works."""
    return Workers.while_making(task, make, workers) if scheduler is None else OnCluster(task, make(), scheduler)


def _answers(task: Callable[[Any, Any], Any], shared: Any, chunk: tuple[int, Sequence[Any]]) -> list[Any]:
    """Return the answers of some items, on a worker."""
    return [task(shared, item) for item in chunk[1]]
