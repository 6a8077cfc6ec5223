"""``tune``: the settings with the lowest cost that the inverter can be programmed with."""

from math import isfinite
from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import (
    AsJson,
    Changes,
    Force,
    ScenarioPath,
    check_outputs,
    plot_to,
    present,
    read,
    whole_number,
    working,
    write_scenario,
)

MOST_RUNS = 1_000_000
COUNTED = "tables tried"


def _number(text: str | float) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not isfinite(value):
        raise typer.BadParameter(f"{text!r} must be a number")
    return value


def _share(text: str | float) -> float:
    """Read a share: 0.3, 30% or "30 %", as in a scenario."""
    from solarsim.units import number_from

    try:
        return number_from(str(text), "1") if "%" in str(text) else _number(text)
    except ValueError as error:
        raise typer.BadParameter(f"{text!r} {error}") from None


def _forecast_error(text: str) -> float:
    value = _share(text)
    if not 0.0 <= value <= 2.0:
        raise typer.BadParameter(f"{text!r} must be from 0 to 2; 0.3 is 30%")
    return value


def _season(text: str) -> tuple[str, str]:
    first, slash, last = text.partition("/")
    if not slash:
        raise typer.BadParameter(f"{text!r} must be two dates such as 11-01/02-28", param_hint="--season")
    return first, last


def tune(
    path: ScenarioPath = None,
    changes: Changes = None,
    reserve: Annotated[
        float | None,
        typer.Option(
            "--reserve",
            parser=_share,
            metavar="SHARE",
            help="State of charge kept for outages, from 0 to below 1, or as 30% (default: of the first strategy).",
        ),
    ] = None,
    wear: Annotated[
        float | None,
        typer.Option(
            "--wear",
            parser=_number,
            metavar="PRICE",
            help="Cost of battery wear per kWh discharged; 0 leaves it out (default: from the aging of its cells).",
        ),
    ] = None,
    worth: Annotated[
        float,
        typer.Option(
            "--worth",
            parser=_share,
            metavar="SHARE",
            help="Minimum yearly savings for keeping a window or setting, as a share of the bill without a system.",
        ),
    ] = 0.001,
    season: Annotated[
        list[str] | None,
        typer.Option(
            "--season",
            metavar="MM-DD/MM-DD",
            help="First and last day of a season; repeatable; the rest of the year is one more (default: chosen by the"
            " search).",
        ),
    ] = None,
    holidays: Annotated[
        bool, typer.Option("--holidays", help="Let windows depend on holidays, which inverter clocks do not know.")
    ] = False,
    seed: Annotated[
        int, typer.Option("--seed", parser=whole_number(0, 2**31 - 1), metavar="NUMBER", help="Random seed.")
    ] = 1,
    runs: Annotated[
        int,
        typer.Option(
            "--runs",
            parser=whole_number(1, MOST_RUNS),
            metavar="NUMBER",
            help="Maximum number of years to simulate in the search.",
        ),
    ] = 15_000,
    ladder: Annotated[
        bool,
        typer.Option("--ladder", help="Also compare controllers that plan ahead every night, and the optimum."),
    ] = False,
    forecast_error: Annotated[
        float | None,
        typer.Option(
            "--forecast-error",
            parser=_forecast_error,
            metavar="SHARE",
            help="With --ladder: error of a daily forecast of sun and load (default: 0.3).",
        ),
    ] = None,
    write: Annotated[
        Path | None,
        typer.Option("--write", metavar="FILE", help="Write the scenario with the tuned strategy, comments kept."),
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a plot of a mean day of each season, before and after")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Search for the inverter settings with the lowest yearly cost, few enough to program."""
    if forecast_error is not None and not ladder:
        raise typer.BadParameter("needs --ladder", param_hint="--forecast-error")
    check_outputs(path, force, write, plot)
    seasons = [_season(text) for text in season or []]
    scenario = read(path, changes)
    with working("measuring what the battery could save", COUNTED) as told:
        from solarsim.studies.tune.tune import tune as tune_of
        from solarsim.studies.tune.tune import with_ladder

        result = tune_of(
            scenario,
            reserve=reserve,
            wear=wear,
            worth=worth,
            holidays=holidays,
            seasons=seasons,
            seed=seed,
            runs=runs,
            progress=told,
        )
        if ladder:
            told.say("comparing controllers that plan, in eight years")
            result = with_ladder(result, 0.3 if forecast_error is None else forecast_error)
    if write is not None:
        write_scenario(result.scenario_tuned, write)
    present(result, json, plot)
