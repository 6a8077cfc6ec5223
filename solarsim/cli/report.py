"""``report``: one HTML file to hand over."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import (
    STANDARD_OUTPUT,
    AsJson,
    Changes,
    Force,
    Processes,
    check_outputs,
    present,
    processors,
    read,
    whole_number,
    working,
)


def report(
    paths: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="SCENARIO...",
            help="Scenario files; several are offers for one home. The demo if omitted.",
            show_default=False,
        ),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Write the report (HTML) to this file; - prints it.")
    ] = None,
    changes: Changes = None,
    strategy: Annotated[
        str | None,
        typer.Option(
            "--strategy",
            metavar="NAME",
            help="Strategy of the report (default: highest NPV, else lowest energy cost).",
        ),
    ] = None,
    without: Annotated[
        list[str] | None,
        typer.Option(
            "--without", metavar="SECTION", help="Leave out a part or section; repeatable. See: solarsim guide report."
        ),
    ] = None,
    lifetimes: Annotated[
        int | None,
        typer.Option(
            "--lifetimes",
            parser=whole_number(10, 100_000),
            metavar="NUMBER",
            help="Number of lifetimes for P50 and P90 (default: the scenario's).",
        ),
    ] = None,
    workers: Processes = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Write a report for household, installer and bank: one HTML file."""
    from solarsim.errors import OutputError

    if out is None and not json:
        raise OutputError("report: name the file to write: --out home.html")
    if json and out == STANDARD_OUTPUT:
        raise OutputError("--json and --out - both print to standard output: keep one of them")
    files: list[Path | None] = [*paths] if paths else [None]
    for path in files:
        check_outputs(path, force, table=out)
    scenarios = [read(path, changes) for path in files]
    names = [path.stem for path in paths] if paths else ["demo"]
    with working("reading weather and load") as told:
        from solarsim.studies.report.report import report as report_of

        result = report_of(scenarios, names, strategy, without or (), lifetimes, processors(workers), progress=told.say)
    present(result, json, text=out)
