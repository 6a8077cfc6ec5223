"""A picture of one month: a run's hours in, a figure of power, grid and state of charge out."""

import io
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.dates import DateFormatter, date2num
from matplotlib.figure import Figure
from numpy.typing import NDArray

from solarsim.views.files import check_picture_name
from solarsim.views.tables import MONTHS

if TYPE_CHECKING:  # a picture without a run need not load the engine
    from solarsim.run import Run

# Okabe & Ito, "Color Universal Design" (2008): told apart by color-blind eyes.
ORANGE, SKY, GREEN, YELLOW, BLUE, VERMILION, PURPLE, BLACK = (
    "#E69F00",
    "#56B4E9",
    "#009E73",
    "#F0E442",
    "#0072B2",
    "#D55E00",
    "#CC79A7",
    "#000000",
)
SHADE = 0.12
_VISIBLE_KW = 1e-3
_RARE = 0.5  # hours at the highest price are shaded where they are not the rule


def month_figure(run: "Run", month: int, title: str) -> Figure:
    """Draw one month of a strategy, hour by hour, by the wall clock.

    Three panels share the time: solar offered and load; what the battery and the grid give
    (upwards) and take (downwards); state of charge with the floor in force. The hours of the
    month's highest import price are shaded, unless they are most of its hours. Without a battery
    the third panel is left out.

    Parameters
    ----------
    run : Run
        A strategy's year.
    month : int
        1 to 12.
    title : str
        Written above.

    Returns
    -------
    matplotlib.figure.Figure
        14 x 8.5 inches.
    """
    flows, timeline = run.flows, run.flows.timeline
    chosen = np.flatnonzero(timeline.month == month)
    chosen = chosen[np.argsort(timeline.wall[chosen], kind="stable")]
    start = date2num(timeline.wall[chosen])
    edges = np.append(start, start[-1] + timeline.step_h / 24)

    def of(column: str) -> NDArray[np.float64]:
        return flows[column][chosen]

    battery = flows.capacity_kwh > 0.0
    figure = Figure(figsize=(14, 8.5 if battery else 6.5), layout="constrained")
    FigureCanvasAgg(figure)
    panels = figure.subplots(3 if battery else 2, 1, sharex=True, height_ratios=(3, 3, 2)[: 3 if battery else 2])
    power, meter, last = panels[0], panels[1], panels[-1]
    figure.suptitle(title, fontsize=13)

    price = of("import_price")
    dear = price == price.max()
    if dear.mean() <= _RARE:
        _shade(power, edges, dear, f"highest price: {price.max():g} a kWh")
        for panel in panels[1:]:
            _shade(panel, edges, dear, None)

    power.stairs(of("pv_available_kw"), edges, fill=True, color=ORANGE, alpha=0.55, label="solar offered (DC)")
    unused = of("clipped_kw") + of("curtailed_kw")
    if unused.max() > _VISIBLE_KW:
        used = of("pv_available_kw") - unused
        power.stairs(
            of("pv_available_kw"), edges, baseline=used, fill=True, color=VERMILION, alpha=0.8, label="of it unused"
        )
    power.stairs(
        of("load_kw") + of("standby_kw"), edges, color=BLACK, linewidth=0.9, label="load and inverter's standby"
    )
    power.set_ylabel("kW")

    bought, sold = of("import_kw"), of("export_kw")
    given = of("battery_to_load_kw") + of("battery_to_grid_kw")
    taken = np.maximum(flows.battery_change_kwh[chosen], 0.0) / timeline.step_h
    meter.stairs(given, edges, fill=True, color=GREEN, alpha=0.75, label="battery gives")
    meter.stairs(-taken, edges, fill=True, color=YELLOW, alpha=0.9, label="battery takes")
    meter.stairs(bought + given, edges, baseline=given, fill=True, color=BLUE, alpha=0.75, label="bought")
    meter.stairs(-taken - sold, edges, baseline=-taken, fill=True, color=SKY, alpha=0.85, label="sold")
    meter.axhline(0.0, color=BLACK, linewidth=0.6)
    meter.set_ylabel("kW   takes, sold  |  gives, bought")

    if battery:
        # The state of charge is that at the END of each hour; the floor holds through the hour.
        last.plot(edges[1:], of("soc") * 100, color=GREEN, linewidth=1.2, label="state of charge")
        last.stairs(
            of("discharge_floor") * 100, edges, baseline=None, color=PURPLE, linestyle="--", label="floor in force"
        )
        last.set_ylim(0, 105)
        last.set_ylabel("battery, %")
    last.set_xlabel(f"{MONTHS[month - 1]} {timeline.year}, wall clock in {timeline.zone}")
    last.set_xlim(edges[0], edges[-1])
    days = np.arange(np.ceil(edges[0]), edges[-1])
    last.set_xticks(days[::2])
    last.set_xticks(days, minor=True)
    last.xaxis.set_major_formatter(DateFormatter("%a %d"))
    for panel in panels:
        panel.grid(axis="x", which="both", linewidth=0.3, alpha=0.5)
        panel.spines[["top", "right"]].set_visible(False)
        panel.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=9)
    return figure


def _shade(panel: Axes, edges: NDArray[np.float64], inside: NDArray[np.bool_], label: str | None) -> None:
    """Shade the runs of hours that are inside; the label stands once."""
    change = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    for first, last in zip(change[::2], change[1::2], strict=True):
        panel.axvspan(edges[first], edges[last], color=BLACK, alpha=SHADE, linewidth=0, label=label)
        label = None


def figure_bytes(figure: Figure, path: Path) -> bytes:
    """Render a figure in the format of a file's suffix.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        Any.
    path : pathlib.Path
        Its suffix names the format: png, svg or pdf.

    Returns
    -------
    bytes
        The file's content.

    Raises
    ------
    OutputError
        The suffix is no format that we write.
    """
    check_picture_name(path)
    buffer = io.BytesIO()
    figure.savefig(buffer, format=path.suffix[1:].lower(), dpi=110)
    return buffer.getvalue()
