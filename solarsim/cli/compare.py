"""``compare``: every strategy side by side."""

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
    tell_notes,
    working,
)


def _finer_minutes(text: str) -> int:
    if text not in ("30", "15"):
        raise typer.BadParameter(f"{text!r} must be 30 or 15 (minutes)")
    return int(text)


def compare(
    path: ScenarioPath = None,
    changes: Changes = None,
    best: Annotated[
        bool,
        typer.Option("--best", help="Add the optimum and each strategy's share of the savings a battery could add."),
    ] = False,
    months: Annotated[bool, typer.Option("--months", help="Also show the bills by month.")] = False,
    finer: Annotated[
        int | None,
        typer.Option(
            "--finer", parser=_finer_minutes, metavar="MINUTES", help="Also run 30- or 15-minute steps and compare."
        ),
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a plot of energy cost and energy by strategy")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Compare every strategy: energy, bill, savings."""
    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    with working("running every strategy" + (" and finding the optimum" if best else "")):
        from solarsim.studies.compare.compare import compare as compare_all

        result = compare_all(scenario, best=best)
    if finer is None:
        present(result, json, plot, months=months)
        return
    with working(f"running hours and steps of {finer} minutes"):
        from solarsim.studies.compare.finer_steps import compare_steps

        steps = compare_steps(scenario, finer, result)
    told = result.notes
    tell_notes(note for note in steps.notes if note not in told)
    present(result, json, plot, beside={"finer_steps": steps.record()} if json else None, months=months, steps=steps)
