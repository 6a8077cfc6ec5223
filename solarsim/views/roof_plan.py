"""The roof as it is described: a result in; its faces seen from above, and the sun's path over the horizon, drawn."""

import math
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from solarsim.scenario.roof.roof import Array
from solarsim.studies.roof import ArrayEnergy, Roof
from solarsim.views.figure import BLACK, BLUE, ORANGE, SKY, VERMILION, plain_panel
from solarsim.views.texts import MONTHS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

_FLAT_DEG = 1.0
_THIN = 0.12  # of its length: a wall seen from above
_CLOSE_DEG = 75.0
_GAP = 0.4
_STYLES = ((VERMILION, "-"), (BLACK, "--"), (BLUE, ":"))


def draw_faces(panel: "Axes", result: Roof) -> None:
    """Draw each array as a numbered face of its size on the side that it faces, north up; a list says what it is."""
    from matplotlib.patches import Polygon

    arrays, energies = result.described.arrays, result.arrays
    lengths = [math.sqrt(max(each.rated_kw, 0.1)) for each in energies]
    placed: list[tuple[float, float]] = []  # direction and outer edge of the faces so far
    corners = np.zeros((1, 2))
    for number, (array, length) in enumerate(zip(arrays, lengths, strict=True), start=1):
        depth = length * max(math.cos(math.radians(array.tilt_deg)), _THIN)
        near = [edge for direction, edge in placed if _apart(direction, array.azimuth_deg) < _CLOSE_DEG]
        inner = max([max(lengths) / 2, *near]) + _GAP
        placed.append((array.azimuth_deg, inner + depth))
        out = np.array([math.sin(math.radians(array.azimuth_deg)), math.cos(math.radians(array.azimuth_deg))])
        along = np.array([out[1], -out[0]]) * length / 2
        face = np.array([inner * out - along, inner * out + along, (inner + depth) * out + along])
        face = np.vstack([face, (inner + depth) * out - along])
        panel.add_patch(Polygon(face, facecolor=SKY, edgecolor=BLACK, alpha=0.7))
        (x, y), (x_tip, y_tip) = (inner + depth / 2) * out, (inner + depth + _GAP) * out
        if array.tilt_deg >= _FLAT_DEG:
            style = {"arrowstyle": "-|>", "color": BLACK, "linewidth": 1.5}
            panel.annotate("", (x_tip, y_tip), (x, y), arrowprops=style)
        label = {"facecolor": "white", "edgecolor": BLACK, "boxstyle": "circle,pad=0.25"}
        panel.annotate(str(number), (x, y), ha="center", va="center", fontsize=10, bbox=label)
        corners = np.vstack([corners, face, [[x_tip, y_tip]]])
    panel.plot([0], [0], marker="+", color=BLACK)
    panel.set_xlim(corners[:, 0].min() - 0.3, corners[:, 0].max() + 0.3)
    panel.set_ylim(corners[:, 1].min() - 0.3, corners[:, 1].max() + 0.3)
    panel.set_aspect("equal")
    panel.set_axis_off()
    panel.set_title("Arrays from above: area by rating, foreshortened by tilt; positions not to scale", fontsize=10)
    words = [_words(number, *each) for number, each in enumerate(zip(arrays, energies, strict=True), start=1)]
    panel.annotate("\n".join(words), (0.0, -0.02), xycoords="axes fraction", va="top", fontsize=9)
    _compass(panel)


def _compass(panel: "Axes") -> None:
    """Draw the four directions in the upper left corner."""
    for name, x, y in (("N", 0, 1), ("E", 1, 0), ("S", 0, -1), ("W", -1, 0)):
        panel.annotate(
            name, (-0.08, 0.9), xytext=(26 * x, 26 * y), xycoords="axes fraction", textcoords="offset points",
            ha="center", va="center", fontsize=9, fontweight="bold" if name == "N" else "normal",
            arrowprops={"arrowstyle": "<-" if name == "N" else "-", "color": BLACK, "linewidth": 0.8},
            annotation_clip=False,
        )  # fmt: skip


