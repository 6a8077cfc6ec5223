"""``load``: the home's load by month, part, day and hour, without any system."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import (
    AsJson,
    Changes,
    Force,
    ScenarioPath,
    check_outputs,
    plot_to,
    present,
    read_part,
    working,
)


def load(
    path: ScenarioPath = None,
    changes: Changes = None,
    csv: Annotated[
        Path | None,
        typer.Option("--csv", metavar="FILE", help="Write each step to this file (for load.file); - prints it."),
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a plot of the year and its mean days")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show the home's load, and what was read from its meter."""
    check_outputs(path, force, table=csv, picture=plot)
    from solarsim.scenario.model import LoadScenario

    scenario = read_part(path, changes, LoadScenario)
    with working("reading the load"):
        from solarsim.studies.load import load_year

        result = load_year(scenario)
    present(result, json, plot, csv)
