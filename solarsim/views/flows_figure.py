"""The pictures of a strategy's year: its flows in; some days step by step, or a map of a column over the year, out."""

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import UnknownNameError, nearest
from solarsim.ledger.flows import BESIDE_HOURLY, COLUMNS, HOURLY, Flows
from solarsim.studies.flows import FlowsYear
from solarsim.views.figure import (
    BLACK,
    BLUE,
    GREEN,
    ORANGE,
    PURPLE,
    SKY,
    VERMILION,
    YELLOW,
    draw_year_map,
    new_figure,
    plain_panel,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SHADE = 0.12
_VISIBLE_KW = 1e-3
_RARE = 0.5  # hours at the highest price are shaded where they are less than this share
_WEEK = 7
#: Columns that a map of the year can show.
MAPPED = {name: what for name, what in {**HOURLY, **BESIDE_HOURLY}.items() if name in COLUMNS and name != "source"}


def drawn_steps(result: FlowsYear, steps: NDArray[np.int64], what: str) -> "Figure":
    """Draw some days step by step, by the wall clock.

    Three panels share the time: PV available and load; discharge, import and generator upward, charge and export
    downward; state of charge with the discharge floor. The hours of the highest import price are shaded, unless they
    are most of the hours; outages are hatched. Without a battery the third panel is left out.

    Parameters
    ----------
    result : FlowsYear
        A strategy's year.
    steps : array of int
        Consecutive steps, in the order of the wall clock.
    what : str
        The days in words, below the time.

    Returns
    -------
    matplotlib.figure.Figure
        14 x 8.5 inches.
    """
    from matplotlib.dates import date2num

    flows, timeline = result.run.flows, result.timeline
    start = date2num(timeline.wall[steps])
    edges = np.append(start, start[-1] + timeline.step_h / 24)
    battery = flows.capacity_kwh > 0.0
    drawn = new_figure(14, 8.5 if battery else 6.5, f"{result.scenario}: {result.run.name}")
    panels = drawn.subplots(3 if battery else 2, 1, sharex=True, height_ratios=(3, 3, 2)[: 3 if battery else 2])
    _shade_prices(panels, result, steps, edges)
    if result.home.stays_connected:
        _mark_outages(panels, ~flows.on_grid[steps], edges)
    _draw_power(panels[0], flows, steps, edges)
    _draw_sources(panels[1], flows, steps, edges)
    if battery:
        _draw_stored(panels[2], flows, steps, edges)
    _draw_time(panels[-1], edges)
    panels[-1].set_xlabel(f"{what}, wall-clock time in {timeline.zone}")
    for panel in panels:
        plain_panel(panel, "x")
        panel.grid(axis="x", which="minor", linewidth=0.3, alpha=0.5)
        panel.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=9)
    return drawn


def _shade_prices(panels: Any, result: FlowsYear, steps: NDArray[np.int64], edges: NDArray[np.float64]) -> None:
    """Shade the hours of the highest import price where they are few."""
    price = result.run.flows["import_price"][steps]
    highest = price == price.max()
    if highest.mean() > _RARE:
        return
    for number, panel in enumerate(panels):
        _shade(
            panel, edges, highest, None if number else f"highest import price:\n{price.max():g} {result.currency}/kWh"
        )


def _draw_power(panel: "Axes", flows: Flows, steps: NDArray[np.int64], edges: NDArray[np.float64]) -> None:
    """Draw what the arrays could deliver and what the home uses."""
    available, demand = flows["pv_available_kw"][steps], (flows["load_kw"] + flows["standby_kw"])[steps]
    unused, unserved = (flows["clipped_kw"] + flows["curtailed_kw"])[steps], flows["unserved_kw"][steps]
    panel.stairs(available, edges, fill=True, color=ORANGE, alpha=0.55, label="PV available (DC)")
    if unused.max() > _VISIBLE_KW:
        style: dict[str, Any] = {
            "fill": True,
            "facecolor": VERMILION,
            "edgecolor": BLACK,
            "linewidth": 0,
            "alpha": 0.8,
            "hatch": "...",
        }
        panel.stairs(available, edges, baseline=available - unused, label="clipped and curtailed", **style)
    if unserved.max() > _VISIBLE_KW:
        style = {"fill": True, "facecolor": "white", "edgecolor": BLACK, "linewidth": 0, "hatch": "////"}
        panel.stairs(demand, edges, baseline=demand - unserved, label="unserved", **style)
    panel.stairs(demand, edges, color=BLACK, linewidth=0.9, label="load and standby")
    panel.set_ylabel("kW")


