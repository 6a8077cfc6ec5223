"""Run a command at a pseudo-terminal, as a person does: wait for its prompt, type an answer, read what it shows."""

import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterable
from fcntl import ioctl
from pathlib import Path
from types import TracebackType
from typing import NamedTuple, Self

_PROMPT = re.compile(r"\n  (\w+) \[[^\n]*\]: $")
_WAIT_S = 120.0
#: Makes the terminal the one whose Ctrl-C reaches the command, then becomes the command.
_START = """
import fcntl, os, sys, termios
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
os.execv(sys.executable, [sys.executable, "-m", "solarsim", *sys.argv[1:]])
"""


class Shown(NamedTuple):
    """What a terminal showed before a prompt, or at the end: the text, and which question waits for an answer."""

    text: str
    question: str | None


class Terminal:
    """A command at a terminal of 80 columns."""

    def __init__(self, folder: Path, *words: str) -> None:
        self._screen, keyboard = pty.openpty()
        ioctl(self._screen, termios.TIOCSWINSZ, struct.pack("HHHH", 50, 80, 0, 0))
        self._child = subprocess.Popen(
            [sys.executable, "-c", _START, *words],
            stdin=keyboard, stdout=keyboard, stderr=keyboard, cwd=folder, start_new_session=True,
            env={**os.environ, "TERM": "xterm", "TZ": "Etc/UTC"},
        )  # fmt: skip
        os.close(keyboard)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, _: TracebackType | None) -> None:
        if kind is not None:
            self._child.kill()
            self._child.wait()
        os.close(self._screen)

    def shown(self) -> Shown:
        """Return what it shows until it waits for an answer, or ends."""
        text, until = "", time.monotonic() + _WAIT_S
        while time.monotonic() < until:
            ready, _, _ = select.select([self._screen], [], [], 0.2)
            if ready:
                try:
                    read = os.read(self._screen, 65536)
                except OSError:  # Linux tells the end of a terminal in this way
                    return Shown(text, None)
                if not read:
                    return Shown(text, None)
                text += re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", read.decode()).replace("\r", "")
            elif (found := _PROMPT.search(text)) is not None:
                return Shown(text, found[1])
        raise TimeoutError(text)

    def type(self, words: str) -> None:
        """Type an answer and press Enter."""
        os.write(self._screen, f"{words}\n".encode())

    def press(self, key: bytes) -> None:
        """Press a key."""
        os.write(self._screen, key)

    def ended(self) -> int:
        """Return the exit code, once it has ended."""
        return self._child.wait(_WAIT_S)


def interview(
    folder: Path, file: str, answers: dict[str, str] | Iterable[tuple[str, str]]
) -> tuple[str, list[str], int]:
    """Answer all questions of ``new``; return what was shown, which questions were asked, and the exit code."""
    left = dict(answers)
    with Terminal(folder, "new", file) as terminal:
        text, asked = "", list[str]()
        while (shown := terminal.shown()).question is not None:
            text += shown.text
            asked.append(shown.question)
            terminal.type(left.pop(shown.question, ""))
        assert not left, left
        return text + shown.text, asked, terminal.ended()
