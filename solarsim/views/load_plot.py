"""A picture of a year's load: a load year in, an hour-by-day map and the mean day of each season out."""

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from solarsim.studies.load import LoadYear
from solarsim.views.month_plot import BLUE, GREEN, VERMILION
from solarsim.views.tables import MONTHS

_COLOURS = {"winter": BLUE, "between": GREEN, "summer": VERMILION}
_MONTHS_OF = {
    True: {"winter": "December to February", "between": "spring, autumn", "summer": "June to September"},
    False: {"winter": "June to August", "between": "spring, autumn", "summer": "December to March"},
}


def load_figure(year: LoadYear) -> Figure:
    """Draw a year's load by the wall clock.

    Above, a map: days of the year across, hours of the day upwards, power as color. Below, the mean
    day of each season, weekdays as a full line, weekends and holidays dashed.

    Parameters
    ----------
    year : LoadYear
        A home's load.

    Returns
    -------
    matplotlib.figure.Figure
        12 x 8 inches.
    """
    figure = Figure(figsize=(12, 8), layout="constrained")
    FigureCanvasAgg(figure)
    days, mean = figure.subplots(2, 1, height_ratios=(3, 2))
    figure.suptitle(f"{year.scenario.name}: load of {year.timeline.year}, {year.annual_kwh:,.0f} kWh", fontsize=13)

    by_hour = year.by_hour_and_day()
    # One rare peak must not turn all other hours pale: the scale ends at what 1 hour in 200 is above.
    top = float(np.nanpercentile(by_hour, 99.5)) or 1.0
    image = days.imshow(
        by_hour, aspect="auto", origin="lower", extent=(0, 365, 0, 24), cmap="viridis", vmin=0.0, vmax=top
    )
    figure.colorbar(image, ax=days, label="load, kW", extend="max", pad=0.01)
    first = [
        int(np.flatnonzero(year.timeline.month == month)[0] * year.timeline.step_h) // 24 for month in range(1, 13)
    ]
    days.set_xticks(first, MONTHS, ha="left")
    days.set_yticks(range(0, 25, 3))
    days.set_ylabel("hour of the day")

    edges = np.arange(25)
    for season, (weekday, free_day) in year.mean_days().items():
        label = f"{season} ({_MONTHS_OF[year.latitude_deg >= 0][season]})"
        mean.stairs(weekday, edges, baseline=None, color=_COLOURS[season], linewidth=1.8, label=label)
        mean.stairs(free_day, edges, baseline=None, color=_COLOURS[season], linewidth=1.2, linestyle="--")
    mean.plot([], [], color="black", linewidth=1.8, label="weekdays")
    mean.plot([], [], color="black", linewidth=1.2, linestyle="--", label="weekends, holidays")
    mean.set_xlim(0, 24)
    mean.set_ylim(bottom=0.0)
    mean.set_xticks(range(0, 25, 3))
    mean.set_xlabel(f"hour of the day, wall clock in {year.timeline.zone}")
    mean.set_ylabel("mean load, kW")
    mean.grid(linewidth=0.3, alpha=0.5)
    mean.spines[["top", "right"]].set_visible(False)
    mean.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=5, frameon=False, fontsize=9)
    return figure
