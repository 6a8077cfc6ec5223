"""The program ``solarsim``, also as ``python -m solarsim``: an interrupt ends it in one line, even while it loads."""

import os
import signal
from types import FrameType
from typing import NoReturn


def _stop(number: int, _: FrameType | None) -> NoReturn:
    """End the process while nothing but loading has been done."""
    try:
        os.write(2, b"solarsim: stopped\n")
    finally:
        os._exit(128 + number)


def main() -> None:
    """Load the command line and run it."""
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)  # not every system has all of them
        if number is not None and signal.getsignal(number) is not signal.SIG_IGN:  # as under nohup
            signal.signal(number, _stop)
    from solarsim.cli.app import main as run

    run()


if __name__ == "__main__":
    main()
