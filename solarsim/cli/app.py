"""The commands under their headings, and how a run of the program ends."""

import os
import re
import signal
import sys
from collections.abc import Callable
from contextlib import suppress
from errno import EIO, ENOSPC
from importlib import import_module
from io import TextIOWrapper
from types import FrameType
from typing import Annotated, Any, NoReturn

import typer
from typer.core import TyperCommand, TyperGroup

from solarsim.cli.terminal import tell
from solarsim.collection import collect_rarely
from solarsim.views.texts import CAUTION

#: A command is the function of its name in the file of its name.
_HEADINGS = {
    "The home": ("new", "check", "weather", "load", "modules", "roof"),
    "The year": ("compare", "flows", "sheet", "bill", "plans", "outages", "wear", "calibrate"),
    "The decision": ("size", "offers", "tune", "savings", "life", "risk", "wiring"),
    "To share": ("report", "fleet", "guide"),
}


class _Headings(TyperGroup):
    """The group of all commands; its help lists them under headings."""

    def format_commands(self, ctx: Any, formatter: Any) -> None:  # noqa: ARG002  # as the base class has it
        """Write the commands of each heading, all in one column."""
        width = max(map(len, self.commands))
        for heading, names in _HEADINGS.items():
            with formatter.section(heading):
                rows = [
                    (name.ljust(width), self.commands[name].get_short_help_str(formatter.width - width - 4))
                    for name in names
                ]
                formatter.write_dl(rows)


_DEGREES = re.compile(r"[-+]?\d+(\.\d*)?,?")


class _Command(TyperCommand):
    """A command; coordinates with a blank between them are refused before a longitude west is read as an option."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the words of a command line."""
        from solarsim.errors import ScenarioError

        words = [part for word in args for part in (word.split("=", 1) if word.startswith("--at=") else [word])]
        for option, first, second in zip(words, words[1:], words[2:], strict=False):
            if option == "--at" and _DEGREES.fullmatch(first) and _DEGREES.fullmatch(second):
                joined = f"--at={first.rstrip(',')},{second}"
                raise ScenarioError(f"--at {first} {second}: must be LAT,LON without a blank, for example {joined}")
        return super().parse_args(ctx, args)


app = typer.Typer(
    cls=_Headings,
    help="Simulate a home with solar, a battery and a hybrid inverter, hour by hour, to the utility bill. "
    "Without SCENARIO, the demo is used: an invented home.",
    epilog=CAUTION,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
    pretty_exceptions_enable=False,
)

for _names in _HEADINGS.values():
    for _name in _names:
        app.command(cls=_Command)(getattr(import_module(f"solarsim.cli.{_name}"), _name))


@app.callback(invoke_without_command=True)
def _every_command(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version and exit.")] = False,
) -> None:
    if version:
        from solarsim import __version__

        print(f"solarsim {__version__}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        print(context.get_help())


class _StopError(BaseException):
    """A signal that ends the program; ``except Exception`` must not hold it back, nor what waits for Ctrl-C."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.code = 128 + number


class _Notes(TextIOWrapper):
    """Standard error: what cannot be written there must not stop the command."""

    def write(self, text: str) -> int:
        """Write text, or drop it."""
        with suppress(OSError):
            return super().write(text)
        return len(text)

    def flush(self) -> None:
        """Write what is left, or drop it."""
        with suppress(OSError):
            super().flush()


def main() -> None:
    """Run a command; end with exit code 2 and one line for each problem of the user's input."""
    collect_rarely()
    sys.unraisablehook = _unraisable
    try:
        _stop_by_signals()
        code = _with_streams(lambda: app(prog_name="solarsim", standalone_mode=False))
    except _StopError as stop:
        code = _stopped(stop)
    os._exit(code)  # taking the million objects of pvlib and numba apart would take time


def _stop_by_signals() -> None:
    """Make Ctrl-C and the signals that end a program unwind it, so that nothing half-written stays."""
    numbers = [getattr(signal, name, None) for name in ("SIGINT", "SIGTERM", "SIGHUP")]
    present = [each for each in numbers if each is not None and signal.getsignal(each) is not signal.SIG_IGN]

    def stop(number: int, _: FrameType | None) -> NoReturn:
        for each in present:
            signal.signal(each, signal.SIG_IGN)
        raise _StopError(number)

    for each in present:
        signal.signal(each, stop)


def _unraisable(found: Any) -> None:
    """Report an exception that Python cannot pass on; a signal may come in such a place, too."""
    if isinstance(found.exc_value, _StopError):
        os._exit(_stopped(found.exc_value))
    sys.__unraisablehook__(found)


def _stopped(stop: _StopError) -> int:
    """Report a signal; return the exit code that says which."""
    tell("stopped")
    return stop.code


def _with_streams(command: Callable[[], object]) -> int:
    """Run a command with streams that take any text; refuse where standard output or the current folder is missing."""
    notes = os.fdopen(os.open(os.devnull, os.O_WRONLY), "wb") if sys.stderr is None else sys.stderr.buffer
    sys.stderr = _Notes(
        notes, encoding=getattr(sys.stderr, "encoding", "utf-8"), errors="backslashreplace", line_buffering=True
    )
    if sys.stdout is None:
        tell("standard output: is closed")
        return 2
    try:
        os.getcwd()
    except OSError as error:
        tell(f"current folder: {error.strerror}")
        return 2
    if isinstance(sys.stdout, TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")
    return _outcome(command)


def _outcome(command: Callable[[], object]) -> int:
    from solarsim.errors import InputError, MachineError

    try:
        result = command()
        sys.stdout.flush()
    except InputError as error:
        for problem in error.problems:
            tell(problem)
        return 2
    except (MachineError, MemoryError) as error:
        tell(str(error) or "out of memory")
        return 2
    except typer.TyperException as error:
        tell(" ".join(error.format_message().split()))
        return 2
    except (KeyboardInterrupt, typer.Abort):
        tell("stopped")
        return 130
    except BrokenPipeError:
        return 0
    except OSError as error:
        if error.errno not in (ENOSPC, EIO):
            return _internal(error)
        tell(f"standard output: cannot be written: {error.strerror}")
        return 2
    except SystemExit as end:
        # Shell completion ends this way; typer and Rich do so with code 1 when the reader of a pipe has gone.
        if isinstance(end.__context__, BrokenPipeError):
            return 0
        sys.stdout.flush()
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    except Exception as error:
        return _internal(error)
    return result if isinstance(result, int) else 0


def _internal(error: Exception) -> int:
    """Report an error of the program itself; return its exit code."""
    tell(f"internal error, please report it: {type(error).__name__}: {error}")
    return 1
