"""``plans``: one home under many rate plans."""

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
    read,
    working,
)


def plans(
    path: ScenarioPath = None,
    changes: Changes = None,
    rate_plan: Annotated[
        list[Path] | None,
        typer.Option(
            "--rate-plan", metavar="FILE", help="Rate plan file (TOML); repeatable (default: the scenario's [plans])."
        ),
    ] = None,
    strategy: Annotated[
        str | None, typer.Option("--strategy", metavar="NAME", help="Strategy in use today (default: the first).")
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a plot of the cost under every rate plan")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Compare every strategy under every rate plan."""
    from solarsim.scenario.read import read_rate_plan

    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    others = None if rate_plan is None else [read_rate_plan(file) for file in rate_plan]
    with working("running every strategy"):
        from solarsim.studies.plans import plans as plans_of

        result = plans_of(scenario, others, strategy)
    present(result, json, plot)
