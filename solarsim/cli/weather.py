"""``weather``: a year of weather by month, and whether its clock is right."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import AsJson, Changes, Force, ScenarioPath, check_outputs, plot_to, present, read_part

_STATES_ITS_PLACE = ("epw", "tmy3", "tm2", "psm", "pvgis")


def _format(text: str) -> str:
    """Return a format that states its own place."""
    if text == "csv":
        raise typer.BadParameter("a CSV does not state its place; name it in [weather] of a scenario")
    if text not in _STATES_ITS_PLACE:
        raise typer.BadParameter(f"{text!r} is not known; allowed: {', '.join(_STATES_ITS_PLACE)}")
    return text


def weather(
    path: ScenarioPath = None,
    changes: Changes = None,
    file: Annotated[
        Path | None,
        typer.Option("--file", metavar="FILE", help="A weather file alone, without a scenario.", show_default=False),
    ] = None,
    kind: Annotated[
        str | None,
        typer.Option(
            "--format", parser=_format, metavar="FORMAT", help="Format of that file: epw, tmy3, tm2, psm or pvgis."
        ),
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a plot of the year")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show a year of weather by month and check its clock."""
    from solarsim.errors import OutputError, WeatherError

    if file is not None and path is not None:
        raise WeatherError("name either a scenario or --file, not both")
    if file is not None and changes:
        raise WeatherError("--set changes a scenario; a weather file alone has no keys")
    if (file is None) != (kind is None):
        raise WeatherError("--file and --format belong together: --file FILE --format epw")
    check_outputs(path, force, picture=plot)
    if plot is not None and file is not None and plot.resolve() == file.resolve():
        raise OutputError(f"{plot}: is the weather file itself")
    from solarsim.scenario.model import WeatherScenario
    from solarsim.studies.weather import weather_file_year, weather_year

    if file is None:
        present(weather_year(read_part(path, changes, WeatherScenario)), json, plot)
    else:
        present(weather_file_year(file, kind), json, plot)  # type: ignore[arg-type]