def _draw_sources(panel: "Axes", flows: Flows, steps: NDArray[np.int64], edges: NDArray[np.float64]) -> None:
    """Draw battery, grid and generator: out of them upward, into them downward."""

    def of(column: str) -> NDArray[np.float64]:
        return flows[column][steps]

    # Fills differ in grey, too: light for what goes in and out of the battery, hatched for the meter.
    discharge, base = of("battery_to_load_kw") + of("battery_to_grid_kw"), np.zeros(steps.size)
    charge = np.maximum(flows.battery_change_kwh[steps], 0.0) / flows.timeline.step_h
    if flows.capacity_kwh > 0.0:
        panel.stairs(discharge, edges, fill=True, color=GREEN, alpha=0.75, label="discharge")
        base = discharge
    panel.stairs(
        of("import_kw") + base, edges, baseline=base, fill=True, facecolor=BLUE, edgecolor="white", linewidth=0,
        alpha=0.8, hatch="////", label="import",
    )  # fmt: skip
    base = of("import_kw") + base
    if flows["generator_kw"].max() > _VISIBLE_KW:
        style: dict[str, Any] = {
            "fill": True,
            "facecolor": PURPLE,
            "edgecolor": BLACK,
            "linewidth": 0,
            "alpha": 0.8,
            "hatch": "xxx",
        }
        panel.stairs(of("generator_kw") + base, edges, baseline=base, label="generator", **style)
    if flows.capacity_kwh > 0.0:
        panel.stairs(-charge, edges, fill=True, color=YELLOW, alpha=0.9, label="charge")
    panel.stairs(
        -charge - of("export_kw"), edges, baseline=-charge, fill=True, facecolor=SKY, edgecolor=BLACK, linewidth=0,
        alpha=0.85, hatch="\\\\\\\\", label="export",
    )  # fmt: skip
    low, high = panel.get_ylim()
    panel.set_ylim(low - 0.05 * (high - low), high)  # fills end at the lowest value, at the very edge of the panel
    panel.axhline(0.0, color=BLACK, linewidth=0.6)
    panel.set_ylabel("kW   charge, export  |  discharge, import")


def _draw_stored(panel: "Axes", flows: Flows, steps: NDArray[np.int64], edges: NDArray[np.float64]) -> None:
    """Draw the state of charge at the END of each step; the floor holds through the step."""
    panel.plot(edges[1:], flows["soc"][steps] * 100, color=GREEN, linewidth=1.2, label="state of charge")
    floor: dict[str, Any] = {"color": PURPLE, "linestyle": "--", "label": "discharge floor"}
    panel.stairs(flows["discharge_floor"][steps] * 100, edges, baseline=None, **floor)
    panel.set_ylim(0, 105)
    panel.set_ylabel("state of charge, %")


def _draw_time(panel: "Axes", edges: NDArray[np.float64]) -> None:
    """Label days, or the hours of one day."""
    from matplotlib.dates import DateFormatter

    panel.set_xlim(edges[0], edges[-1])
    if edges[-1] - edges[0] <= 1.5:
        panel.set_xticks(np.arange(edges[0], edges[-1] + 1e-9, 1 / 8))
        panel.set_xticks(np.arange(edges[0], edges[-1] + 1e-9, 1 / 24), minor=True)
        panel.xaxis.set_major_formatter(DateFormatter("%H:%M"))
        return
    days = np.arange(np.ceil(edges[0]), edges[-1])
    panel.set_xticks(days[:: 1 if days.size <= _WEEK else 2])
    panel.set_xticks(days, minor=True)
    panel.xaxis.set_major_formatter(DateFormatter("%a %d"))


def _shade(panel: "Axes", edges: NDArray[np.float64], inside: NDArray[np.bool_], label: str | None) -> None:
    """Shade the runs of hours that are inside; the first carries the label."""
    for first, last in _runs(inside):
        panel.axvspan(edges[first], edges[last], color=BLACK, alpha=SHADE, linewidth=0, label=label)
        label = None


def _mark_outages(panels: Any, out: NDArray[np.bool_], edges: NDArray[np.float64]) -> None:
    """Mark outages by a strip along the top and dotted lines at their ends, which hide nothing."""
    label: str | None = "outage"
    for first, last in _runs(out):
        panels[0].axvspan(edges[first], edges[last], ymin=0.96, color=BLACK, linewidth=0, label=label)
        label = None
        for panel in panels:
            for end in (edges[first], edges[last]):
                panel.axvline(end, color=BLACK, linestyle=":", linewidth=1.0)


def _runs(inside: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return where each run of true values begins and ends."""
    change = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    return [(int(first), int(last)) for first, last in zip(change[::2], change[1::2], strict=True)]


def drawn_map(result: FlowsYear, column: str) -> "Figure":
    """Draw an hourly column over the whole year: days from left to right, hours of the wall clock upward.

    Parameters
    ----------
    result : FlowsYear
        A strategy's year.
    column : str
        One of ``MAPPED``.

    Returns
    -------
    matplotlib.figure.Figure
        12 x 5 inches; light is more, in grey, too.

    Raises
    ------
    UnknownNameError
        There is no such column.
    """
    if column not in MAPPED:
        raise UnknownNameError(f"{column!r} is not a column of the hourly table{nearest(column, MAPPED)}")
    timeline, what = result.timeline, MAPPED[column]
    drawn = new_figure(12, 5, f"{result.scenario}: {result.run.name}, {column}")
    panel = drawn.subplots()
    unit = "share, 0 to 1" if what.unit == "1" else what.unit.replace("currency", result.currency)
    image = draw_year_map(panel, timeline, result.run.flows[column], f"{what.meaning.split(':')[0]}, {unit}")
    skipped = (
        "; white: the hour that daylight saving skips"
        if np.isnan(np.asarray(image.get_array(), np.float64)).any()
        else ""
    )
    panel.set_xlabel(f"{timeline.year}, wall-clock time in {timeline.zone}{skipped}")
    return drawn
