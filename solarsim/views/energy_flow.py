"""The year's energy as bands whose widths are its kilowatt-hours: what each source fed to each use in, a figure out."""

from dataclasses import dataclass, field
from textwrap import fill
from typing import TYPE_CHECKING

from solarsim.ledger.energy_flow import EnergyFlow
from solarsim.views.figure import BLACK, BLUE, GREEN, ORANGE, PURPLE, new_figure
from solarsim.views.tables import whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

LEFT_OVER, LOST, TO_GRID = "left over", "lost in conversion", "to the grid"  # uses that are no part of the home
_GREY = "#BDBDBD"
#: Each source: color and hatch of its bands, so that they are told apart in grey, too.
_STYLES = {"sun": (ORANGE, ""), "grid": (BLUE, "++"), "generator": (PURPLE, "xx"), "battery": (GREEN, "//")}
_X = {"from": 0.0, "battery": 0.47, "to": 1.0}
_BAR = 0.02
_GAP = 0.07  # from one bar to the next of its column, as a share of the total
_GROUND = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 0.8}  # under numbers on a hatch
_SHOWN_KWH = 0.5  # of a year
_LETTERS_AN_INCH = 15  # of the line below
_LABELED = 0.035  # a band at least this wide, as a share of the total, has its number on it


@dataclass
class _Node:
    """A bar: its place, and how much of its two sides is taken already."""

    x: float
    top: float
    height: float
    used_left: float = 0.0
    used_right: float = 0.0


@dataclass(frozen=True)
class _Band:
    """Energy from one bar to another."""

    source: str
    use: str
    kwh: float
    color: str
    hatch: str


@dataclass
class _Drawing:
    """What is drawn: bars by name, bands in their order from top to bottom."""

    nodes: dict[str, _Node] = field(default_factory=dict)
    bands: list[_Band] = field(default_factory=list)
    lowest: float = 0.0


def energy_flow_figure(flow: EnergyFlow, title: str = "", width_in: float = 9.0, height_in: float = 5.4) -> "Figure":
    """Draw who fed whom in a year.

    Parameters
    ----------
    flow : EnergyFlow
        A strategy's year.
    title : str
        Above the drawing; none if empty.
    width_in, height_in : float
        Its size in inches.

    Returns
    -------
    matplotlib.figure.Figure
        Sources at the left, the battery in the middle, uses at the right; the width of a band is its energy. Bands too
        thin for a number on them are listed below.
    """
    drawn = new_figure(width_in, height_in, title)
    panel = drawn.subplots()
    panel.set_axis_off()
    drawing = _layout(flow)
    total = _total_kwh(flow)
    for band in drawing.bands:
        _draw_band(panel, drawing, band, total)
    for name, node in drawing.nodes.items():
        _draw_node(panel, name, node, node.height < _GAP * total)
    thin = [
        f"{band.source} to {band.use} {whole(band.kwh)}"
        for band in drawing.bands
        if band.kwh < _LABELED * total and band.use in ("battery", "home")
    ]
    words = f"kWh in the year; home: load and standby{'. Too thin for a number: ' if thin else ''}{', '.join(thin)}"
    lines = fill(words, round(_LETTERS_AN_INCH * width_in))
    panel.annotate(lines, (0.0, 0.0), xycoords="axes fraction", fontsize=8, va="top", annotation_clip=False)
    panel.set_xlim(-0.2, 1.24)
    panel.set_ylim(drawing.lowest - 0.03 * total, 0.03 * total)
    return drawn


def _total_kwh(flow: EnergyFlow) -> float:
    """Return all that enters: the measure of gaps and of what is thin."""
    return max(float(flow.supply_kwh), 1.0)


