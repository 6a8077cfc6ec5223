"""``offers``: offers for one home side by side."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import AsJson, Changes, Force, check_outputs, plot_to, present, read, working


def offers(
    paths: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="SCENARIO...", help="Scenario files, one for each offer; the demo if omitted.", show_default=False
        ),
    ] = None,
    changes: Changes = None,
    variant: Annotated[
        list[str] | None,
        typer.Option(
            "--variant",
            metavar="'KEY=VALUE; ...'",
            help="Add an offer: the first file with these changes; repeatable.",
        ),
    ] = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write the table to this file (CSV); - prints it.")
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a plot of each offer's balance by year")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Compare offers for one home: cost, payback, NPV, backup."""
    from solarsim.errors import ScenarioError
    from solarsim.scenario.read import variant_from

    files: list[Path | None] = [*paths] if paths else [None]
    for path in files:
        check_outputs(path, force, csv, plot)
    scenarios = [read(path, changes) for path in files]
    names = [path.stem for path in paths] if paths else ["demo"]
    for number, text in enumerate(variant or (), start=1):
        try:
            scenarios.append(scenarios[0].changed(variant_from(text)))
        except ScenarioError as error:
            raise ScenarioError(*(f"--variant {text!r}: {problem}" for problem in error.problems)) from None
        names.append(f"variant {number}")
    with working("computing the life of each offer"):
        from solarsim.studies.offers import offers as compare_offers

        result = compare_offers(scenarios, names)
    present(result, json, plot, csv)
