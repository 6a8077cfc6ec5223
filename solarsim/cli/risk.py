"""``risk``: the spread of a system's money over many lifetimes, and what drives it."""

import os
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
    workers: Annotated[
        int | None,
        typer.Option(
            "--workers",
            parser=whole_number(1, 256),
            metavar="NUMBER",
            help="Number of processes (default: all processors).",
        ),
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a plot of the spread and what drives it")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Monte Carlo: the spread of outcomes, and what drives it."""
    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    with working("running lifetimes") as say:
        from solarsim.studies.risk.risk import risk as risk_of

        result = risk_of(
            scenario,
            strategy,
            lifetimes=lifetimes,
            seed=seed,
            workers=_processors() if workers is None else workers,
            progress=lambda done, of: say(f"running lifetimes: {done:,} of {of:,}"),
        )
    present(result, json, plot)


def _processors() -> int:
    affinity = getattr(os, "sched_getaffinity", None)  # what this process may use; not every system tells
    return len(affinity(0)) if affinity is not None else os.cpu_count() or 1