def _layout(flow: EnergyFlow) -> _Drawing:
    """Place the bars of each column from the top down, and list the bands in the order in which they leave a bar."""
    gap = _GAP * _total_kwh(flow)
    drawing = _Drawing()
    uses = {
        LEFT_OVER: flow.pv_not_used_kwh,
        LOST: flow.losses_kwh,
        TO_GRID: flow.export_kwh,
        "home": flow.served_kwh,
        "unserved": flow.unserved_kwh,
    }
    right = _stack(drawing, "to", uses, 0.0, gap)
    left = _stack(drawing, "from", {"sun": flow.pv_available_kwh}, 0.0, gap)
    if flow.charge_kwh >= _SHOWN_KWH:
        # Bands are as high in the middle as the mean of their ends: the battery is below what passes above it, and the
        # grid so far down that its own band passes below.
        past_sun = -(flow.pv_available_kwh - flow.pv_to_battery_kwh)
        past_home = drawing.nodes["home"].top - flow.pv_to_load_kwh
        drawing.nodes["battery"] = _Node(_X["battery"], (past_sun + past_home) / 2 - 1.2 * gap, flow.charge_kwh)
        left -= 2.2 * gap + flow.battery_losses_kwh
    left = _stack(drawing, "from", {"generator": flow.generator_kwh}, left, gap)
    left = _stack(drawing, "from", {"grid": flow.import_kwh}, left, gap)
    drawing.lowest = min(left, right) + gap
    plan = [
        ("sun", LEFT_OVER, flow.pv_not_used_kwh), ("sun", LOST, flow.pv_losses_kwh),
        ("sun", TO_GRID, flow.pv_to_grid_kwh), ("sun", "home", flow.pv_to_load_kwh),
        ("sun", "battery", flow.pv_to_battery_kwh), ("generator", "battery", flow.generator_to_battery_kwh),
        ("grid", "battery", flow.grid_to_battery_kwh), ("battery", LOST, flow.battery_losses_kwh),
        ("battery", TO_GRID, flow.battery_to_grid_kwh), ("battery", "home", flow.battery_to_load_kwh),
        ("generator", "home", flow.generator_to_load_kwh), ("grid", "home", flow.grid_to_load_kwh),
    ]  # fmt: skip
    for source, use, kwh in plan:
        if kwh >= _SHOWN_KWH and {source, use} <= drawing.nodes.keys():
            color, hatch = {LOST: (_GREY, ""), LEFT_OVER: ("white", "")}.get(use, _STYLES[source])
            drawing.bands.append(_Band(source, use, kwh, color, hatch))
    return drawing


def _stack(drawing: _Drawing, column: str, heights: dict[str, float], top: float, gap: float) -> float:
    """Place the bars of a column one below the other; return the top of the next one."""
    for name, height in heights.items():
        if height >= _SHOWN_KWH:
            drawing.nodes[name] = _Node(_X[column], top, height)
            top -= height + gap
    return top


def _draw_band(panel: "Axes", drawing: _Drawing, band: _Band, total: float) -> None:
    """Draw a band from the next free place of its source to that of its use, and its number where it is wide enough."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    source, use = drawing.nodes[band.source], drawing.nodes[band.use]
    y0, y1 = source.top - source.used_right, use.top - use.used_left
    source.used_right, use.used_left = source.used_right + band.kwh, use.used_left + band.kwh
    x0, x1 = source.x + _BAR, use.x
    middle = (x0 + x1) / 2
    corners = [
        (x0, y0), (middle, y0), (middle, y1), (x1, y1), (x1, y1 - band.kwh), (middle, y1 - band.kwh),
        (middle, y0 - band.kwh), (x0, y0 - band.kwh), (x0, y0),
    ]  # fmt: skip
    codes = [Path.MOVETO, *[Path.CURVE4] * 3, Path.LINETO, *[Path.CURVE4] * 3, Path.CLOSEPOLY]
    panel.add_patch(
        PathPatch(
            Path(corners, codes), facecolor=band.color, alpha=0.6, hatch=band.hatch, edgecolor=BLACK, linewidth=0.4
        )
    )
    if band.kwh >= _LABELED * total:
        panel.text(x0 + 0.05, y0 - band.kwh / 2, whole(band.kwh), fontsize=8, va="center", zorder=5, bbox=_GROUND)


def _draw_node(panel: "Axes", name: str, node: _Node, thin: bool) -> None:
    """Draw a bar with its name and its energy."""
    from matplotlib.patches import Rectangle

    color = _STYLES.get(name, (BLACK, ""))[0]
    open_bar = name == "unserved"
    panel.add_patch(
        Rectangle(
            (node.x, node.top - node.height), _BAR, node.height, facecolor="white" if open_bar else color,
            edgecolor=BLACK, linewidth=0.6, linestyle="--" if open_bar else "-", zorder=4,
        )
    )  # fmt: skip
    if name == "battery":
        panel.annotate(
            f"battery {whole(node.height)}", (node.x, node.top), xytext=(0, 3),
            textcoords="offset points", ha="left", va="bottom", fontsize=9, zorder=6, bbox=_GROUND,
        )  # fmt: skip
        return
    at_left = node.x == _X["from"]
    panel.text(
        node.x - 0.015 if at_left else node.x + _BAR + 0.015, node.top - node.height / 2,
        (" " if thin else "\n").join((name, whole(node.height))), fontsize=9, va="center",
        ha="right" if at_left else "left", zorder=6,
    )  # fmt: skip
