"""``risk``: how sure the money of a system is."""

import os
from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import (
    CAUTION,
    AsJson,
    Changes,
    Force,
    ScenarioPath,
    StrategyName,
    check_outputs,
    heading,
    read,
    show,
    tell_notes,
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
            help="How many, in place of the scenario's.",
        ),
    ] = None,
    seed: Annotated[
        int | None,
        typer.Option(
            "--seed",
            parser=whole_number(0, 2**63 - 1),
            metavar="NUMBER",
            help="Of the draws, in place of the scenario's.",
        ),
    ] = None,
    workers: Annotated[
        int | None,
        typer.Option(
            "--workers", parser=whole_number(1, 256), metavar="NUMBER", help="Processes; all processors if left out."
        ),
    ] = None,
    plot: Annotated[
        Path | None, typer.Option("--plot", help="Draw the spread and what moves it to this file (png, svg, pdf).")
    ] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Live that life many times: how sure it is, what moves it."""
    from solarsim.studies.risk.risk import risk as risk_of
    from solarsim.studies.risk.risk import uncertainty_of
    from solarsim.studies.savings import costs_of
    from solarsim.views.files import write_whole

    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    costs_of(scenario)
    uncertainty_of(scenario)
    if strategy is not None:
        scenario.strategy(strategy)
    with working("running lifetimes") as say:
        found = risk_of(
            scenario,
            strategy,
            lifetimes=lifetimes,
            seed=seed,
            workers=_processors() if workers is None else workers,
            progress=lambda done, of: say(f"running lifetimes: {done:,} of {of:,}"),
        )
    tell_notes(found.notes)
    if plot is not None:
        from solarsim.views.life_plot import risk_figure
        from solarsim.views.month_plot import figure_bytes

        title = f"{scenario.name}: {found.strategy}, {found.settings.years} years"
        write_whole(plot, figure_bytes(risk_figure(found, title), plot))
    if json:
        from solarsim.views.life_records import risk_json

        print(risk_json(found))
        return
    from solarsim.views.risk_tables import moved_table, risk_notes, risk_table

    show(
        heading(found.home),
        f"Strategy: {found.strategy}",
        risk_table(found),
        moved_table(found),
        *risk_notes(found),
        *([f"Written: {plot}"] if plot is not None else []),
        CAUTION,
    )


def _processors() -> int:
    affinity = getattr(os, "sched_getaffinity", None)  # what this process may use; not every system tells
    return len(affinity(0)) if affinity is not None else os.cpu_count() or 1
