"""Years of weather for a person: years in; tables, sentences and a figure out."""

from typing import TYPE_CHECKING, Any

from rich.table import Table

from solarsim.scenario.site import MONTH_DAYS
from solarsim.studies.weather import Place, WeatherSums, WeatherYears, YearOfWeather
from solarsim.views.tables import plain_table
from solarsim.views.texts import MONTHS

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_NEAR_MIN = 20
_FAR_FROM_NOON_H = 1.5
#: Where the upper edge of the sun, lifted by refraction, meets the horizon.
_RISE_DEG = -0.83


def page(result: WeatherYears) -> list[Any]:
    """Return what a person sees of years of weather: the first by month, all side by side, the check of their clocks.

    Parameters
    ----------
    result : WeatherYears
        One year or several.

    Returns
    -------
    list
        Text and tables.
    """
    first, several = result.years[0], len(result.years) > 1
    sentences = [f"{each.source}: {line}" if several else line for each in result.years for line in _checks(each)]
    if not result.notes:
        sentences.append("No gaps and no repairs.")
    parts: list[Any] = [place_line(first.place), month_table(first)]
    if several:
        parts += [years_table(result.years), f"Simulations use {first.source}."]
    return parts + sentences


def place_line(place: Place) -> str:
    """Return name, coordinates, elevation and clock in one line."""
    north, east = place.latitude_deg, place.longitude_deg
    return (
        f"{place.name}: {abs(north):.2f} {'N' if north >= 0 else 'S'}, {abs(east):.2f} {'E' if east >= 0 else 'W'},"
        f" {place.elevation_m:.0f} m, UTC{place.utc_offset_h:+g}"
    )


def _numbers(sums: WeatherSums) -> list[str]:
    """Return the cells of a month or of the year."""
    values = (sums.ghi_kwh_m2, sums.dni_kwh_m2, sums.dhi_kwh_m2, sums.temp_mean_c, sums.temp_min_c, sums.temp_max_c)
    return [f"{value:,.1f}" for value in (*values, sums.wind_speed_m_s)]


def month_table(year: YearOfWeather) -> Table:
    """Return a year of weather by month."""
    dated = year.months[0].year_of_month is not None
    irradiation = [f"{name}\nkWh/m2" for name in ("GHI", "DNI", "DHI")]
    temperature = [f"{name}\n°C" for name in ("Mean", "Lowest", "Highest")]
    table = plain_table("Month", *irradiation, *temperature, "Wind\nm/s", *(["Source\nyear"] if dated else []))
    for name, sums in zip(MONTHS, year.months, strict=True):
        table.add_row(name, *_numbers(sums), *([str(sums.year_of_month)] if dated else []))
    table.add_section()
    table.add_row("Year", *_numbers(year.annual))
    return table


def years_table(years: tuple[YearOfWeather, ...]) -> Table:
    """Return several years of one place side by side, with the deviation of each from their mean."""
    table = plain_table(
        "Year", "GHI\nkWh/m2", "Against\nmean", "DNI\nkWh/m2", "DHI\nkWh/m2", "Mean\n°C", "Lowest\n°C"
    )  # fmt: skip
    sums = [year.annual for year in years]
    mean = sum(each.ghi_kwh_m2 for each in sums) / len(sums)
    others = [(each.dni_kwh_m2, each.dhi_kwh_m2, each.temp_mean_c, each.temp_min_c) for each in sums]
    for year, cells in zip(years, others, strict=True):
        ghi = year.annual.ghi_kwh_m2
        table.add_row(
            year.source, f"{ghi:,.1f}", f"{round(ghi / mean - 1, 3) + 0.0:+.1%}", *(f"{value:,.1f}" for value in cells)
        )
    table.add_section()
    *columns, lowest = zip(*others, strict=True)
    means = [sum(column) / len(column) for column in columns]
    table.add_row("mean", f"{mean:,.1f}", "", *(f"{value:,.1f}" for value in (*means, min(lowest))))
    return table


def _checks(year: YearOfWeather) -> list[str]:
    """Return whether time zone and hour labels of a year are right."""
    return [noon_check(year), f"Hour labels: {label_check(year)}."]


def noon_check(year: YearOfWeather) -> str:
    """Return a sentence: whether the time zone fits the longitude."""
    noon_min = round(year.solar_noon_h * 60)
    noon = f"Mean solar noon, from longitude and time zone: {noon_min // 60 % 24:02d}:{noon_min % 60:02d}"
    far = abs(year.solar_noon_h - 12) > _FAR_FROM_NOON_H
    zone = "far from 12:00; check the sign of the longitude and the time zone" if far else "plausible"
    return f"{noon}, {zone}."


