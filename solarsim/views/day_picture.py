"""One day of a home, hour by hour: a year's flows and a date in; who served the home, as a figure, out."""

from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.ledger.flows import Flows
from solarsim.studies.flows import FlowsYear
from solarsim.views.figure import BLACK, BLUE, GREEN, ORANGE, PURPLE, SKY, VERMILION, YELLOW, new_figure, plain_panel

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

#: From the bottom of the stack up: words, columns, color, hatch. The first five are the home's demand.
_SERVED = (
    ("sun to home", ("pv_to_load_kw",), ORANGE, ""),
    ("battery to home", ("battery_to_load_kw",), GREEN, "//"),
    ("generator to home", ("generator_to_load_kw",), PURPLE, "xx"),
    ("grid to home", ("grid_to_load_kw",), BLUE, "++"),
    ("unserved", ("unserved_kw",), "white", "||"),
)
_BEYOND = (
    ("into the battery", ("pv_to_battery_kw", "grid_to_battery_kw", "generator_to_battery_kw"), YELLOW, "\\\\"),
    ("to the grid", ("export_kw",), SKY, "--"),
    ("left over", ("clipped_kw", "curtailed_kw"), "white", ""),
)
_VISIBLE_KW = 0.02
_RARE = 0.5  # hours at the highest price are shaded where they are less than this share of the day


def day_figure(
    result: FlowsYear,
    day: date,
    title: str = "",
    width_in: float = 9.0,
    height_in: float = 5.4,
    top_kw: float | None = None,
) -> "Figure":
    """Draw one day by the wall clock.

    Parameters
    ----------
    result : FlowsYear
        A strategy's year.
    day : date
        Of the calendar year.
    title : str
        Above the drawing; none if empty.
    width_in, height_in : float
        Its size in inches.
    top_kw : float, optional
        End of the scale of power, so that several days can share it [kW].

    Returns
    -------
    matplotlib.figure.Figure
        Above, who serves the home, up to the line of its demand, and what is charged, exported or left over beyond it;
        hours of the day's highest price are shaded. Below, the battery's state of charge, where there is a battery.
    """
    flows, steps = result.run.flows, result.steps_of_days(day, 1)
    timeline = flows.timeline
    minutes = timeline.minute_of_day[steps]
    edges = np.append(minutes, minutes[-1] + 60 * timeline.step_h) / 60
    battery = flows.capacity_kwh > 0.0
    drawn = new_figure(width_in, height_in, title)
    rows, heights = (2, (4, 1)) if battery else (1, (1,))
    panels = drawn.subplots(rows, 1, sharex=True, squeeze=False, height_ratios=heights)[:, 0]
    _draw_power(panels[0], flows, steps, edges)
    panels[0].set_ylim(0.0, None if top_kw is None else 1.04 * top_kw)
    if battery:
        _draw_charge(panels[1], flows, steps, edges)
    panels[-1].set_xlim(0, 24)
    panels[-1].set_xticks(range(0, 25, 6), ["0:00", "6:00", "12:00", "18:00", "24:00"])
    for panel in panels:
        plain_panel(panel, "y")
        panel.tick_params(labelsize=8)
    handles, labels = panels[0].get_legend_handles_labels()
    drawn.legend(handles, labels, loc="outside lower center", ncols=3, frameon=False, fontsize=8, handlelength=1.6)
    return drawn


def highest_kw(result: FlowsYear, day: date) -> float:
    """Return the highest stack of a day.

    Parameters
    ----------
    result : FlowsYear
        A strategy's year.
    day : date
        Of the calendar year.

    Returns
    -------
    float
        [kW].
    """
    steps = result.steps_of_days(day, 1)
    columns = [column for _, names, *_ in (*_SERVED, *_BEYOND) for column in names]
    return float(np.max(sum(result.run.flows[column][steps] for column in columns)))


def _draw_power(panel: "Axes", flows: Flows, steps: NDArray[np.int64], edges: NDArray[np.float64]) -> None:
    """Draw the stack of what serves the home and goes beyond it, the line of demand, the hours of the highest price."""
    price = flows["import_price"][steps]
    dearest = price == price.max()
    if price.max() > 0.0 and dearest.mean() < _RARE:
        label = "highest price"
        for place in np.flatnonzero(dearest):
            panel.axvspan(edges[place], edges[place + 1], color=BLACK, alpha=0.1, linewidth=0, label=label, zorder=0)
            label = "_"
    bottom = np.zeros(steps.size)
    for words, columns, color, hatch in (*_SERVED, *_BEYOND):
        kw = np.asarray(sum((flows[column][steps] for column in columns), np.zeros(steps.size)), np.float64)
        if kw.max() > _VISIBLE_KW:
            edge = VERMILION if words == "unserved" else BLACK
            panel.stairs(
                bottom + kw, edges, baseline=bottom, fill=True, facecolor=color, hatch=hatch, edgecolor=edge,
                linewidth=0.3, label=words,
            )  # fmt: skip
        bottom = bottom + kw
    demand = flows["load_kw"][steps] + flows["standby_kw"][steps]
    panel.stairs(demand, edges, baseline=None, color=BLACK, linewidth=1.6, label="the home's demand")
    panel.set_ylabel("kW", fontsize=9)


def _draw_charge(panel: "Axes", flows: Flows, steps: NDArray[np.int64], edges: NDArray[np.float64]) -> None:
    """Draw the state of charge at the end of each step."""
    start = float(flows["soc"][steps[0] - 1])  # of the first day: the end of the year, which is a circle
    panel.plot(edges, [100 * start, *(100 * flows["soc"][steps])], color=GREEN, linewidth=1.6)
    panel.set_ylim(0, 105)
    panel.set_yticks([0, 50, 100], ["0%", "50%", "100%"])
    panel.set_ylabel("battery", fontsize=9)
