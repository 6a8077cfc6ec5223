"""``flows``: one strategy's year by month, its hourly table, a picture of a month; what decided one hour."""

from pathlib import Path
from typing import Annotated

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
    working,
)


def flows(
    path: ScenarioPath = None,
    changes: Changes = None,
    strategy: StrategyName = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write the hourly table to this file; - prints it.")
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a plot of one month")] = None,
    month: Annotated[
        int | None, typer.Option("--month", parser=month_number, metavar="MONTH", help="Month to draw, 1 to 12.")
    ] = None,
    hour: Annotated[
        str | None,
        typer.Option(
            "--hour",
            metavar="TIME",
            help="Explain one step: what the battery did and which setting or limit decided it, for example"
            " 2026-07-03T18:00 by the wall clock.",
        ),
    ] = None,
    best: Annotated[
        bool, typer.Option("--best", help="With --hour: also what a schedule with perfect foresight did.")
    ] = False,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show one strategy by month, or what decided one hour; save its hourly table or a plot."""
    from solarsim.errors import OutputError

    if hour is not None and (csv, plot, month) != (None, None, None):
        raise OutputError("--hour explains one step: it cannot be combined with --csv, --plot or --month")
    if best and hour is None:
        raise OutputError("--best belongs to --hour: --hour 2026-07-03T18:00 --best")
    if (plot is None) != (month is None):
        raise OutputError("--plot and --month belong together: --plot FILE --month 7")
    check_outputs(path, force, table=csv, picture=plot)
    scenario = read(path, changes)
    if strategy is not None:
        scenario.strategy(strategy)
    if hour is not None:
        with working("running the year"):
            from solarsim.studies.explain.explain import explain

            explained = explain(scenario, strategy, hour, best=best)
        present(explained, json)
        return
    with working("running the year"):
        from solarsim.studies.flows import flows as flows_of

        result = flows_of(scenario, strategy)
    present(result, json, plot, csv, drawn={"month": month})
