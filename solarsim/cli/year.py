"""The year of one scenario: every strategy side by side, one strategy's hours, what it saves; a first scenario."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from solarsim.cli.terminal import (
    CAUTION,
    AsJson,
    Changes,
    Force,
    ScenarioPath,
    StrategyName,
    check_outputs,
    heading,
    month_number,
    read,
    show,
    tell_notes,
    working,
)

if TYPE_CHECKING:
    from solarsim.scenario.model import Scenario
    from solarsim.studies.compare.compare import Comparison
    from solarsim.studies.compare.finer_steps import StepComparison


def _finer_minutes(text: str) -> int:
    if text not in ("30", "15"):
        raise typer.BadParameter(f"{text!r} is no finer step, must be 30 or 15 (minutes)")
    return int(text)


def compare(
    path: ScenarioPath = None,
    changes: Changes = None,
    best: Annotated[bool, typer.Option("--best", help="Add the optimum and each strategy's share of it.")] = False,
    months: Annotated[bool, typer.Option("--months", help="Also set the bills side by side month by month.")] = False,
    finer: Annotated[
        int | None,
        typer.Option(
            "--finer",
            parser=_finer_minutes,
            metavar="MINUTES",
            help="Also run steps of 30 or 15 minutes: what hours hide.",
        ),
    ] = None,
    json: AsJson = False,
) -> None:
    """Set every strategy side by side: kWh, bill, savings."""
    scenario = read(path, changes)
    comparison = compared(scenario, best)
    steps = None if finer is None else _by_finer_steps(scenario, finer, comparison)
    if json:
        from solarsim.views.records import comparison_json

        print(comparison_json(comparison, steps))
        return
    from solarsim.views.tables import bills_by_month_table, comparison_notes, comparison_table

    tables = [comparison_table(comparison), *([bills_by_month_table(comparison)] if months else [])]
    told = [heading(comparison.home), *tables, *comparison_notes(comparison)]
    if steps is not None:
        from solarsim.views.step_tables import steps_notes, steps_table

        told += [steps_table(steps), *steps_notes(steps)]
    show(*told, CAUTION)


def _by_finer_steps(scenario: "Scenario", minutes: int, comparison: "Comparison") -> "StepComparison":
    with working(f"running hours and steps of {minutes} minutes"):
        from solarsim.studies.compare.finer_steps import compare_steps

        found = compare_steps(scenario, minutes, comparison)
    told = comparison.home.notes(*comparison.runs)
    tell_notes(note for note in found.finer.home.notes(*found.finer.runs) if note not in told)
    return found


def flows(
    path: ScenarioPath = None,
    changes: Changes = None,
    strategy: StrategyName = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="Write the hourly table to this file.")] = None,
    plot: Annotated[Path | None, typer.Option("--plot", help="Draw one month to this file (png, svg, pdf).")] = None,
    month: Annotated[
        int | None, typer.Option("--month", parser=month_number, metavar="MONTH", help="Month to draw, 1 to 12.")
    ] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show one strategy by month; write its hours, draw a month."""
    from solarsim.errors import OutputError
    from solarsim.views.files import write_whole

    if (plot is None) != (month is None):
        raise OutputError("--plot and --month belong together: --plot FILE --month 7")
    check_outputs(path, force, table=csv, picture=plot)
    scenario = read(path, changes)
    chosen = scenario.strategy(strategy) if strategy is not None else scenario.strategies[0]

    with working("running the year"):
        from solarsim.home import home_from
        from solarsim.run import simulate

        home = home_from(scenario)
        run = simulate(scenario, chosen.name, home)
    tell_notes(home.notes(run))
    if csv is not None:
        from solarsim.views.records import hourly_csv

        write_whole(csv, hourly_csv(run.flows).encode())
    if plot is not None and month is not None:
        from solarsim.views.month_plot import figure_bytes, month_figure

        write_whole(plot, figure_bytes(month_figure(run, month, f"{scenario.name}: {chosen.name}"), plot))
    if json:
        from solarsim.views.records import run_json

        print(run_json(home, run))
        return
    from solarsim.views.tables import monthly_notes, monthly_table

    written = [f"Written: {file}" for file in (csv, plot) if file is not None]
    show(
        heading(home),
        f"Strategy: {chosen.name}",
        monthly_table(run, scenario.rate_plan.currency),
        *monthly_notes(run),
        *written,
    )


def compared(scenario: "Scenario", best: bool) -> "Comparison":
    """Run every strategy, with a sign of life, and tell what a person should know of the result."""
    with working("running every strategy" + (" and finding the optimum" if best else "")):
        from solarsim.studies.compare.compare import compare as compare_all

        comparison = compare_all(scenario, best=best)
    tell_notes(comparison.home.notes(*comparison.runs))
    return comparison
