"""Rate plans: the lines of a bill, and one home under many rate plans."""

from typing import Annotated

import typer

from solarsim.cli.terminal import (
    CAUTION,
    AsJson,
    Changes,
    ScenarioPath,
    StrategyName,
    heading,
    month_number,
    read,
    show,
    tell_notes,
    working,
)


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
    chosen = scenario.strategy(strategy) if strategy is not None else scenario.strategies[0]
    with working("running the year"):
        from solarsim.home import home_from
        from solarsim.run import simulate, without_system

        home = home_from(scenario)
        runs = [without_system(scenario, home), simulate(scenario, chosen.name, home)]
    tell_notes(home.notes(*runs))
    if json:
        from solarsim.views.rate_records import bill_json

        print(bill_json(home, runs, month))
        return
    from solarsim.views.bill_tables import bill_notes, bill_table, period_words

    show(
        heading(home),
        period_words(scenario.rate_plan, month),
        *(bill_table(run.ledger.bill, run.strategy or "no system at all", month) for run in runs),
        *bill_notes(scenario.rate_plan, runs[0], runs[1], month),
        CAUTION,
    )
