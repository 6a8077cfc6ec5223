"""The years to come: what a system is worth over its life, and how sure that is."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import (
    CAUTION,
    AsJson,
    Changes,
    Force,
    ScenarioPath,
    check_outputs,
    heading,
    read,
    show,
    tell_notes,
    working,
)
from solarsim.cli.year import OnlyStrategy


def life(
    path: ScenarioPath = None,
    changes: Changes = None,
    strategy: OnlyStrategy = None,
    plot: Annotated[
        Path | None, typer.Option("--plot", help="Draw the cash by year to this file (png, svg, pdf).")
    ] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Follow the system through its years: cash, payback, worth."""
    from solarsim.studies.life.life import life as life_of
    from solarsim.studies.life.life import settings_of
    from solarsim.studies.savings import costs_of
    from solarsim.views.files import write_whole

    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    costs_of(scenario)
    years = settings_of(scenario).years
    if strategy is not None:
        scenario.strategy(strategy)
    with working(f"running {years} years"):
        study = life_of(scenario, strategy)
    tell_notes(study.home.notes())
    best, currency = study.best, scenario.rate_plan.currency
    if plot is not None:
        from solarsim.views.life_plot import cash_figure
        from solarsim.views.month_plot import figure_bytes

        write_whole(plot, figure_bytes(cash_figure(best, currency, f"{scenario.name}: {best.strategy}"), plot))
    if json:
        from solarsim.views.life_records import life_json

        print(life_json(study))
        return
    from solarsim.views.life_tables import life_notes, life_table, years_table

    show(
        heading(study.home),
        life_table(study),
        f"Year by year: {best.strategy}",
        years_table(best, currency),
        *life_notes(study),
        *([f"Written: {plot}"] if plot is not None else []),
        CAUTION,
    )
