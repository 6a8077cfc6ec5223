"""``flows``: one strategy's year by month, its hourly table, a picture of a month; what decided one hour."""

from datetime import date
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


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise typer.BadParameter(f"{text!r} must be a date, for example 2026-07-03") from None


def flows(
    path: ScenarioPath = None,
    changes: Changes = None,
    strategy: StrategyName = None,
    csv: Annotated[
        Path | None,
        typer.Option(
            "--csv",
            metavar="FILE",
            help="Write the year's hourly table to this file; - prints it. Its column time is standard time all year,"
            " local_time the wall clock.",
        ),
    ] = None,
    daily: Annotated[bool, typer.Option("--daily", help="Show days instead of months.")] = False,
    month: Annotated[
        int | None,
        typer.Option(
            "--month", parser=month_number, metavar="MONTH", help="Show or draw the days of this month, 1 to 12."
        ),
    ] = None,
    plot: Annotated[
        Path | None,
        plot_to(
            "Save a plot of --month, --week, --day or --year; default: the week with the most unserved energy, else"
            " with the highest import"
        ),
    ] = None,
    week: Annotated[
        date | None,
        typer.Option(
            "--week", parser=_date, metavar="DATE", help="Draw seven days from this date, such as 2026-07-03."
        ),
    ] = None,
    day: Annotated[
        date | None, typer.Option("--day", parser=_date, metavar="DATE", help="Draw one day, such as 2026-07-03.")
    ] = None,
    year: Annotated[
        str | None,
        typer.Option(
            "--year", metavar="COLUMN", help="Draw a column of the hourly table over the year, such as import_kw."
        ),
    ] = None,
    sources: Annotated[
        bool,
        typer.Option("--sources", help="Draw how much energy sun, battery and grid supplied to each use in the year."),
    ] = False,
    hour: Annotated[
        str | None,
        typer.Option(
            "--hour",
            metavar="TIME",
            help="Explain one step: what the battery did, and which setting or limit decided it. Wall-clock time, such"
            " as 2026-07-03T18:00.",
        ),
    ] = None,
    best: Annotated[
        bool, typer.Option("--best", help="With --hour: also show what a schedule with perfect foresight does.")
    ] = False,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show one strategy by month, or explain one hour. Save its hourly table or a plot."""
    from solarsim.errors import OutputError

    drawn = {"--month": month, "--week": week, "--day": day, "--year": year, "--sources": sources or None}
    spans = [option for option, value in drawn.items() if value is not None]
    if hour is not None and (daily or csv or plot or spans):
        raise OutputError(
            "--hour explains one step: it cannot be combined with --csv, --daily, --plot or a part of the year"
        )
    if len(spans) > 1:
        raise OutputError(f"{' and '.join(spans)}: choose one part of the year")
    if plot is None and spans not in ([], ["--month"]):
        raise OutputError(f"{spans[0]} needs --plot FILE")
    if csv is not None and plot is None and month is not None:
        raise OutputError(
            "--csv writes the whole year: leave out --month, which chooses days for the tables and the plot"
        )
    if best and hour is None:
        raise OutputError("--best needs --hour, for example --hour 2026-07-03T18:00 --best")
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
    present(
        result,
        json,
        plot,
        csv,
        drawn={"month": month, "week": week, "day": day, "column": year, "sources": sources},
        daily=daily or (month is not None and plot is None),
        month=month,
    )
