"""Weather for a person at a terminal: years of weather in, rich tables and lines out."""

from rich.box import SIMPLE_HEAD
from rich.table import Table

from solarsim.studies.weather import Sky
from solarsim.views.tables import MONTHS

_RIGHT_WITHIN_MIN = 20
_ODD_NOON_H = 1.5


def sky_heading(sky: Sky) -> str:
    """Say in one line where a year of weather was taken, and by which clock.

    Parameters
    ----------
    sky : Sky
        A year.

    Returns
    -------
    str
        Name, coordinates, height and clock.
    """
    weather = sky.weather
    north, east = weather.latitude_deg, weather.longitude_deg
    return (
        f"{weather.place}: {abs(north):.2f} {'N' if north >= 0 else 'S'}, {abs(east):.2f} {'E' if east >= 0 else 'W'},"
        f" {weather.elevation_m:.0f} m, UTC{weather.utc_offset_h:+g}"
    )


def sky_table(sky: Sky) -> Table:
    """Show a year of weather by month.

    Parameters
    ----------
    sky : Sky
        A year.

    Returns
    -------
    rich.table.Table
        At most 80 columns wide.
    """
    years = sky.weather.year_of_month
    headings = [
        "Global\nkWh/m2",
        "Direct\nkWh/m2",
        "Diffuse\nkWh/m2",
        "Mean\nC",
        "Lowest\nC",
        "Highest\nC",
        "Wind\nm/s",
    ]
    table = _table("Month", *headings, *(["From\nyear"] if years else []))
    for place, name in enumerate(MONTHS):
        cells = [f"{values[place]:,.1f}" for values in sky.monthly.values()]
        table.add_row(name, *cells, *([str(years[place])] if years else []), end_section=place == 11)
    table.add_row("Year", *(f"{value:,.1f}" for value in sky.annual.values()))
    return table


def years_table(skies: tuple[Sky, ...]) -> Table:
    """Set several years of one place side by side, and how far each lies from their mean.

    Parameters
    ----------
    skies : tuple of Sky
        The year that runs take first.

    Returns
    -------
    rich.table.Table
        One row for each year, then their mean.
    """
    table = _table("Year", "Global\nkWh/m2", "From\nmean", "Direct\nkWh/m2", "Diffuse\nkWh/m2", "Mean\nC", "Lowest\nC")
    keys = ("dni_kwh_m2", "dhi_kwh_m2", "temp_mean_c", "temp_min_c")
    mean = sum(sky.annual["ghi_kwh_m2"] for sky in skies) / len(skies)
    for sky in skies:
        ghi = sky.annual["ghi_kwh_m2"]
        cells = [f"{ghi:,.1f}", f"{ghi / mean - 1:+.1%}", *(f"{sky.annual[key]:,.1f}" for key in keys)]
        table.add_row(sky.source, *cells)
    table.add_section()
    means = [f"{sum(sky.annual[key] for sky in skies) / len(skies):,.1f}" for key in keys[:3]]
    table.add_row("mean", f"{mean:,.1f}", "", *means, f"{min(sky.annual['temp_min_c'] for sky in skies):,.1f}")
    return table


def sky_notes(skies: tuple[Sky, ...]) -> list[str]:
    """Say whether the clock of each year is right, and what was repaired.

    Parameters
    ----------
    skies : tuple of Sky
        The year that runs take first.

    Returns
    -------
    list of str
        Sentences.
    """
    if len(skies) == 1:
        return _notes_of(skies[0])
    told = [f"{sky.source}: {note}" for sky in skies for note in _notes_of(sky)]
    return [f"Runs of the scenario take {skies[0].source}.", *told]


def _notes_of(sky: Sky) -> list[str]:
    noon_min = round(sky.solar_noon_h * 60)
    noon = f"By its longitude and clock the sun is highest at {noon_min // 60 % 24:02d}:{noon_min % 60:02d} on average"
    odd = abs(sky.solar_noon_h - 12) > _ODD_NOON_H
    zone = (
        f"{noon}: that is far from 12:00; check the sign of the longitude and the time zone."
        if odd
        else f"{noon}: the time zone fits."
    )
    offset = sky.label_offset_min
    if offset is None:
        labels = "Too few hours have direct sun to tell where the hour labels stand."
    elif abs(offset) <= _RIGHT_WITHIN_MIN:
        off = "within 10 min" if offset == 0 else f"{abs(offset)} min {'late' if offset < 0 else 'early'}, near enough"
        labels = f"Global, direct and diffuse agree with a sun at that clock ({off}): labels stand where they should."
    else:
        labels = "Global, direct and diffuse do not agree with a sun at that clock: see the note."
    repairs = sky.weather.notes
    return [zone, labels, *([f"Note: {note}." for note in repairs] or ["Nothing was missing, nothing was repaired."])]


def _table(first: str, *numbers: str) -> Table:
    table = Table(box=SIMPLE_HEAD, padding=(0, 0, 0, 1), pad_edge=False)
    table.add_column(first, overflow="fold")
    for heading in numbers:
        table.add_column(heading, justify="right", no_wrap=True)
    return table