def _apart(one_deg: float, other_deg: float) -> float:
    """Return the angle from one direction to the other [deg]."""
    return abs((one_deg - other_deg + 180.0) % 360.0 - 180.0)


def _words(number: int, array: Array, energy: ArrayEnergy) -> str:
    modules = array.modules_in_series * array.strings
    facing = "flat" if array.tilt_deg < _FLAT_DEG else f"faces {array.azimuth_deg:.4g}°, tilt {array.tilt_deg:.3g}°"
    return f"{number}  {array.name}: {modules} modules, {energy.rated_kw:.2f} kWdc, {facing}"


def draw_sky(panel: "Axes", result: Roof) -> None:
    """Draw the sun's path on three days over the horizon, noon in the middle, with hours of the wall clock."""
    middle = 180.0 if result.weather.latitude_deg >= 0.0 else 0.0

    def across(azimuth_deg: "NDArray[np.float64]") -> "NDArray[np.float64]":
        return np.asarray((azimuth_deg - middle + 180.0) % 360.0 - 180.0 + middle)

    for day, (color, style) in zip(result.sun_days, _STYLES, strict=True):
        order = np.argsort(across(day.azimuth_deg))
        x, y, clock = across(day.azimuth_deg)[order], day.elevation_deg[order], day.clock_h[order]
        when = date.fromisoformat(day.date)
        panel.plot(x, y, color=color, linestyle=style, linewidth=1.6, label=f"{MONTHS[when.month - 1]} {when.day}")
        for place in np.flatnonzero(np.abs(clock - np.round(clock)) < 0.01):
            panel.plot(x[place], y[place], marker="o", markersize=3, color=color)
            if round(clock[place]) % 3 == 0:
                panel.annotate(
                    f"{round(clock[place])}:00", (x[place], y[place]), xytext=(0, 4), textcoords="offset points",
                    fontsize=7, ha="center", va="bottom",
                )  # fmt: skip
    if result.horizon_deg is not None:
        around = np.arange(middle - 180.0, middle + 181.0)
        panel.fill_between(
            around, 0.0, result.horizon_deg[(around % 360.0).astype(np.int64)], facecolor="0.8", edgecolor=BLACK,
            hatch="//", linewidth=0.8, label="horizon",
        )  # fmt: skip
    names: dict[float, list[str]] = {}
    for array in result.described.arrays:
        if array.tilt_deg >= _FLAT_DEG:
            names.setdefault(float(across(np.array([array.azimuth_deg]))[0]), []).append(array.name)
    for x_of, alike in names.items():
        panel.axvline(x_of, color=ORANGE, linewidth=1.2, linestyle="-.")
        at_edge = x_of < middle - 170.0
        panel.annotate(
            ", ".join(alike), (x_of, 2.0 if at_edge else 88.0), rotation=90, fontsize=8, textcoords="offset points",
            xytext=(3 if at_edge else -3, 0), ha="left" if at_edge else "right", va="bottom" if at_edge else "top",
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.7, "pad": 0.6},
        )  # fmt: skip
    panel.set_xlim(middle - 180.0, middle + 180.0)
    ticks = np.arange(middle - 180.0, middle + 181.0, 45.0)
    points = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
    panel.set_xticks(ticks, [f"{points[int(tick % 360.0 // 45)]}\n{tick % 360.0:g}" for tick in ticks], fontsize=8)
    panel.set_ylim(0.0, 90.0)
    panel.set_xlabel("azimuth, degrees")
    panel.set_ylabel("elevation, degrees")
    panel.set_title("Sun path in wall-clock time; arrays at their azimuth", fontsize=10)
    panel.legend(loc="upper left", frameon=False, fontsize=8)
    plain_panel(panel)
