"""The commands in the order in which help lists them, and how a run of the program ends."""

import gc
import os
import sys
from collections.abc import Callable
from typing import Annotated

import typer

from solarsim.cli.backup import outages
from solarsim.cli.battery import wear
from solarsim.cli.house import load
from solarsim.cli.life import life
from solarsim.cli.log import calibrate
from solarsim.cli.plans import plans
from solarsim.cli.rates import bill
from solarsim.cli.risk import risk
from solarsim.cli.roof import modules, roof
from solarsim.cli.savings import savings
from solarsim.cli.sky import weather
from solarsim.cli.terminal import CAUTION, tell
from solarsim.cli.year import compare, flows, new

app = typer.Typer(
    help="Hourly energy flows of a home with solar, a battery and a hybrid inverter, to the bill. "
    "Without SCENARIO an invented demo home is used.",
    epilog=CAUTION,
    add_completion=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
    pretty_exceptions_enable=False,
)

for command in (
    load, weather, modules, roof, compare, flows, bill, plans, savings, life, risk, wear, outages, calibrate, new,
):  # fmt: skip
    app.command()(command)


@app.callback(invoke_without_command=True)
def _every_command(
    context: typer.Context,
    version: Annotated[bool, typer.Option("--version", help="Print the version and stop.")] = False,
) -> None:
    if version:
        from importlib.metadata import version as installed

        print(f"solarsim {installed('solarsim')}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        print(context.get_help())


def main() -> None:
    """Run a command; end with exit code 2 and one line for each problem of the user's input."""
    # Importing pvlib and numba makes a million objects that stay: collecting among them again and
    # again, and taking them apart at the end, would cost a third of a short command's time.
    gc.set_threshold(200_000, 50, 100)
    os._exit(_outcome(lambda: app(standalone_mode=False)))


def _outcome(command: Callable[[], object]) -> int:
    from solarsim.errors import InputError

    try:
        result = command()
        sys.stdout.flush()
    except InputError as error:
        for problem in error.problems:
            tell(problem)
        return 2
    except typer.TyperException as error:
        tell(" ".join(error.format_message().split()))
        return 2
    except (KeyboardInterrupt, typer.Abort):
        tell("stopped")
        return 130
    except BrokenPipeError:
        return 0
    except Exception as error:
        tell(f"internal error, please report it: {type(error).__name__}: {error}")
        return 1
    return result if isinstance(result, int) else 0
