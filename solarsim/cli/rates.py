"""Rate plans: the lines of a bill, and one home under many rate plans."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import (
    CAUTION,
    AsJson,
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
    strategy: StrategyName = None,
    month: Annotated[
        int | None,
        typer.Option("--month", parser=_month_or_year, metavar="MONTH", help="1 to 12, or year; the year if left out."),
    ] = None,
    json: AsJson = False,
) -> None:
    """Show the lines of a bill, with and without the system."""
    scenario = read(path)
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


def plans(
    path: ScenarioPath = None,
    rate_plan: Annotated[
        list[Path] | None,
        typer.Option("--rate_plan", help="Rate plan file (TOML), may be given again; the ready-made ones if left out."),
    ] = None,
    strategy: Annotated[
        str | None, typer.Option("--strategy", help="The strategy in use now; the first one if left out.")
    ] = None,
    json: AsJson = False,
) -> None:
    """Set every rate plan and every strategy side by side."""
    from solarsim.scenario.read import read_rate_plan, ready_rate_plans

    scenario = read(path)
    if strategy is not None:
        scenario.strategy(strategy)
    others = [read_rate_plan(file) for file in (ready_rate_plans() if rate_plan is None else rate_plan)]
    if rate_plan is None:
        foreign = [each for each in others if each.currency != scenario.rate_plan.currency]
        tell_notes(f"plan {each.name!r} left out: its currency is {each.currency}" for each in foreign)
        others = [each for each in others if each not in foreign]
    with working("running every strategy"):
        from solarsim.studies.plans import plans as plans_of

        found = plans_of(scenario, others, strategy)
    tell_notes(found.notes())
    if json:
        from solarsim.views.rate_records import plans_json

        print(plans_json(found))
        return
    from solarsim.views.bill_tables import plans_notes, plans_tables

    show(heading(found.home), *plans_tables(found), *plans_notes(found), CAUTION)
