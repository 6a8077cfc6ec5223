"""``roof``: where the energy of the arrays goes, from the irradiance to the inverter."""

from pathlib import Path
from typing import Annotated

from solarsim.cli.terminal import (
    AsJson,
    Changes,
    Force,
    ScenarioPath,
    check_outputs,
    plot_to,
    present,
    read_part,
    working,
)


def roof(
    path: ScenarioPath = None,
    changes: Changes = None,
    plot: Annotated[Path | None, plot_to("Save a plot of faces, sun path and horizon, losses and months")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show where the roof's energy goes, from sunlight to inverter."""
    check_outputs(path, force, picture=plot)
    from solarsim.scenario.model import RoofScenario

    scenario = read_part(path, changes, RoofScenario)
    with working("computing production"):
        from solarsim.studies.roof import roof as losses_of

        result = losses_of(scenario)
    present(result, json, plot)
