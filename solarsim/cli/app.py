"""The commands under their headings, and how a run of the program ends."""

import gc
import os
import sys
from collections.abc import Callable
from errno import EIO, ENOSPC
from importlib import import_module
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from solarsim.cli.terminal import tell
from solarsim.views.texts import CAUTION

#: A command is the function of its name in the file of its name.
_HEADINGS = {
    "The home": ("new", "weather", "load", "modules", "roof"),
    "The year": ("compare", "flows", "sheet", "bill", "plans", "outages", "wear", "calibrate"),
    "The decision": ("size", "offers", "savings", "life", "risk", "wiring"),
    "To share": ("guide",),
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
        app.command()(getattr(import_module(f"solarsim.cli.{_name}"), _name))


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


def main() -> None:
    """Run a command; end with exit code 2 and one line for each problem of the user's input."""
    # Importing pvlib and numba makes a million objects that stay: collecting among them again and
    # again, and taking them apart at the end, would cost a third of a short command's time.
    gc.set_threshold(200_000, 50, 100)
    os._exit(_outcome(lambda: app(prog_name="solarsim", standalone_mode=False)))


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
