"""``wiring``: electrical design checks, each with its source, and a single-line diagram."""

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


def wiring(
    path: ScenarioPath = None,
    changes: Changes = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Save the checks as CSV; - prints them.")
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a single-line diagram")] = None,
    strict: Annotated[bool, typer.Option("--strict", help="End with exit code 2 if a check fails.")] = False,
    force: Force = False,
    json: AsJson = False,
) -> int:
    """Check the electrical design against published rules."""
    check_outputs(path, force, csv, plot)
    scenario = read(path, changes)
    with working("checking the design"):
        from solarsim.studies.wiring.wiring import wiring as checks_of

        result = checks_of(scenario)
    present(result, json, plot, csv)
    return 2 if strict and result.failures else 0
