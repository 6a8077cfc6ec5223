"""The command line: words in, calls to studies and views, text and files out. It computes nothing."""

import gc
import os
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from solarsim.run import Home
    from solarsim.scenario.model import Scenario
    from solarsim.studies.compare import Comparison

CAUTION = (
    "Estimates for a typical year, not a design. Mains and battery voltages kill;"
    " local code and licensed people decide."
)
_WIDEST = 100


def _month(text: str) -> int:
    if not (text.isdecimal() and 1 <= int(text) <= 12):
        raise typer.BadParameter(f"{text!r} is no month, must be 1 to 12")
    return int(text)


app = typer.Typer(
    help="Hourly energy flows of a home with solar, a battery and a hybrid inverter, to the bill. "
    "Without SCENARIO an invented demo home is used.",
    epilog=CAUTION,
    add_completion=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
    pretty_exceptions_enable=False,
)

ScenarioPath = Annotated[
    Path | None, typer.Argument(metavar="[SCENARIO]", help="Scenario file (TOML).", show_default=False)
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON in place of tables.")]
OnlyStrategy = Annotated[str | None, typer.Option("--strategy", help="Only this strategy; all of them if left out.")]
StrategyName = Annotated[str | None, typer.Option("--strategy", help="Name of a strategy; the first one if left out.")]


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


@app.command()
def compare(
    scenario: ScenarioPath = None,
    best: Annotated[
        bool, typer.Option("--best", help="Add the best possible and each strategy's share of it.")
    ] = False,
    months: Annotated[bool, typer.Option("--months", help="Also set the bills side by side month by month.")] = False,
    json: AsJson = False,
) -> None:
    """Set every strategy side by side, and no system at all: kWh, bill, savings."""
    comparison = _compare(_read(scenario), best)
    if json:
        from solarsim.views.records import comparison_json

        print(comparison_json(comparison))
        return
    from solarsim.views.tables import bills_by_month_table, comparison_notes, comparison_table

    tables = [comparison_table(comparison), *([bills_by_month_table(comparison)] if months else [])]
    _show(_heading(comparison.home), *tables, *comparison_notes(comparison), CAUTION)


@app.command()
def flows(
    scenario: ScenarioPath = None,
    strategy: StrategyName = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="Write the hourly table to this file.")] = None,
    plot: Annotated[Path | None, typer.Option("--plot", help="Draw one month to this file (png, svg, pdf).")] = None,
    month: Annotated[
        int | None, typer.Option("--month", parser=_month, metavar="MONTH", help="Month to draw, 1 to 12.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace existing files.")] = False,
    json: AsJson = False,
) -> None:
    """Show one strategy's year by month; write its hours, draw a month."""
    from solarsim.scenario.errors import OutputError
    from solarsim.views.files import check_picture_name, check_writable, write_whole

    if (plot is None) != (month is None):
        raise OutputError("--plot and --month belong together: --plot FILE --month 7")
    for path in (csv, plot):
        if path is not None:
            check_writable(path, force)
            if scenario is not None and path.resolve() == scenario.resolve():
                raise OutputError(f"{path}: is the scenario itself")
    if csv is not None and plot is not None and csv.resolve() == plot.resolve():
        raise OutputError(f"{csv}: cannot be both the table and the picture")
    if plot is not None:
        check_picture_name(plot)
    read = _read(scenario)
    chosen = read.strategy(strategy) if strategy is not None else read.strategies[0]

    with _working("running the year"):
        from solarsim.run import home_from, simulate

        home = home_from(read)
        run = simulate(read, chosen.name, home)
    _tell_notes(home.notes(run))
    if csv is not None:
        from solarsim.views.records import hourly_csv

        write_whole(csv, hourly_csv(run.flows).encode())
    if plot is not None and month is not None:
        from solarsim.views.month_plot import figure_bytes, month_figure

        write_whole(plot, figure_bytes(month_figure(run, month, f"{read.name}: {chosen.name}"), plot))
    if json:
        from solarsim.views.records import run_json

        print(run_json(home, run))
        return
    from solarsim.views.tables import monthly_notes, monthly_table

    written = [f"Written: {path}" for path in (csv, plot) if path is not None]
    _show(
        _heading(home),
        f"Strategy: {chosen.name}",
        monthly_table(run, read.tariff.currency),
        *monthly_notes(run),
        *written,
    )


