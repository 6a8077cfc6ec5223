"""``outages``: how long the home stays supplied without the grid, and what a reserve for that costs."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import (
    AsJson,
    Changes,
    Force,
    ScenarioPath,
    StrategyName,
    check_outputs,
    plot_to,
    present,
    read,
    whole_number,
    working,
)

MOST_YEARS = 10_000  # as in studies/outages/_random_outages.py, which is slow to import for a line of help


def outages(
    path: ScenarioPath = None,
    changes: Changes = None,
    strategy: StrategyName = None,
    years: Annotated[
        int | None,
        typer.Option(
            "--years",
            parser=whole_number(1, MOST_YEARS),
            metavar="YEARS",
            help="Years of random outages to simulate (default 1000).",
        ),
    ] = None,
    seed: Annotated[
        int | None,
        typer.Option("--seed", parser=whole_number(0, 2**31), metavar="SEED", help="Random seed (default 1)."),
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a plot of backup duration and the cost of a reserve")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show backup duration, outages covered and the cost of a reserve."""
    from solarsim.errors import OutputError

    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    if (scenario.outages is None or scenario.outages.frequency is None) and (years is not None or seed is not None):
        raise OutputError("--years and --seed are for random outages; the scenario has no [outages.frequency]")
    with working("simulating an outage from every hour of the year"):
        from solarsim.studies.outages.outages import outages as outages_of

        result = outages_of(scenario, strategy, 1000 if years is None else years, 1 if seed is None else seed)
    present(result, json, plot)
