"""Work on several processes: a task, what all items share and the items in; answers in the order of the items out.

Each worker is a Python process of its own, asked through its standard input and answering on its standard output:

- A worker that is killed, at any time, is replaced, and its lost items are done again. A chunk of items that has cost
  three workers ends the work with a ``MachineError``.
- When the parent ends, for whatever reason, the worker's standard input ends, and the worker with it, at once.
- Ctrl-C reaches the parent alone, since workers are in sessions of their own; the parent ends them.
- An exception of the task is raised in the parent.

Answers do not depend on the number of workers. A script that uses them needs no ``if __name__ == "__main__":``.

What a study relies on, and so all that another way to share the work (a cluster) must offer, is:

- made with ``task``, ``shared`` and the most workers; used as a context, at whose end nothing of it is left;
- ``map(items, chunk, progress)``, any number of times: an answer for each item, in their order; ``progress`` called in
  the thread of the caller, with rising numbers of items done; an exception of the task raised in the caller;
- ``task`` is a function of a module, and asks for nothing but ``shared`` and ``item``: the same item may be done twice.
"""

import os
import pickle
import signal
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from importlib import import_module
from queue import SimpleQueue
from traceback import format_exc
from types import TracebackType
from typing import IO, Any, Generic, NoReturn, Self, TypeVar, cast

from solarsim.collection import collect_rarely
from solarsim.errors import MachineError

Shared = TypeVar("Shared")
Item = TypeVar("Item")
Answer = TypeVar("Answer")
Progress = Callable[[int, int], None]

_TRIES = 3  # workers that one chunk may cost
_LENGTH_BYTES = 8
_END_S = 5.0
# The GNU C library hands freed arrays back to the system and asks for them again, year after year: a tenth of the time.
_KEEP_MEMORY = {"MALLOC_TRIM_THRESHOLD_": str(1 << 28), "MALLOC_TOP_PAD_": str(1 << 26)}  # bytes
# What the parent can import, its workers can.
_START = "import sys; sys.path[:] = sys.argv[2:]; from solarsim.studies._workers import serve; serve(sys.argv[1])"


