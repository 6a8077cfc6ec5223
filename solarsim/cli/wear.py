"""``wear``: how each strategy wears the battery, and what that costs."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import (
    AsJson,
    Changes,
    Force,
    OnlyStrategy,
    ScenarioPath,
    check_outputs,
    plot_to,
    present,
    read,
    whole_number,
    working,
)

MOST_YEARS = 40  # as in studies/wear.py, which is slow to import for a line of help


def wear(
    path: ScenarioPath = None,
    changes: Changes = None,
    years: Annotated[
        int, typer.Option("--years", parser=whole_number(1, MOST_YEARS), metavar="YEARS", help="Number of years.")
    ] = 25,
    strategy: OnlyStrategy = None,
    plot: Annotated[Path | None, plot_to("Save a plot of capacity by year")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show how each strategy wears the battery, and what that costs."""
    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    if strategy is not None:
        scenario.strategy(strategy)
    with working("simulating every strategy"):
        from solarsim.studies.wear import wear as wear_of

        result = wear_of(scenario, years, strategy)
    present(result, json, plot)
