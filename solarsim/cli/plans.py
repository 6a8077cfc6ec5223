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
    weeks: Annotated[
        str | None,
        typer.Option(
            "--weeks", metavar="PLAN", help="Rate plan whose weeks --plot draws (default: the scenario's own)."
        ),
    ] = None,
    plot: Annotated[
        Path | None, plot_to("Save a plot of the cost under every rate plan, and a week of each season of one")
    ] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Compare every strategy under every rate plan."""
    from solarsim.scenario.read import read_rate_plan

    if weeks is not None and plot is None:
        raise typer.BadParameter("needs --plot FILE", param_hint="--weeks")
    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    others = None if rate_plan is None else [read_rate_plan(file) for file in rate_plan]
    if plot is not None and rate_plan is None and scenario.plans is None:
        others = []  # a picture of the home's own plan needs no other
    with working("running every strategy"):
        from solarsim.studies.plans import plans as plans_of

        result = plans_of(scenario, others, strategy)
    present(result, json, plot, drawn={"weeks": weeks})
