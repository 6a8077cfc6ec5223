"""What all commands share: options, reading the scenario, progress, printing, notes on stderr."""

import os
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from solarsim.views.texts import printable

if TYPE_CHECKING:
    from solarsim.results import Result
    from solarsim.scenario.model import Scenario, WeatherScenario
    from solarsim.views.progress import Progress

_S = TypeVar("_S", bound="WeatherScenario")
_DEMO = "note: no scenario given; this is the invented demo (see: solarsim new)"
STANDARD_OUTPUT = Path("-")

ScenarioPath = Annotated[
    Path | None,
    typer.Argument(metavar="SCENARIO", help="Scenario file (TOML); the demo if omitted.", show_default=False),
]
Changes = Annotated[
    list[str] | None,
    typer.Option(
        "--set", metavar="KEY=VALUE", help="Change a key of the scenario; repeatable. See: solarsim guide changes."
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of tables.")]
StrategyName = Annotated[
    str | None, typer.Option("--strategy", metavar="NAME", help="Strategy to use (default: the first).")
]
OnlyStrategy = Annotated[
    str | None, typer.Option("--strategy", metavar="NAME", help="Only this strategy (default: all).")
]
Force = Annotated[bool, typer.Option("--force", help="Replace existing files.")]


def plot_to(what: str) -> Any:
    """Return the option --plot; the words say what is drawn."""
    return typer.Option("--plot", metavar="FILE", help=f"{what} (PNG, SVG or PDF).")


def month_number(text: str) -> int:
    """Read a month from the command line, 1 to 12."""
    if not (text.isdecimal() and 1 <= int(text) <= 12):
        raise typer.BadParameter(f"{text!r} must be a month from 1 to 12")
    return int(text)


def whole_number(least: int, most: int) -> Callable[[str | int], int]:
    """Return a reader of whole numbers within bounds."""

    def parsed(text: str | int) -> int:
        if isinstance(text, int):  # the option's default
            return text
        if not (text.isdecimal() and least <= int(text) <= most):
            raise typer.BadParameter(f"{text!r} must be a whole number from {least} to {most}")
        return int(text)

    return parsed


Processes = Annotated[
    int | None,
    typer.Option(
        "--workers",
        parser=whole_number(1, 256),
        metavar="NUMBER",
        help="Number of processes (default: all processors).",
    ),
]


Scheduler = Annotated[
    str | None,
    typer.Option(
        "--scheduler", metavar="ADDRESS", help="Use a running Dask cluster, for example tcp://127.0.0.1:8786."
    ),
]


def processors(asked: int | None) -> int:
    """Return the number of processes that were asked for, else of processors that this process may use."""
    affinity = getattr(os, "sched_getaffinity", None)  # not every system tells
    return asked or (len(affinity(0)) if affinity is not None else os.cpu_count() or 1)


def read(path: Path | None, changes: list[str] | None) -> "Scenario":
    """Read the scenario that was named, or the demo, with the changes of --set."""
    from solarsim.scenario.model import Scenario

    return read_part(path, changes, Scenario)


def read_part(path: Path | None, changes: list[str] | None, kind: "type[_S]") -> "_S":
    """Read the part of a scenario that a command needs, with the changes of --set."""
    from solarsim.scenario.read import changes_from, read_scenario

    scenario = read_scenario(path, changes=changes_from(changes or ()), kind=kind)
    if path is None:
        tell(_DEMO)
    return scenario


def check_outputs(scenario: Path | None, force: bool, table: Path | None = None, picture: Path | None = None) -> None:
    """Check, before any work, that the output files can be written and may be replaced."""
    from solarsim.errors import OutputError
    from solarsim.views.files import check_picture_name, check_writable

    for path in (table, picture):
        if path is not None and (path, path) != (table, STANDARD_OUTPUT):
            check_writable(path, force)
            if scenario is not None and path.resolve() == scenario.resolve():
                raise OutputError(f"{path}: is the scenario itself")
    if table is not None and picture is not None and table.resolve() == picture.resolve():
        raise OutputError(f"{table}: cannot be both the table and the picture")
    if picture is not None:
        check_picture_name(picture)


def show(*parts: Any) -> None:
    """Print text and tables, at most 100 columns wide; a table is never cut."""
    from solarsim.views.screen import Screen

    Screen().show(*parts)


def present(
    result: "Result",
    json: bool,
    plot: Path | None = None,
    csv: Path | None = None,
    text: Path | None = None,
    files: Mapping[Path, bytes] | None = None,
    drawn: Mapping[str, object] | None = None,
    beside: Mapping[str, object] | None = None,
    **options: object,
) -> None:
    """Write a result's figure and its table or text to files, then print it as JSON or as the page of its view.

    A table or text that goes to standard output is all that is printed. ``files`` are written with them, all or none.
    ``drawn`` are options of the figure, ``beside`` further keys of the JSON, all others options of the page.
    """
    from solarsim.views.figure import figure, figure_bytes, view_of
    from solarsim.views.files import write_all

    view = view_of(result)
    tell_notes(getattr(result, "notes", ()))
    texts = {"csv": csv, "text": text}
    written = dict(files or {}) | {
        path: getattr(view, form)(result).encode()
        for form, path in texts.items()
        if path is not None and path != STANDARD_OUTPUT
    }
    if plot is not None:
        written[plot] = figure_bytes(figure(result, **(drawn or {})), plot)
    write_all(written)
    for form, path in texts.items():
        if path == STANDARD_OUTPUT:
            content = getattr(view, form)(result)
            print(printable(content) if sys.stdout.isatty() else content, end="")
            return
    if json:
        from solarsim.views.json_text import to_json

        print(to_json({**result.record(), **(beside or {})}))
        return
    show(
        *view.page(result, **options),
        *(f"Written: {path}" for path in (*(files or ()), csv, text, plot) if path is not None),
    )


def write_scenario(scenario: "Scenario", file: Path) -> None:
    """Write a scenario whole to a file that was checked, with the comments of the file that it was read from."""
    from solarsim.scenario.write import scenario_text
    from solarsim.views.files import write_whole

    write_whole(file, scenario_text(scenario, file.parent).encode())
    tell(f"written: {file}")


def tell_notes(notes: Iterable[str]) -> None:
    """Write notes on stderr."""
    for note in notes:
        tell(f"note: {note}")


def tell(line: str) -> None:
    """Write one line on stderr."""
    # A name may contain a line break; a message is one line.
    shown = printable(line).replace("\n", "\\n")
    print(f"solarsim: {shown}", file=sys.stderr)


@contextmanager
def working(words: str, counted: str | None = None) -> Iterator["Progress"]:
    """Show progress on a terminal; see ``views.progress``. Compiling gets a line of its own."""
    from solarsim.views.progress import progress

    with progress(words, counted) as told:
        from solarsim.engine.compiler import how_often
        from solarsim.engine.year import when_compiling

        compiling = f"compiling the engine for this machine ({how_often()}; a few seconds) ..."
        with when_compiling(lambda: tell(compiling)):
            yield told
