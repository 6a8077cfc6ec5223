"""``plans``: one home under many rate plans."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import CAUTION, AsJson, Changes, ScenarioPath, heading, read, show, tell_notes, working


def plans(
    path: ScenarioPath = None,
    changes: Changes = None,
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

    scenario = read(path, changes)
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
