"""``sheet``: what to program into the inverter for a strategy."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import (
    STANDARD_OUTPUT,
    AsJson,
    Changes,
    Force,
    ScenarioPath,
    StrategyName,
    check_outputs,
    plot_to,
    present,
    read,
    working,
)


def sheet(
    path: ScenarioPath = None,
    changes: Changes = None,
    strategy: StrategyName = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FILE", help="Write the page as text in 80 columns; - prints it."),
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a picture of one week of each season")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show the settings to program into the inverter, slot by slot."""
    from solarsim.errors import OutputError

    if json and out == STANDARD_OUTPUT:
        raise OutputError("--json and --out - both print to standard output: keep one of them")
    check_outputs(path, force, table=out, picture=plot)
    scenario = read(path, changes)
    if strategy is not None:
        scenario.strategy(strategy)
    with working("running the year"):
        from solarsim.studies.sheet.sheet import sheet as sheet_of

        result = sheet_of(scenario, strategy)
    present(result, json, plot, text=out)
