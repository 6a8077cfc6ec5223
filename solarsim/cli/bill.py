"""``bill``: the lines of a bill, with and without the system."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from solarsim.cli.terminal import (
    AsJson,
    Changes,
    Force,
    ScenarioPath,
    StrategyName,
    check_outputs,
    month_number,
    plot_to,
    present,
    read,
    read_part,
    working,
)

if TYPE_CHECKING:
    from solarsim.scenario.model import BillScenario


def _month_or_year(text: str) -> int | None:
    if text == "year":
        return None
    try:
        return month_number(text)
    except typer.BadParameter as error:
        raise typer.BadParameter(f"{error.message}, or year") from None


def _read(path: Path | None, changes: list[str] | None) -> "BillScenario":
    """Read a scenario, or the part of one that is enough for the bill of a home without any system."""
    from solarsim.errors import InputError
    from solarsim.scenario.model import BillScenario

    if path is None:
        return read(path, changes)
    try:
        part = read_part(path, changes, BillScenario)
    except InputError:
        return read(path, changes)  # all problems of the file at once
    return read(path, changes) if {"inverter", "strategies"} & part.tables.keys() else part


def bill(
    path: ScenarioPath = None,
    changes: Changes = None,
    strategy: StrategyName = None,
    month: Annotated[
        int | None,
        typer.Option("--month", parser=_month_or_year, metavar="MONTH", help="1 to 12, or year (default: year)."),
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a plot of the bill by month, before and after")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show the lines of a bill, with and without the system."""
    check_outputs(path, force, picture=plot)
    scenario = _read(path, changes)
    with working("running the year"):
        from solarsim.studies.bill import bill as bill_of

        result = bill_of(scenario, strategy, month)
    present(result, json, plot)
