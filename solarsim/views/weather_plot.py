"""A picture of a year of weather: its hours in, a figure of sun, irradiation and temperature out."""

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from solarsim.scenario.site import MONTH_DAYS
from solarsim.studies.weather import Sky
from solarsim.views.month_plot import BLACK, BLUE, ORANGE, SKY, VERMILION
from solarsim.views.tables import MONTHS

#: Where the upper edge of the sun, lifted by refraction, meets the horizon.
_RISE_DEG = -0.83


def sky_figure(sky: Sky, title: str) -> Figure:
    """Draw a year of weather at a glance.

    Three panels share the days: global irradiance by day and clock hour, under the line on which the sun
    should rise and set, so that a shifted clock shows; irradiation of each month, the direct part on
    top of the diffuse; each day's span of temperature with the month's mean.

    Parameters
    ----------
    sky : Sky
        A year.
    title : str
        Written above.

    Returns
    -------
    matplotlib.figure.Figure
        12 x 10 inches.
    """
    weather = sky.weather
    figure = Figure(figsize=(12, 10), layout="constrained")
    FigureCanvasAgg(figure)
    hours, sums, warmth = figure.subplots(3, 1, sharex=True, height_ratios=(5, 2, 2))
    figure.suptitle(title, fontsize=13)
    ends = np.cumsum(MONTH_DAYS)
    starts = ends - np.array(MONTH_DAYS)

    mesh = hours.pcolormesh(
        np.arange(366), np.arange(25), weather.ghi_w_m2.reshape(365, 24).T, cmap="cividis", vmin=0.0, rasterized=True
    )
    figure.colorbar(mesh, ax=hours, label="global irradiance, W/m2", location="top", shrink=0.5, aspect=40, pad=0.02)
    up = sky.sun_elevation_deg.reshape(365, 24).T
    if up.min() < _RISE_DEG < up.max():
        middles = (np.arange(365) + 0.5, np.arange(24) + 0.5)
        hours.contour(*middles, up, levels=[_RISE_DEG], colors=ORANGE, linestyles="solid")
    hours.plot([], [], color=ORANGE, label="sun rises,\nsun sets")
    hours.set_yticks(range(0, 25, 3), [f"{hour:02d}:00" for hour in range(0, 25, 3)])
    hours.set_ylim(0, 24)
    hours.set_ylabel(f"clock of the hours, UTC{weather.utc_offset_h:+g}")

    diffuse, total = sky.monthly["dhi_kwh_m2"], sky.monthly["ghi_kwh_m2"]
    width = np.array(MONTH_DAYS) * 0.8
    sums.bar(starts + np.array(MONTH_DAYS) / 2, diffuse, width, color=SKY, label="diffuse")
    sums.bar(starts + np.array(MONTH_DAYS) / 2, total - diffuse, width, bottom=diffuse, color=ORANGE, label="direct")
    sums.set_ylabel("on level ground,\nkWh/m2 a month")

    days = weather.temp_air_c.reshape(365, 24)
    edges = np.arange(366)
    warmth.stairs(
        days.max(axis=1), edges, baseline=days.min(axis=1), fill=True, color=BLUE, alpha=0.45,
        label="coldest to\nwarmest hour",
    )  # fmt: skip
    warmth.stairs(
        sky.monthly["temp_mean_c"], [*starts, 365], baseline=None, color=VERMILION, linewidth=1.8, label="month's mean"
    )
    warmth.axhline(0.0, color=BLACK, linewidth=0.6)
    warmth.set_ylabel("temperature, C")
    warmth.set_xlim(0, 365)
    warmth.set_xticks([*starts, 365], [""] * 13)
    warmth.set_xticks((starts + ends) / 2, MONTHS, minor=True)
    warmth.tick_params(axis="x", which="minor", length=0)
    for panel in (sums, warmth):
        panel.grid(axis="x", linewidth=0.3, alpha=0.5)
        panel.spines[["top", "right"]].set_visible(False)
    for panel in (hours, sums, warmth):
        panel.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=9)
    return figure
