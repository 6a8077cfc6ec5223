"""The battery's life: how each strategy wears it, and what that costs."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import AsJson, Changes, Force, ScenarioPath, check_outputs, heading, read, show, whole_number
from solarsim.cli.year import OnlyStrategy, compared

MOST_YEARS = 40  # as in studies/wear.py, which is slow to import for a line of help
_YEARS = 25


def wear(
    path: ScenarioPath = None,
    changes: Changes = None,
    years: Annotated[
        int | None,
        typer.Option(
            "--years",
            parser=whole_number(1, MOST_YEARS),
            metavar="YEARS",
            help="How many years to tell; 25 if left out.",
        ),
    ] = None,
    strategy: OnlyStrategy = None,
    plot: Annotated[
        Path | None, typer.Option("--plot", help="Draw capacity by year to this file (png, svg, pdf).")
    ] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Tell how each strategy wears the battery, and what that costs."""
    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    if strategy is not None:
        scenario.strategy(strategy)
    from solarsim.studies.wear import battery_of
    from solarsim.studies.wear import wear as wear_of

    battery_of(scenario)
    comparison = compared(scenario, best=False)
    found = wear_of(comparison, _YEARS if years is None else years, strategy)
    if plot is not None:
        from solarsim.views.files import write_whole
        from solarsim.views.month_plot import figure_bytes
        from solarsim.views.wear_plot import wear_figure

        title = f"{scenario.name}: what is left of {found.battery.kwh:.1f} kWh ({found.chemistry})"
        write_whole(plot, figure_bytes(wear_figure(found, title), plot))
    if json:
        from solarsim.views.wear_records import wear_json

        print(wear_json(comparison, found))
        return
    from solarsim.views.tables import temperature_notes
    from solarsim.views.wear_tables import DECIDES, wear_notes, wear_table

    chosen = [run for run in comparison.runs if strategy in (None, run.strategy)]
    written = [] if plot is None else [f"Written: {plot}"]
    notes = wear_notes(found, scenario.rate_plan.currency)
    show(
        heading(comparison.home),
        wear_table(found),
        *notes,
        *temperature_notes(chosen),
        *written,
        found.caution,
        DECIDES,
    )
