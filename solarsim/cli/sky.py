"""The sky over the site: what a weather file, or the weather of a scenario, holds."""

from pathlib import Path
from typing import Annotated

import typer

from solarsim.cli.terminal import AsJson, Force, ScenarioPath, check_outputs, read, show

_STATES_ITS_PLACE = ("epw", "tmy3", "tm2")


def _format(text: str) -> str:
    if text == "csv":
        raise typer.BadParameter("a csv states no place; name it in the [weather] of a scenario")
    if text not in _STATES_ITS_PLACE:
        raise typer.BadParameter(f"{text!r} is not known; allowed: {', '.join(_STATES_ITS_PLACE)}")
    return text


def weather(
    path: ScenarioPath = None,
    file: Annotated[
        Path | None, typer.Option("--file", help="A weather file alone, in place of a scenario.", show_default=False)
    ] = None,
    kind: Annotated[
        str | None, typer.Option("--format", parser=_format, metavar="FORMAT", help="Of that file: epw, tmy3 or tm2.")
    ] = None,
    plot: Annotated[Path | None, typer.Option("--plot", help="Draw the year to this file (png, svg, pdf).")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show a year of weather, and whether its clock is right."""
    from solarsim.errors import OutputError, WeatherError

    if file is not None and path is not None:
        raise WeatherError("give either a scenario or --file, not both")
    if (file is None) != (kind is None):
        raise WeatherError("--file and --format belong together: --file FILE --format epw")
    check_outputs(path, force, picture=plot)
    if plot is not None and file is not None and plot.resolve() == file.resolve():
        raise OutputError(f"{plot}: is the weather file itself")

    from solarsim.studies.weather import skies_of, sky_of_file

    skies = skies_of(read(path)) if file is None else (sky_of_file(file, kind),)  # type: ignore[arg-type]
    first = skies[0]
    if plot is not None:
        from solarsim.views.files import write_whole
        from solarsim.views.month_plot import figure_bytes
        from solarsim.views.weather_plot import sky_figure

        write_whole(plot, figure_bytes(sky_figure(first, first.weather.place), plot))
    if json:
        from solarsim.views.weather_records import skies_json

        print(skies_json(skies))
        return
    from solarsim.views.weather_tables import sky_heading, sky_notes, sky_table, years_table

    several = [years_table(skies)] if len(skies) > 1 else []
    written = [f"Written: {plot}"] if plot is not None else []
    show(sky_heading(first), sky_table(first), *several, *sky_notes(skies), *written)
