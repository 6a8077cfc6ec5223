"""Weather that was fetched, for a person and for a scenario: years in; tables, files and the scenario's table out."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from rich.table import Table

from solarsim.studies.weather import WeatherYears, YearOfWeather
from solarsim.studies.weather_get import FetchedWeather
from solarsim.views import weather as weather_view
from solarsim.views.tables import plain_table
from solarsim.views.texts import MONTHS

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_COLUMNS = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "temp_air_c", "wind_speed_m_s")


def page(result: FetchedWeather, out: Path | None = None) -> list[Any]:
    """Return what a person sees of weather that was fetched.

    Parameters
    ----------
    result : FetchedWeather
        The years.
    out : pathlib.Path, optional
        Where they are written: then the scenario's table ``weather`` is shown.

    Returns
    -------
    list
        Text and tables.
    """
    first = _first(result)
    several = len(result.years) > 1
    parts: list[Any] = [weather_view.place_line(result.place)]
    if several and result.typical is None:
        parts.append(f"Months of {first.source}, the year with the global irradiation nearest to the mean:")
    elif result.typical is not None:
        parts.append("Months of the typical year:")
    parts.append(weather_view.month_table(first))
    if several:
        parts.append(weather_view.years_table(result.years))
    if result.months:
        parts += [
            _choice_table(result),
            "Distance: Finkelstein-Schafer statistic of the month; 0: distributed as in all years.",
        ]
    parts += [weather_view.noon_check(first), *_label_lines(result)]
    if not result.notes:
        parts.append("No gaps and no repairs.")
    parts.append(f"Source: {result.title}, retrieved {result.retrieved}.")
    return parts if out is None else [*parts, "For the scenario file:", "", *_toml_lines(result, out), ""]


def _first(result: FetchedWeather) -> YearOfWeather:
    """Return the year that simulations should use: the typical one, else the real one nearest to the mean."""
    if result.typical is not None:
        return result.typical
    sums = [year.annual.ghi_kwh_m2 for year in result.years]
    mean = sum(sums) / len(sums)
    return min(result.years, key=lambda year: abs(year.annual.ghi_kwh_m2 - mean))


def _label_lines(result: FetchedWeather) -> list[str]:
    """Return whether the labels of the years are right, once where all say the same."""
    words: dict[str, list[str]] = {}
    for year in result.years:
        words.setdefault(weather_view.label_check(year), []).append(year.source)
    if len(words) == 1:
        return [f"Hour labels{' of all years' if len(result.years) > 1 else ''}: {next(iter(words))}."]
    return [f"Hour labels of {', '.join(years)}: {line}." for line, years in words.items()]


def _choice_table(result: FetchedWeather) -> Table:
    """Return from which year each month of the typical year is, and why."""
    table = plain_table("Month", "Year", *(f"Distance\n{name}" for name in ("GHI", "temp.", "humidity")),
                        "Wind minus\nmean, m/s")  # fmt: skip
    for name, each in zip(MONTHS, result.months, strict=True):
        distances = (each.ghi_distance, each.temp_distance, each.humidity_distance)
        table.add_row(
            name,
            str(each.year),
            *(f"{value:.3f}" for value in distances),
            f"{round(each.wind_apart_m_s, 2) + 0.0:+.2f}",
        )
    return table


def weather_names(out: Path, first_year: int, last_year: int, typical: bool) -> tuple[Path, ...]:
    """Return the files that ``weather_files`` will write.

    Parameters
    ----------
    out : pathlib.Path
        As the user named it.
    first_year, last_year : int
        The real years.
    typical : bool
        Whether there is a typical year.

    Returns
    -------
    tuple of pathlib.Path
        The typical year has the name itself, and so has a single real year; several have their year in the name.
    """
    if first_year == last_year and not typical:
        return (out,)
    real = tuple(out.with_name(f"{out.stem}-{year}{out.suffix}") for year in range(first_year, last_year + 1))
    return (out, *real) if typical else real


def weather_files(result: FetchedWeather, out: Path) -> dict[Path, bytes]:
    """Write every year as a CSV of weather, whose numbers read back the same.

    Parameters
    ----------
    result : FetchedWeather
        The years.
    out : pathlib.Path
        Name of the file; see ``weather_names``.

    Returns
    -------
    dict of pathlib.Path to bytes
        Content of each file.
    """
    names = weather_names(out, *_span(result), result.typical is not None)
    years = result.years if result.typical is None else (result.typical, *result.years)
    return {path: _csv(result, year).encode() for path, year in zip(names, years, strict=True)}


def _span(result: FetchedWeather) -> tuple[int, int]:
    return int(result.years[0].source), int(result.years[-1].source)


def _csv(result: FetchedWeather, year: YearOfWeather) -> str:
    """Return a year as text: remarks, names of columns, a row for each hour."""
    place, typical = result.place, year is result.typical
    first, last = _span(result)
    span = f"{first}" if first == last else f"{first}-{last}"
    years = f"typical year of months of {span}, chosen as in ISO 15927-4" if typical else f"year {year.source}"
    remarks = (
        f"weather: {years}",
        f"source: {result.title}; retrieved {result.retrieved}; its terms of use apply",
        f"place: latitude_deg = {place.latitude_deg}, longitude_deg = {place.longitude_deg},"
        f" elevation_m = {place.elevation_m}, utc_offset_h = {place.utc_offset_h}",
        "rows: hours labeled by their start, in that clock; 29 February is left out",
    )
    columns = [getattr(year.weather, name).tolist() for name in _COLUMNS]
    rows = zip(_labels(year, typical), *columns, strict=True)
    lines = [*(f"# {line}" for line in remarks), ",".join(["year" if typical else "time", *_COLUMNS])]
    lines += [",".join([label, *map(repr, values)]) for label, *values in rows]
    return "\n".join(lines) + "\n"


def _labels(year: YearOfWeather, typical: bool) -> list[str]:
    """Return the first cell of each row: the time; of a typical year, which has no time, the year of its month."""
    import numpy as np

    own = year.weather.year_of_month
    days = np.arange("2001-01-01", "2002-01-01", dtype="datetime64[D]")
    months = np.repeat(days.astype("datetime64[M]").astype(np.int64) % 12, 24).tolist()
    if typical:
        return [str(own[month]) for month in months]
    hours = np.arange("2001-01-01T00", "2002-01-01T00", dtype="datetime64[h]")
    return [f"{own[0]}{text[4:]}" for text in np.datetime_as_string(hours, unit="m").tolist()]


def weather_table(result: FetchedWeather, out: Path) -> dict[str, Any]:
    """Return the table ``weather`` of a scenario beside the files of ``weather_files``.

    Parameters
    ----------
    result : FetchedWeather
        The years.
    out : pathlib.Path
        As for ``weather_files``.

    Returns
    -------
    dict
        As read from TOML. The typical year is the one that runs use; without one it is the real year whose global
        irradiation is nearest to the mean.
    """
    names = [path.name for path in weather_names(out, *_span(result), result.typical is not None)]
    if result.typical is None:
        names.insert(0, names.pop(result.years.index(_first(result))))
    place = {name: getattr(result.place, name) for name in result.place.facts() if name != "name"}
    table = {"file": names[0], "format": "csv", "place": place}
    return table | ({"other_files": names[1:]} if names[1:] else {})


def _toml_lines(result: FetchedWeather, out: Path) -> list[str]:
    """Return the scenario's table as it is typed, in short lines that no screen folds."""
    from tomlkit import item

    table = weather_table(result, out)
    lines = ["[weather]", *(f"{key} = {item(table[key]).as_string()}" for key in ("file", "format"))]
    others = [item(name).as_string() for name in table.get("other_files", ())]
    if others:
        a_line = max(1, 72 // (max(map(len, others)) + 2))
        rows = [others[at : at + a_line] for at in range(0, len(others), a_line)]
        lines += ["other_files = [", *(f"    {', '.join(row)}," for row in rows), "]"]
    return [*lines, "[weather.place]", *(f"{name} = {value}" for name, value in table["place"].items())]


def figure(result: FetchedWeather) -> "Figure":
    """Draw the year that simulations should use; see ``views.weather.figure``.

    Parameters
    ----------
    result : FetchedWeather
        The years.

    Returns
    -------
    matplotlib.figure.Figure
        Three panels above each other, 12 x 10 inches.
    """
    return weather_view.figure(WeatherYears(None, (_first(result),)))