@app.command()
def savings(scenario: ScenarioPath = None, strategy: OnlyStrategy = None, json: AsJson = False) -> None:
    """Set what the system costs against what each strategy saves: parts list, simple payback."""
    from solarsim.studies.savings import costs_of
    from solarsim.studies.savings import savings as savings_of

    read = _read(scenario)
    costs_of(read)
    if strategy is not None:
        read.strategy(strategy)
    comparison = _compare(read, best=False)
    found = savings_of(comparison, strategy)
    if json:
        from solarsim.views.records import savings_json

        print(savings_json(comparison, found))
        return
    from solarsim.views.tables import parts_table, payback_table

    _show(
        _heading(comparison.home),
        parts_table(found),
        payback_table(found),
        "Simple payback: system cost / first year's savings, without interest, price growth, ageing or upkeep.",
        CAUTION,
    )


@app.command()
def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where the scenario is to stand.", show_default=False)],
    force: Annotated[bool, typer.Option("--force", help="Replace an existing file.")] = False,
) -> None:
    """Write a scenario of your own to change: the annotated demo home."""
    from solarsim.scenario.read import starter_files
    from solarsim.views.files import check_writable, write_whole

    starter = starter_files(file)
    for path in starter:
        check_writable(path, force)
    for path, content in starter.items():
        write_whole(path, content)
    print(f"Written: {', '.join(map(str, starter))}. Change it to your home, then: solarsim compare {file}")


def _read(path: Path | None) -> "Scenario":
    from solarsim.scenario.read import read_scenario

    return read_scenario(path)


def _compare(scenario: "Scenario", best: bool) -> "Comparison":
    with _working("running every strategy" + (" and finding the best possible" if best else "")):
        from solarsim.studies.compare import compare as compare_all

        comparison = compare_all(scenario, best=best)
    _tell_notes(comparison.home.notes(*comparison.runs))
    return comparison


def _heading(home: "Home") -> str:
    scenario, weather = home.scenario, home.weather
    place = f"{weather.place} ({weather.latitude_deg:.2f}, {weather.longitude_deg:.2f})"
    return f"{scenario.name}, {home.timeline.year}, tariff {scenario.tariff.name!r}\nWeather: {place}"


def _show(*parts: object) -> None:
    from rich.console import Console
    from rich.measure import Measurement
    from rich.table import Table

    console = Console(highlight=False, markup=False, soft_wrap=False)
    console.width = min(_WIDEST, console.width) if console.is_terminal else _WIDEST
    for part in parts:
        # A number that is cut off reads as a smaller one: a table wraps on the screen before it is cut.
        least = (
            Measurement.get(console, console.options.update(width=10_000), part).minimum
            if isinstance(part, Table)
            else 0
        )
        console.print(part, width=max(console.width, least), crop=False, no_wrap=None)


def _tell_notes(notes: Iterable[str]) -> None:
    for note in notes:
        _tell(f"note: {note}")


def _tell(line: str) -> None:
    # A name may hold a line break; a problem stays one line.
    shown = "".join(each if each.isprintable() else repr(each)[1:-1] for each in line)
    print(f"solarsim: {shown}", file=sys.stderr)


@contextmanager
def _working(words: str) -> Iterator[None]:
    """Show on a terminal that work goes on; say so once when the engine must be compiled for this machine."""
    from rich.console import Console

    with Console(stderr=True).status(f"{words} ..."):
        from solarsim.engine.year import when_compiling

        with when_compiling(lambda: _tell("compiling the hour for this machine, once, a few seconds ...")):
            yield


def main() -> None:
    """Run a command; end with exit code 2 and one line for each problem of the user's input."""
    # Importing pvlib and numba makes a million objects that stay: collecting among them again and
    # again, and taking them apart at the end, would cost a third of a short command's time.
    gc.set_threshold(200_000, 50, 100)
    os._exit(_outcome(lambda: app(standalone_mode=False)))


def _outcome(command: Callable[[], object]) -> int:
    from solarsim.scenario.errors import InputError

    try:
        result = command()
        sys.stdout.flush()
    except InputError as error:
        for problem in error.problems:
            _tell(problem)
        return 2
    except typer.TyperException as error:
        _tell(" ".join(error.format_message().split()))
        return 2
    except (KeyboardInterrupt, typer.Abort):
        _tell("stopped")
        return 130
    except BrokenPipeError:
        return 0
    except Exception as error:
        _tell(f"internal error, please report it: {type(error).__name__}: {error}")
        return 1
    return result if isinstance(result, int) else 0
