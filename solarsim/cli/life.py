"""``life``: cash by year, payback, NPV and IRR over the system's life."""

from pathlib import Path
from typing import Annotated

from solarsim.cli.terminal import (
    AsJson,
    Changes,
    Force,
    OnlyStrategy,
    ScenarioPath,
    check_outputs,
    plot_to,
    present,
    read,
    working,
)


def life(
    path: ScenarioPath = None,
    changes: Changes = None,
    strategy: OnlyStrategy = None,
    plot: Annotated[Path | None, plot_to("Save a plot of cash by year")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Simulate every year of the system's life: cash, payback, NPV."""
    check_outputs(path, force, picture=plot)
    scenario = read(path, changes)
    with working("running every year"):
        from solarsim.studies.life.life import life as life_of

        result = life_of(scenario, strategy)
    present(result, json, plot)
