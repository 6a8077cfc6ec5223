"""Outages: for how long the home goes on without the grid, and what keeping energy for that costs."""

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
    heading,
    read,
    show,
    tell_notes,
    whole_number,
    working,
)

MOST_YEARS = 10_000  # as in studies/random_outages.py, which is slow to import for a line of help


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
            help="How many years of outages to draw; 1000 if left out.",
        ),
    ] = None,
    seed: Annotated[
        int | None,
        typer.Option("--seed", parser=whole_number(0, 2**31), metavar="SEED", help="Other draws; 1 if left out."),
    ] = None,
    plot: Annotated[
        Path | None, typer.Option("--plot", help="Draw survival and what reserve costs to this file (png, svg, pdf).")
    ] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Tell how long the home goes on when the grid fails, and what each step of reserve for it costs."""
    from solarsim.errors import OutputError

    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    if strategy is not None:
        scenario.strategy(strategy)
    if (scenario.outages is None or scenario.outages.frequency is None) and (years is not None or seed is not None):
        raise OutputError("--years and --seed draw outages; the scenario has no [outages.frequency] to draw from")
    from solarsim.studies.outages.island import arrangement_of

    arrangement_of(scenario)
    with working("losing the grid in every hour of the year"):
        from solarsim.studies.outages.outages import outages as outages_of

        study = outages_of(scenario, strategy, 1000 if years is None else years, 1 if seed is None else seed)
    tell_notes(study.home.notes(study.run))
    if plot is not None:
        from solarsim.views.files import write_whole
        from solarsim.views.month_plot import figure_bytes
        from solarsim.views.outage_plot import outage_figure

        title = f"{scenario.name}: {study.strategy}"
        write_whole(plot, figure_bytes(outage_figure(study, title), plot))
    if json:
        from solarsim.views.outage_records import outages_json

        print(outages_json(study))
        return
    from solarsim.views import outage_tables as tables

    parts: list[object] = ["Ridden through:", tables.survival_table(study), *tables.outage_notes(study)]
    if study.reserve:
        parts += ["\nWhat a reserve costs, and what it rides through:", tables.reserve_table(study)]
        parts += tables.reserve_notes(study)
    if study.drawn is not None:
        parts += ["\nDrawn years:", tables.drawn_table(study), *tables.drawn_notes(study)]
    if study.events:
        parts += ["\nThe scenario's own outages:", tables.event_table(study)]
    written = [] if plot is None else [f"Written: {plot}"]
    show(heading(study.home), f"Strategy: {study.strategy}", *parts, *written, tables.OUTAGE_CAUTION)