class Workers(Generic[Shared, Item, Answer]):
    """Processes that do one task on many items; where one worker is enough, this process does it itself.

    Parameters
    ----------
    task : callable
        ``task(shared, item)`` returns the item's answer: a function of a module, not a lambda. Shared, items and
        answers must be of kinds that can be pickled.
    shared : object
        What all items need, a home for example. Each worker receives it once.
    workers : int
        How many processes at most. They are started when needed and are kept from one ``map`` to the next.

    Examples
    --------
    >>> with Workers(pow, 2, workers=1) as powers_of_two:
    ...     powers_of_two.map([1, 2, 3])
    [2, 4, 8]
    """

    def __init__(self, task: Callable[[Shared, Item], Answer], shared: Shared, workers: int) -> None:
        self._task, self._shared, self._most = task, shared, workers
        self._job = b""
        self._all: set[_Worker] = set()
        self._idle: list[_Worker] = []
        self._threads: list[threading.Thread] = []
        self._lock, self._ended = threading.Lock(), False

    @classmethod
    def while_making(
        cls, task: Callable[[Shared, Item], Answer], make: Callable[[], Shared], workers: int
    ) -> "Workers[Shared, Item, Answer]":
        """Start all workers, and let them import what the task needs while this process makes what is shared.

        Parameters
        ----------
        task, workers
            As for the class.
        make : callable
            Returns what all items need.

        Returns
        -------
        Workers
            With what was made.

        Raises
        ------
        Exception
            What ``make`` raises; the workers are ended.
        """
        ready: list[_Worker] = []
        with suppress(OSError):  # told where there is work for them
            ready += (_Worker(task.__module__) for _ in range(workers if workers > 1 else 0))
        try:
            several = cls(task, make(), workers)
        except BaseException:
            for worker in ready:
                worker.end(at_once=True)
                worker.close()
            raise
        several._all.update(ready)
        several._idle.extend(ready)
        return several

    @property
    def shared(self) -> Shared:
        """What all items need."""
        return self._shared

    def map(self, items: Sequence[Item], chunk: int = 16, progress: Progress | None = None) -> list[Answer]:
        """Do the task on every item.

        Parameters
        ----------
        items : sequence
            Each is small compared with what is shared.
        chunk : int
            How many items a worker receives at once, and does again where they are lost: about a second's work.
        progress : callable, optional
            Called in this thread after each chunk, with the number of items done and of all.

        Returns
        -------
        list
            An answer for each item, in their order.

        Raises
        ------
        MachineError
            Three workers in turn ended over one chunk, or could not be started.
        """
        chunks = [items[first : first + chunk] for first in range(0, len(items), chunk)]
        several = min(self._most, len(chunks))
        answers: list[Answer] = []
        for part in self._there(chunks, several) if several > 1 else map(self._here, chunks):
            answers += part
            if progress is not None:
                progress(len(answers), len(items))
        return answers

    def __enter__(self) -> Self:
        """Start nothing yet."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """End all workers: idle ones by themselves, busy ones at once."""
        with self._lock:
            self._ended = True
        for worker in self._all:
            worker.end(at_once=worker not in self._idle)
        for thread in self._threads:
            thread.join()
        for worker in self._all:
            worker.close()

    def _here(self, chunk: Sequence[Item]) -> list[Answer]:
        """Return the answers of some items, found in this process."""
        return [self._task(self._shared, item) for item in chunk]

    def _there(self, chunks: Sequence[Sequence[Item]], several: int) -> Iterator[list[Answer]]:
        """Yield the answers of each chunk in order, found by several workers, each with a thread that waits for it."""
        self._job = self._job or pickle.dumps((self._task, self._shared))
        waiting = deque(enumerate(chunks))
        found: SimpleQueue[tuple[int, list[Answer] | BaseException]] = SimpleQueue()

        def ask() -> None:
            while waiting:
                with suppress(IndexError):  # another thread was quicker
                    number, chunk = waiting.popleft()
                    try:
                        found.put((number, self._answers(chunk)))
                    except Exception as error:
                        found.put((number, error))

        threads = [threading.Thread(target=ask, daemon=True) for _ in range(several)]
        self._threads += threads
        for thread in threads:
            thread.start()
        early: dict[int, list[Answer]] = {}
        try:
            for number in range(len(chunks)):
                while number not in early:
                    place, answers = found.get()
                    if isinstance(answers, BaseException):
                        raise answers
                    early[place] = answers
                yield early.pop(number)
        finally:
            waiting.clear()

    def _answers(self, chunk: Sequence[Item]) -> list[Answer] | BaseException:
        """Return the answers of some items from a worker, from another where it is lost; or what ends the work."""
        end = "not started"
        for _ in range(_TRIES):
            try:
                worker = self._free_worker()
            except OSError as error:
                end = f"cannot be started: {error.strerror}"
                continue
            try:
                answers: list[Answer] | BaseException = worker.ask(self._job, chunk)
            except OSError:
                end = worker.how_it_ended()
                continue
            self._idle.append(worker)
            return answers
        return MachineError(f"worker process {end}, {_TRIES} times in turn; fewer workers need less memory")

    def _free_worker(self) -> "_Worker":
        """Return an idle worker or a new one; none once the work has ended."""
        with self._lock:
            if self._ended:
                raise OSError
            worker = self._idle.pop() if self._idle else _Worker(self._task.__module__)
            self._all.add(worker)
            return worker


class _Worker:
    """One process, as its parent knows it."""

    def __init__(self, module: str) -> None:
        self._process = subprocess.Popen(  # noqa: S603  # this Python, with words of our own
            [sys.executable, "-c", _START, module, *sys.path],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            start_new_session=True,
            env={**_KEEP_MEMORY, **os.environ},
            creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),
        )
        self._questions = cast(IO[bytes], self._process.stdin)
        self._answers = cast(IO[bytes], self._process.stdout)
        self._has_job = False

    def ask(self, job: bytes, chunk: Sequence[Any]) -> Any:
        """Return the answers of some items; OSError where the process has ended."""
        if not self._has_job:
            _send(self._questions, job)
            self._has_job = True
        _send(self._questions, pickle.dumps(chunk))
        return pickle.loads(_receive(self._answers))  # noqa: S301  # from a process that we started

    def how_it_ended(self) -> str:
        """Return in words how the process ended."""
        self._process.kill()  # does nothing where it has ended
        code = self._process.wait()
        return f"ended with exit code {code}" if code >= 0 else f"ended by {signal.Signals(-code).name}"

    def end(self, at_once: bool) -> None:
        """End the process, or let it end by itself."""
        if at_once:
            self._process.kill()
        else:
            with suppress(OSError):
                self._questions.close()

    def close(self) -> None:
        """Wait until the process has ended."""
        try:
            self._process.wait(_END_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        for pipe in (self._questions, self._answers):
            with suppress(OSError):  # what was lost on the way
                pipe.close()


def serve(module: str) -> NoReturn:
    """Be a worker: import the module of the task, and answer what comes on standard input until it ends."""
    collect_rarely()
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)  # what else is printed is no answer
    questions: SimpleQueue[bytes] = SimpleQueue()
    threading.Thread(target=_listen, args=(sys.stdin.buffer, questions), daemon=True).start()
    with suppress(Exception):  # told where the task itself cannot be had
        import_module(module)
    job = questions.get()
    work: tuple[Callable[[Any, Any], Any], Any] | None = None
    while True:
        chunk = questions.get()
        try:
            work = work or pickle.loads(job)  # noqa: S301  # from the process that started this one
            task, shared = work
            found = pickle.dumps([task(shared, item) for item in pickle.loads(chunk)])  # noqa: S301
        except Exception as error:
            found = _pickled(error)
        try:
            _send(answers, found)
        except OSError:
            os._exit(0)


def _listen(stream: IO[bytes], questions: "SimpleQueue[bytes]") -> None:
    """Pass on what is asked, also during work; end the process when the parent has gone."""
    with suppress(OSError):
        while True:
            questions.put(_receive(stream))
    os._exit(0)


def _pickled(error: Exception) -> bytes:
    """Return an exception for the parent, with the worker's trace; in words, where it cannot be pickled."""
    error.add_note(f"in a worker process:\n{format_exc()}")
    try:
        pickle.loads(pickled := pickle.dumps(error))  # noqa: S301
    except Exception:
        return pickle.dumps(RuntimeError(f"{type(error).__name__}: {error}"))
    return pickled


def _send(stream: IO[bytes], content: bytes) -> None:
    """Write a message behind its length."""
    stream.write(len(content).to_bytes(_LENGTH_BYTES, "big"))
    stream.write(content)
    stream.flush()


def _receive(stream: IO[bytes]) -> bytes:
    """Return the next message; OSError where the stream ends before or within it."""
    head = stream.read(_LENGTH_BYTES)
    content = stream.read(int.from_bytes(head, "big")) if len(head) == _LENGTH_BYTES else b""
    if len(head) < _LENGTH_BYTES or len(content) < int.from_bytes(head, "big"):
        raise BrokenPipeError
    return content
