"""``bill``: the lines of a bill, with and without the system."""

from typing import Annotated

import typer

from solarsim.cli.terminal import AsJson, Changes, ScenarioPath, StrategyName, month_number, present, read, working


def _month_or_year(text: str) -> int | None:
    if text == "year":
        return None
    try:
        return month_number(text)
    except typer.BadParameter as error:
        raise typer.BadParameter(f"{error.message}, or year") from None


def bill(
    path: ScenarioPath = None,
    changes: Changes = None,
    strategy: StrategyName = None,
    month: Annotated[
        int | None,
        typer.Option("--month", parser=_month_or_year, metavar="MONTH", help="1 to 12, or year; the year if left out."),
    ] = None,
    json: AsJson = False,
) -> None:
    """Show the lines of a bill, with and without the system."""
    scenario = read(path, changes)
    if strategy is not None:
        scenario.strategy(strategy)
    with working("running the year"):
        from solarsim.studies.bill import bill as bill_of

        result = bill_of(scenario, strategy, month)
    present(result, json)
