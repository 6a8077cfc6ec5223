"""``fleet``: many homes, each under every strategy, and the sum of them all."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Annotated

import typer

from solarsim.cli.terminal import (
    AsJson,
    Force,
    Processes,
    Scheduler,
    check_outputs,
    plot_to,
    present,
    processors,
    tell,
    working,
)


def fleet(
    homes: Annotated[
        Path | None,
        typer.Argument(
            metavar="HOMES",
            help="Table of homes (CSV or Parquet): id, scenario, keys; an invented street if omitted.",
            show_default=False,
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FILE", help="Write a row for each home and strategy to this file (Parquet)."),
    ] = None,
    group: Annotated[
        str | None, typer.Option("--group", metavar="COLUMN", help="Show savings by the values of this column.")
    ] = None,
    label: Annotated[
        list[str] | None,
        typer.Option("--label", metavar="COLUMN", help="Column that is not a scenario key; repeatable."),
    ] = None,
    life: Annotated[bool, typer.Option("--life", help="With --out: add NPV and payback of every home.")] = False,
    hourly: Annotated[
        Path | None, typer.Option("--hourly", metavar="FOLDER", help="Write the hours of every home (Parquet).")
    ] = None,
    sums: Annotated[
        Path | None, typer.Option("--sums", metavar="FILE", help="Write the sum of all homes, step by step (Parquet).")
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a plot of the sum and of the savings")] = None,
    by_weekday: Annotated[
        bool, typer.Option("--by-weekday", help="Align homes of different calendar years by weekday.")
    ] = False,
    strict: Annotated[bool, typer.Option("--strict", help="Stop at the first home that cannot be run.")] = False,
    resume: Annotated[bool, typer.Option("--resume", help="Continue a run that was stopped.")] = False,
    workers: Processes = None,
    scheduler: Scheduler = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Simulate many homes, each with every strategy, and add them up."""
    from solarsim.parquet import check_installed

    check_installed()
    if homes is None:
        homes, group = _street(), group or "side"
    with _kept_rows(out, resume) as rows:
        _check(homes, rows, sums, plot, hourly, force, resume)
        with working("starting workers", "running homes") as told:
            from solarsim.parquet import write_table
            from solarsim.studies.fleet.fleet import FleetOptions
            from solarsim.studies.fleet.fleet import fleet as run_fleet
            from solarsim.studies.fleet.totals import steps_table

            options = FleetOptions(
                group=group,
                labels=tuple(label or ()),
                with_life=life,
                hourly=hourly,
                by_weekday=by_weekday,
                strict=strict,
                resume=resume,
                workers=processors(workers),
                scheduler=scheduler,
            )
            result = run_fleet(homes, rows, options, told, tell)
            if sums is not None:
                write_table(sums, steps_table(result.sums))
        for path in (out, sums):
            if path is not None:
                tell(f"written: {path}")
        present(result, json, plot)


def _street() -> Path:
    """Return the packaged table of homes, and say that it is invented."""
    from solarsim.scenario.read import packaged_folder

    tell("note: no table of homes given; this is an invented street")
    return packaged_folder("scenarios") / "street.csv"


@contextmanager
def _kept_rows(out: Path | None, resume: bool) -> Iterator[Path]:
    """Yield where the rows are written: in the file that was named, else in one that goes in the end."""
    if out is not None:
        yield out
        return
    if resume:
        raise typer.BadParameter("--resume needs the --out of the run that was stopped")
    with TemporaryDirectory(prefix="solarsim-fleet-") as folder:
        yield Path(folder) / "rows.parquet"


def _check(
    homes: Path, out: Path, sums: Path | None, plot: Path | None, hourly: Path | None, force: bool, resume: bool
) -> None:
    """Check, before any work, where everything is to be written."""
    from solarsim.errors import OutputError
    from solarsim.studies.fleet.fleet import unfinished_folder

    for path, what in ((out, "the result"), (sums, "the sum")):
        if path is not None and path.suffix.lower() != ".parquet":
            raise OutputError(f"{path}: the name of {what} ends with .parquet")
    check_outputs(homes, force, out, plot)
    if sums is not None:
        check_outputs(homes, force, sums)
        if sums.resolve() == out.resolve():
            raise OutputError(f"{sums}: cannot be both the result and the sum")
    unfinished = unfinished_folder(out)
    if unfinished.exists() and not (resume or force):
        raise OutputError(f"{unfinished}: is of a run that was stopped; --resume goes on, --force starts anew")
    filled = hourly is not None and hourly.exists() and (not hourly.is_dir() or any(hourly.iterdir()))
    if filled and not (resume or force):
        raise OutputError(f"{hourly}: is not an empty folder; --force writes into it")
    if hourly is not None and not hourly.absolute().parent.is_dir():
        raise OutputError(f"{hourly}: folder {hourly.absolute().parent} does not exist")
