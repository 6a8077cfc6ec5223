"""Tasks that a test's workers do; found by their names in each process."""

import os
import signal
import time
from pathlib import Path


def triple(number: int) -> int:
    return 3 * number


def slowly(number: int) -> int:
    time.sleep(0.05)
    return 3 * number


def die_once(folder: str, number: int) -> int:
    """Kill the own process at two numbers, the first time only."""
    mark = Path(folder) / str(number)
    if number in (3, 20) and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def die(number: int) -> int:
    os.kill(os.getpid(), signal.SIGKILL)
    return number


def fail(number: int) -> int:
    raise ValueError(f"number {number} is odd")


def process(_: int) -> int:
    time.sleep(0.02)
    return os.getpid()
