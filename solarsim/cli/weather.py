"""``weather``: a year of weather by month, and whether its clock is right; weather by coordinates."""

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

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

if TYPE_CHECKING:
    from solarsim.studies.weather_get import FetchedWeather

_STATES_ITS_PLACE = ("epw", "tmy3", "tm2", "psm", "pvgis")
_NUMBER = r"[+-]?\d{1,4}(?:\.\d+)?"
_PLACE = re.compile(rf"\s*({_NUMBER})\s*,\s*({_NUMBER})\s*")
_YEARS = re.compile(r"(\d{4})(?:-(\d{4}))?")


def _format(text: str) -> str:
    """Return a format that states its own place."""
    if text == "csv":
        raise typer.BadParameter("a CSV file does not state its place; name file and place in [weather] of a scenario")
    if text not in _STATES_ITS_PLACE:
        raise typer.BadParameter(f"{text!r} is not known; allowed: {', '.join(_STATES_ITS_PLACE)}")
    return text


class _Place(NamedTuple):
    """Where, north and east positive [deg]; a class of its own, since typer takes a plain tuple for two words."""

    latitude_deg: float
    longitude_deg: float


class _Years(NamedTuple):
    """Whole calendar years, both included."""

    first: int
    last: int


def _place(text: str) -> _Place:
    """Return latitude and longitude."""
    found = _PLACE.fullmatch(text)
    if found is None or abs(float(found[1])) > 90 or abs(float(found[2])) > 180:
        raise typer.BadParameter(
            f"{text!r} must be latitude and longitude in degrees, north and east positive: --at 36.1,-79.95"
        )
    return _Place(float(found[1]), float(found[2]))


def _years(text: str) -> _Years:
    """Return the first and the last year."""
    found = _YEARS.fullmatch(text)
    if found is None or int(found[2] or found[1]) < int(found[1]):
        raise typer.BadParameter(f"{text!r} must be one year, or the first and the last: --years 2015-2024")
    return _Years(int(found[1]), int(found[2] or found[1]))


def weather(
    path: ScenarioPath = None,
    changes: Changes = None,
    file: Annotated[
        Path | None,
        typer.Option("--file", metavar="FILE", help="Show this weather file, without a scenario.", show_default=False),
    ] = None,
    kind: Annotated[
        str | None,
        typer.Option(
            "--format", parser=_format, metavar="FORMAT", help="Format of that file: epw, tmy3, tm2, psm or pvgis."
        ),
    ] = None,
    get: Annotated[
        str | None,
        typer.Option("--get", metavar="SERVICE", help="Fetch weather by coordinates: nasa-power, nsrdb or era5."),
    ] = None,
    at: Annotated[
        _Place | None,
        typer.Option(
            "--at",
            parser=_place,
            metavar="LAT,LON",
            help="With --get: coordinates in degrees, north and east positive.",
        ),
    ] = None,
    years: Annotated[
        _Years | None,
        typer.Option(
            "--years",
            parser=_years,
            metavar="FIRST-LAST",
            help="With --get: first and last calendar year, or one year.",
        ),
    ] = None,
    typical: Annotated[
        bool, typer.Option("--typical", help="With --get: also make a typical year from months of these years.")
    ] = False,
    time_zone: Annotated[
        str | None,
        typer.Option(
            "--time-zone",
            metavar="ZONE",
            help="With --get: time zone of the files (default: whole hours from UTC, by longitude).",
        ),
    ] = None,
    elevation_m: Annotated[
        float | None,
        typer.Option(
            "--elevation", metavar="METERS", help="With --get: elevation of the site (default: as the service states)."
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FILE",
            help="With --get: write the weather as CSV; each of several years is a file with the year in its name.",
        ),
    ] = None,
    plot: Annotated[Path | None, plot_to("Save a plot of the year")] = None,
    force: Force = False,
    json: AsJson = False,
) -> None:
    """Show a year of weather and check its clock, or fetch weather."""
    from solarsim.errors import OutputError, WeatherError

    asked = {"--at": at, "--years": years, "--typical": typical or None, "--time-zone": time_zone,
             "--elevation": elevation_m, "--out": out}  # fmt: skip
    if get is not None:
        if path is not None or file is not None or kind is not None or changes:
            raise WeatherError("--get fetches weather by coordinates; leave out SCENARIO, --file, --format and --set")
        if at is None or years is None:
            raise WeatherError("--get needs a place and years: --get nasa-power --at 36.1,-79.95 --years 2015-2024")
        _check_files(out, years, typical, plot, force)
        result = _fetched(get, at, years, typical, time_zone, elevation_m)
        _show_fetched(result, out, plot, json)
        return
    alone = [name for name, value in asked.items() if value is not None]
    if alone:
        raise WeatherError(f"{alone[0]} needs --get SERVICE")
    if file is not None and path is not None:
        raise WeatherError("name a scenario or --file, not both")
    if file is not None and changes:
        raise WeatherError("--set changes a scenario; it cannot be combined with --file")
    if (file is None) != (kind is None):
        raise WeatherError("--file and --format need each other: --file FILE --format epw")
    check_outputs(path, force, picture=plot)
    if plot is not None and file is not None and plot.resolve() == file.resolve():
        raise OutputError(f"{plot}: is the weather file itself")
    from solarsim.scenario.model import WeatherScenario
    from solarsim.studies.weather import weather_file_year, weather_year

    if file is None:
        present(weather_year(read_part(path, changes, WeatherScenario)), json, plot)
    else:
        present(weather_file_year(file, kind), json, plot)  # type: ignore[arg-type]


def _check_files(out: Path | None, years: _Years, typical: bool, plot: Path | None, force: bool) -> None:
    """Check, before anything is fetched, that every file can be written."""
    from solarsim.errors import OutputError
    from solarsim.views.files import check_writable
    from solarsim.views.weather_get import weather_names

    names = () if out is None else weather_names(out, *years, typical)
    for name in names:
        check_writable(name, force)
    check_outputs(None, force, picture=plot)
    if plot is not None and plot.resolve() in [name.resolve() for name in names]:
        raise OutputError(f"{plot}: cannot be both the weather and the picture")


def _fetched(
    service: str,
    at: _Place,
    years: _Years,
    typical: bool,
    zone: str | None,
    elevation: float | None,
) -> "FetchedWeather":
    """Fetch, and show at a terminal which year is on its way."""
    from solarsim.studies.weather_get import weather_get

    with working(f"fetching from {service}") as told:
        return weather_get(
            service, *at, *years, typical=typical, time_zone=zone, elevation_m=elevation,
            told=lambda words: told.say(f"fetching {words}"),
        )  # fmt: skip


def _show_fetched(result: "FetchedWeather", out: Path | None, plot: Path | None, json: bool) -> None:
    """Write the files and show the years."""
    from solarsim.views.weather_get import weather_files

    files = {} if out is None else weather_files(result, out)
    present(result, json, plot, files=files, out=out)
