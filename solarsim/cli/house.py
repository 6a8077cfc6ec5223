"""What the home uses, before any system: its load by month, part, day and hour."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import AsJson, Changes, Force, ScenarioPath, check_outputs, read, show, working


def load(
    path: ScenarioPath = None,
    changes: Changes = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", help="Write the hours to this file, which load.file reads back.")
    ] = None,
    plot: Annotated[
        Path | None, typer.Option("--plot", help="Draw the year and its mean days to this file (png, svg, pdf).")
    ] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show what the home uses, and what was read from its meter."""
    check_outputs(path, force, table=csv, picture=plot)
    scenario = read(path, changes)
    with working("reading the load"):
        from solarsim.studies.load import load_year

        year = load_year(scenario)
    from solarsim.views.load_tables import load_csv, load_json, load_lines, load_source, load_table, parts_of_load_table

    if csv is not None:
        from solarsim.views.files import write_whole

        write_whole(csv, load_csv(year).encode())
    if plot is not None:
        from solarsim.views.files import write_whole
        from solarsim.views.load_plot import load_figure
        from solarsim.views.month_plot import figure_bytes

        write_whole(plot, figure_bytes(load_figure(year), plot))
    if json:
        print(load_json(year))
        return
    parts = [parts_of_load_table(year)] if year.household.kw_by_part else []
    written = [f"Written: {file}" for file in (csv, plot) if file is not None]
    show(
        f"{scenario.name}, {year.timeline.year}\n{load_source(year)}",
        load_table(year),
        *parts,
        *load_lines(year),
        *written,
    )
