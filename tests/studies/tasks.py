"""Tasks for worker processes: functions of a module, light to import."""

import os
import signal
import sys
import time
from pathlib import Path
from typing import Any


def double(factor: int, item: int) -> int:
    print("not an answer")
    return factor * item


def double_slowly(factor: int, item: int) -> int:
    time.sleep(0.01 * (item % 3))
    return factor * item


def die_once(folder: str, item: int) -> int:
    """End this process at items 3 and 20, once each, as the system would."""
    mark = Path(folder) / str(item)
    if item in {3, 20} and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return item


def die(_: int, item: int) -> int:
    """End this process at item 5."""
    if item == 5:
        os.kill(os.getpid(), signal.SIGKILL)
    return item


def leave(code: int, _: int) -> int:
    os._exit(code)


def fail(_: int, item: int) -> int:
    if item == 5:
        raise ValueError(f"item {item} is odd")
    return item


class _OddError(Exception):
    """Cannot be pickled back: it wants two values."""

    def __init__(self, one: int, two: int) -> None:
        super().__init__(f"{one} {two}")


def fail_oddly(_: int, item: int) -> int:
    raise _OddError(item, item)


def pid(_: int, __: int) -> int:
    time.sleep(0.02)
    return os.getpid()


def wait_long(folder: str, item: int) -> int:
    """Leave this process's number behind, then work for a minute."""
    (Path(folder) / str(os.getpid())).touch()
    time.sleep(60)
    return item


class Large:
    """Shared data that do not fit into a pipe; the first process that reads them is ended by it."""

    def __init__(self, mark: str) -> None:
        self.mark, self.content = mark, bytes(3_000_000)

    def __reduce__(self) -> tuple[Any, ...]:
        return _large, (self.mark, self.content)


def _large(mark: str, content: bytes) -> bytes:
    if "-c" in sys.argv and not Path(mark).exists():
        Path(mark).touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return content


def length(content: Any, item: int) -> int:
    return len(content) + item
