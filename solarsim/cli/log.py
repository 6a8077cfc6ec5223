"""The check against what was measured: a log of production beside what the scenario expects."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import (
    CAUTION,
    AsJson,
    Changes,
    Force,
    ScenarioPath,
    check_outputs,
    read,
    show,
    tell_notes,
    working,
)


def calibrate(
    path: ScenarioPath = None,
    changes: Changes = None,
    plot: Annotated[
        Path | None, typer.Option("--plot", help="Draw months and clock to this file (png, svg, pdf).")
    ] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Compare a log of production with what the scenario expects: by month, its clock, and one factor to take over."""
    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    with working("comparing the log with the sky"):
        from solarsim.studies.calibrate.calibrate import calibrate as calibrate_of

        found = calibrate_of(scenario)
    tell_notes(found.notes)
    if plot is not None:
        from solarsim.views.calibrate_plot import calibrate_figure
        from solarsim.views.files import write_whole
        from solarsim.views.month_plot import figure_bytes

        write_whole(plot, figure_bytes(calibrate_figure(found), plot))
    if json:
        from solarsim.views.calibrate_records import calibrate_json

        print(calibrate_json(found))
        return
    from solarsim.views.calibrate_tables import calibrate_heading, calibrate_lines, logged_table, months_below

    written = [] if plot is None else [f"Written: {plot}"]
    show(
        calibrate_heading(found), logged_table(found), *months_below(found), *calibrate_lines(found), *written, CAUTION
    )
