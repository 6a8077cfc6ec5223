"""A picture of what outages mean: a study in, a figure of survival by length and of what each reserve costs out."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from solarsim.studies.outages.island import HOURS, can_island
from solarsim.studies.outages.outages import OutageStudy
from solarsim.views.month_plot import BLACK, BLUE, GREEN, ORANGE, SKY, VERMILION
from solarsim.views.outage_tables import variant_words

_COLORS = {True: BLUE, False: VERMILION}  # by whether the reserve is kept
_LENGTHS = ((4, SKY), (8, GREEN), (24, ORANGE), (72, BLACK))


def outage_figure(study: OutageStudy, title: str) -> Figure:
    """Draw how long outages are ridden through, and what each step of reserve costs for it.

    Parameters
    ----------
    study : OutageStudy
        One strategy.
    title : str
        Written above.

    Returns
    -------
    matplotlib.figure.Figure
        14 x 6 inches, two panels side by side; one where a reserve has no meaning.
    """
    figure = Figure(figsize=(14, 6), layout="constrained")
    FigureCanvasAgg(figure)
    figure.suptitle(title, fontsize=13)
    panels = figure.subplots(1, 2 if study.reserve else 1, squeeze=False)[0]
    _survival(panels[0], study)
    if study.reserve:
        _reserve(panels[1], study)
    for panel in panels:
        panel.set_ylim(-2, 103)
        panel.set_ylabel("outages ridden through, % of all starts")
        panel.grid(linewidth=0.3, alpha=0.5)
        panel.spines[["top", "right"]].set_visible(False)
    return figure


def _survival(panel: Axes, study: OutageStudy) -> None:
    lengths = np.concatenate([[0.0], np.arange(1.0, HOURS[-1] + 1)])
    for variant in study.variants:
        shares = [100.0 if hours == 0.0 else 100 * variant.survival.share(hours) for hours in lengths]
        dashed = study.home.scenario.generator_in_use is not None and not variant.with_generator
        panel.plot(
            lengths, shares, color=_COLORS[variant.keeps_reserve], linestyle="--" if dashed else "-",
            label=variant_words(variant, study),
        )  # fmt: skip
    panel.set_xlim(0, HOURS[-1])
    panel.set_xticks([0, *HOURS[2:]])
    panel.set_xlabel("length of the outage, h")
    panel.legend(loc="best", frameon=False, fontsize=9)
    if not can_island(study.home):
        panel.annotate("a grid-tied home stops with the grid", (0.5, 0.5), xycoords="axes fraction", ha="center")


def _reserve(panel: Axes, study: OutageStudy) -> None:
    costs = [point.costs for point in study.reserve]
    for hours, color in _LENGTHS:
        shares = [100 * point.survival.share(hours) for point in study.reserve]
        panel.plot(costs, shares, color=color, marker="o", markersize=4, label=f"{hours} h")
    top = [100 * point.survival.share(_LENGTHS[0][0]) for point in study.reserve]
    for point, share in zip(study.reserve, top, strict=True):
        panel.annotate(
            f"{point.reserve:.0%}", (point.costs, share), (0, 6), textcoords="offset points", fontsize=8, ha="center"
        )
    panel.set_xlabel(
        f"what the reserve costs, {study.home.scenario.rate_plan.currency} a year more than the lowest one"
    )
    alone = "" if study.home.scenario.generator_in_use is None else ", no generator"
    panel.legend(loc="lower right", frameon=False, fontsize=9, title=f"outage of (number: reserve{alone})")
