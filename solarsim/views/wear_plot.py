"""A picture of a battery's life: wear by strategy in, a figure of capacity by year and of what took it out."""

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from solarsim.studies.wear import Wear
from solarsim.views.month_plot import BLACK, BLUE, GREEN, ORANGE, PURPLE, SKY, VERMILION

_COLORS = (BLUE, ORANGE, GREEN, VERMILION, PURPLE, SKY, BLACK)
_DASHES = ("-", "--", ":", "-.")


def wear_figure(found: Wear, title: str) -> Figure:
    """Draw what is left of the battery by year, and what time and cycling took of it in the end.

    Parameters
    ----------
    found : Wear
        Every strategy.
    title : str
        Written above.

    Returns
    -------
    matplotlib.figure.Figure
        Two panels side by side, 14 x 6 inches.
    """
    figure = Figure(figsize=(14, 6), layout="constrained")
    FigureCanvasAgg(figure)
    left, right = figure.subplots(1, 2, width_ratios=(3, 2))
    figure.suptitle(title, fontsize=13)
    years = np.arange(found.years + 1)
    for number, each in enumerate(found.strategies):
        color, dash = _COLORS[number % len(_COLORS)], _DASHES[number % len(_DASHES)]
        left.plot(years, each.by_year.capacity * 100, color=color, linestyle=dash, label=each.strategy)
    left.axhline(found.battery.end_of_life * 100, color=BLACK, linewidth=0.8, linestyle="--")
    left.annotate(
        "worn out, as the scenario says", (found.years, found.battery.end_of_life * 100), (-4, 4),
        textcoords="offset points", fontsize=9, ha="right",
    )  # fmt: skip
    warranty = found.battery.warranty
    if warranty is not None:
        left.plot(
            warranty.years, warranty.remaining * 100, marker="D", color=BLACK, linestyle="none",
            label=f"warranty: {warranty.remaining:.0%} after {warranty.years:g} years",
        )  # fmt: skip
    left.set_xlim(0, found.years)
    left.set_ylabel("capacity left, %")
    left.set_xlabel("years")
    left.legend(loc="upper right", frameon=False, fontsize=9)

    places = np.arange(len(found.strategies))[::-1]
    by_time = np.array([each.by_year.calendar_loss[-1] for each in found.strategies]) * 100
    by_cycles = np.array([each.by_year.cycle_loss[-1] for each in found.strategies]) * 100
    right.barh(places, by_time, color=SKY, label="time takes")
    right.barh(places, by_cycles, left=by_time, color=ORANGE, label="cycling takes")
    right.set_yticks(places, [each.strategy for each in found.strategies])
    right.set_xlabel(f"capacity lost after {found.years} years, %")
    right.legend(loc="upper center", bbox_to_anchor=(0.5, -0.12), ncols=2, frameon=False, fontsize=9)
    for panel in (left, right):
        panel.grid(axis="both" if panel is left else "x", linewidth=0.3, alpha=0.5)
        panel.spines[["top", "right"]].set_visible(False)
    return figure
