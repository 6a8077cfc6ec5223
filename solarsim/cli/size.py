"""``size``: the next step from a home, and the design that pays best."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import (
    AsJson,
    Changes,
    Force,
    Processes,
    ScenarioPath,
    Scheduler,
    check_outputs,
    plot_to,
    present,
    processors,
    read,
    working,
    write_scenario,
)


def size(
    path: ScenarioPath = None,
    changes: Changes = None,
    axis: Annotated[
        list[str] | None,
        typer.Option("--axis", metavar="KEY=V,V,...", help="Values to try for a key; repeatable (default: [size])."),
    ] = None,
    stages: Annotated[
        bool, typer.Option("--stages", help="Also expand the home in stages, until no step pays back.")
    ] = False,
    risk: Annotated[
        bool,
        typer.Option(
            "--risk", help="Also show how often each of the best designs has the highest NPV under [life.uncertainty]."
        ),
    ] = False,
    workers: Processes = None,
    scheduler: Scheduler = None,
    write: Annotated[
        Path | None,
        typer.Option(
            "--write", metavar="FILE", help="Write the scenario of the design with the highest NPV, comments kept."
        ),
    ] = None,
    plot: Annotated[Path | None, plot_to("Save plots of designs, frontiers and gains")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Find what to purchase: the next step, and the highest NPV."""
    from solarsim.errors import OutputError
    from solarsim.scenario.read import axes_from

    check_outputs(path, force, write, plot)
    axes = None if axis is None else axes_from(axis)
    scenario = read(path, changes)
    with working("computing one more and one fewer of each", "computing") as told:
        from solarsim.studies.size.size import size as size_of

        result = size_of(
            scenario, axes, stages=stages, chances=risk, workers=processors(workers), progress=told, scheduler=scheduler
        )
    if write is not None:
        if result.found is None:
            raise OutputError(f"{write}: not written: no design or step adds to the NPV of the home as written")
        write_scenario(result.found, write)
    present(result, json, plot)
