"""``calibrate``: a log of production, compared with what the scenario expects."""

from pathlib import Path
from typing import Annotated

from solarsim.cli.terminal import AsJson, Changes, Force, ScenarioPath, check_outputs, plot_to, present, read, working


def calibrate(
    path: ScenarioPath = None,
    changes: Changes = None,
    plot: Annotated[Path | None, plot_to("Save a plot of months and clock")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Compare measured with expected production; fit a factor."""
    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    with working("comparing the log with the model"):
        from solarsim.studies.calibrate.calibrate import calibrate as calibrate_of

        result = calibrate_of(scenario)
    present(result, json, plot)
