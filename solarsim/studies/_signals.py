"""Signals that end a program, while processes are started: not heard by these, or heard a little later."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def signals_blocked(*names: str) -> Iterator[None]:
    """Block some signals for what is started within, and for all that is started from there."""
    mask = getattr(signal, "pthread_sigmask", None)  # not every system has it
    before = mask and mask(signal.SIG_BLOCK, [getattr(signal, name) for name in names])
    try:
        yield
    finally:
        if mask:
            mask(signal.SIG_SETMASK, before)


@contextmanager
def signals_later(*names: str) -> Iterator[None]:
    """Keep signals until the end of the block; only the main thread can."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    numbers = [getattr(signal, name) for name in names if hasattr(signal, name)]
    before = {number: handler for number in numbers if callable(handler := signal.getsignal(number))}
    heard: list[int] = []
    for number in before:
        signal.signal(number, lambda found, _: heard.append(found))
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
    for number in heard[:1]:
        signal.raise_signal(number)