def label_check(year: YearOfWeather) -> str:
    """Return in words whether the hour labels of a year are right."""
    offset = year.label_offset_min
    if offset is None:
        return "cannot be checked, since too few hours have direct sun"
    if abs(offset) <= _NEAR_MIN:
        off = "to 10 min" if offset == 0 else f"{abs(offset)} min {'late' if offset < 0 else 'early'}, acceptable"
        return f"correct; global, direct and diffuse irradiance agree with the sun's position ({off})"
    return "wrong; global, direct and diffuse irradiance do not agree with the sun's position (see the note)"


def figure(result: WeatherYears) -> "Figure":
    """Draw the first year: irradiance by day and hour, irradiation by month, temperature by day.

    The line on which the sun should rise and set lies on the irradiance, so that a shifted clock shows.

    Parameters
    ----------
    result : WeatherYears
        One year or several.

    Returns
    -------
    matplotlib.figure.Figure
        Three panels above each other, 12 x 10 inches.
    """
    import numpy as np

    from solarsim.views.figure import BLACK, BLUE, ORANGE, SKY, VERMILION, new_figure, plain_panel

    year = result.years[0]
    weather = year.weather
    drawn = new_figure(12, 10, f"{year.place.name}: {year.annual.ghi_kwh_m2:,.0f} kWh/m2 a year")
    hours, sums, warmth = drawn.subplots(3, 1, sharex=True, height_ratios=(5, 2, 2))
    ends = np.cumsum(MONTH_DAYS)
    starts = ends - np.array(MONTH_DAYS)

    mesh = hours.pcolormesh(
        np.arange(366), np.arange(25), weather.ghi_w_m2.reshape(365, 24).T, cmap="cividis", vmin=0.0, rasterized=True
    )
    drawn.colorbar(
        mesh, ax=hours, label="global horizontal irradiance, W/m2", location="top", shrink=0.5, aspect=40, pad=0.02
    )
    up = year.sun_elevation_deg.reshape(365, 24).T
    if up.min() < _RISE_DEG < up.max():
        middles = (np.arange(365) + 0.5, np.arange(24) + 0.5)
        hours.contour(*middles, up, levels=[_RISE_DEG], colors=ORANGE, linestyles="solid")
    hours.plot([], [], color=ORANGE, label="sunrise and\nsunset")
    hours.set_yticks(range(0, 25, 3), [f"{hour:02d}:00" for hour in range(0, 25, 3)])
    hours.set_ylim(0, 24)
    hours.set_ylabel(f"hour of the day, UTC{weather.utc_offset_h:+g}")

    diffuse = np.array([month.dhi_kwh_m2 for month in year.months])
    direct = np.array([month.ghi_kwh_m2 for month in year.months]) - diffuse
    width, middle = np.array(MONTH_DAYS) * 0.8, (starts + ends) / 2
    sums.bar(middle, diffuse, width, color=SKY, hatch="//", edgecolor="black", linewidth=0.5, label="diffuse")
    sums.bar(
        middle, direct, width, bottom=diffuse, color=ORANGE, edgecolor="black", linewidth=0.5, label="direct"
    )  # fmt: skip
    sums.set_ylabel("horizontal,\nkWh/m2 a month")

    days = weather.temp_air_c.reshape(365, 24)
    warmth.stairs(
        days.max(axis=1), np.arange(366), baseline=days.min(axis=1), fill=True, color=BLUE, alpha=0.45,
        label="lowest to\nhighest hour",
    )  # fmt: skip
    means = [month.temp_mean_c for month in year.months]
    warmth.stairs(means, [*starts, 365], baseline=None, color=VERMILION, linewidth=1.8, label="monthly mean")
    warmth.axhline(0.0, color=BLACK, linewidth=0.6)
    warmth.set_ylabel("temperature, °C")
    warmth.set_xlim(0, 365)
    warmth.set_xticks([*starts, 365], [""] * 13)
    warmth.set_xticks(middle, MONTHS, minor=True)
    warmth.tick_params(axis="x", which="minor", length=0)
    for panel in (sums, warmth):
        plain_panel(panel, "x")
    for panel in (hours, sums, warmth):
        panel.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=9)
    return drawn
