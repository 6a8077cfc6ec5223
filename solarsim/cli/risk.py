"""``risk``: the spread of a system's money over many lifetimes, and what drives it."""

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
    StrategyName,
    check_outputs,
    plot_to,
    present,
    processors,
    read,
    whole_number,
    working,
)


def risk(
    path: ScenarioPath = None,
    changes: Changes = None,
    strategy: StrategyName = None,
    lifetimes: Annotated[
        int | None,
        typer.Option(
            "--lifetimes",
            parser=whole_number(10, 100_000),
            metavar="NUMBER",
            help="Number of lifetimes (default: the scenario's).",
        ),
    ] = None,
    seed: Annotated[
        int | None,
        typer.Option(
            "--seed",
            parser=whole_number(0, 2**63 - 1),
            metavar="NUMBER",
            help="Random seed (default: the scenario's).",
        ),
    ] = None,
    workers: Processes = None,
    scheduler: Scheduler = None,
    plot: Annotated[Path | None, plot_to("Save a plot of the spread and what drives it")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show the spread of outcomes (Monte Carlo), and what drives it."""
    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    with working("running lifetimes") as told:
        from solarsim.studies.risk.risk import risk as risk_of

        result = risk_of(
            scenario,
            strategy,
            lifetimes=lifetimes,
            seed=seed,
            workers=processors(workers),
            scheduler=scheduler,
            progress=told,
        )
    present(result, json, plot)
