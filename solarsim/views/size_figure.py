"""The pictures of ``size``: designs along their axes, the frontier, and the gain of each step along an axis."""

import math
from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from solarsim.studies.size.design import Design, npv_of
from solarsim.studies.size.size import Size

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_MOST_LINES = 7
_WHOLE = "{x:,.0f}"


def figure(result: Size) -> "Figure":
    """Draw NPV along the axes, the frontiers of cost and NPV, bill and backup, and the gain of steps along each axis.

    Parameters
    ----------
    result : Size
        Steps and designs.

    Returns
    -------
    matplotlib.figure.Figure
        12 inches wide; without axes one panel with the steps.
    """
    from solarsim.views.figure import new_figure

    title = f"{result.scenario}: what to purchase"
    if not result.axes or result.best is None:
        drawn = new_figure(11, 2.0 + 0.35 * len(result.next_steps), title)
        _draw_steps(drawn.subplots(), result)
        return drawn
    varied = [key for key, values in result.axes.items() if _are_numbers(values)]
    backed = [each for each in result.designs if each.backup_duration_h]
    drawn = new_figure(12, 12.5, title)
    panels = drawn.subplots(3, 2).ravel()
    _draw_axes(panels[0], result)
    money = f", {result.currency}"
    _draw_frontier(panels[1], result, result.designs, result.frontier, "NPV" + money, npv_of)
    _draw_frontier(panels[2], result, result.designs, result.bill_frontier, f"energy cost{money}/yr", _energy_cost)
    if backed:
        _draw_frontier(panels[3], result, backed, result.backup_frontier, "backup in the worst month, h", _backup)
    else:
        panels[3].remove()
    for panel, key in zip(panels[4:], varied[:2], strict=False):
        _draw_gains(panel, result, key)
    for panel in panels[4 + len(varied[:2]) :]:
        panel.remove()
    return drawn


def _draw_steps(panel: "Axes", result: Size) -> None:
    """Draw what each step adds to the NPV, the most at the top."""
    from solarsim.views.figure import BLUE, VERMILION, plain_panel

    steps = [step for step in result.next_steps if step.npv_gain is not None and step.price_missing is None]
    for row, step in enumerate(steps):
        more = step.more
        panel.barh(row, step.npv_gain or 0.0, color=BLUE if more else VERMILION, hatch="" if more else "//")
    panel.set_yticks(range(len(steps)), [step.name for step in steps])
    panel.invert_yaxis()
    panel.set_xlabel(f"added to the NPV, {result.currency} (hatched: reductions)")
    panel.xaxis.set_major_formatter(_WHOLE)
    plain_panel(panel, "x")


def _draw_axes(panel: "Axes", result: Size) -> None:
    """Draw NPV over the first axis, a line for each value of the second; other axes at the best design."""
    from solarsim.views.figure import BLACK, LINE_COLORS, LINE_STYLES, plain_panel

    first, *others = result.axes
    best = result.best.changes if result.best is not None else {}
    second = others[0] if others else None
    fixed = {key: best[key] for key in others[1:]}
    values = result.axes[second] if second is not None else (None,)
    for place, value in enumerate(_some(values)):
        chosen = {**fixed, **({} if second is None else {second: value})}
        along = _along(result, first, chosen)
        label = None if second is None else str(value)
        panel.plot(
            [_place(result.axes[first], each.changes[first]) for each in along],
            [each.npv or 0.0 for each in along],
            color=LINE_COLORS[place % len(LINE_COLORS)],
            linestyle=LINE_STYLES[place % len(LINE_STYLES)],
            marker=".",
            label=label,
        )
    is_here = all(result.written.changes[key] == value for key, value in fixed.items())
    marks = [(result.best, "*", "highest NPV"), *([(result.written, "o", "as written")] if is_here else [])]
    for design, marker, words in marks:
        if design is not None and design.npv is not None and design.changes.get(first) in result.axes[first]:
            x = _place(result.axes[first], design.changes[first])
            panel.plot(x, design.npv, marker=marker, color=BLACK, markersize=11, linestyle="none", fillstyle="none")
            panel.annotate(words, (x, design.npv), xytext=(8, -14), textcoords="offset points", fontsize=9)
    _name_places(panel, result.axes[first])
    panel.set_xlabel(first)
    panel.set_ylabel(f"NPV, {result.currency}")
    panel.yaxis.set_major_formatter(_WHOLE)
    if second is not None:
        panel.legend(title=second, title_fontsize=8, frameon=False, fontsize=8)
    if fixed:
        kept = ", ".join(f"{key} = {value}" for key, value in fixed.items())
        panel.set_title(f"with {kept}{'' if is_here else ' (not as written)'}", fontsize=8, loc="left")
    plain_panel(panel)


def _draw_frontier(
    panel: "Axes",
    result: Size,
    designs: Sequence[Design],
    frontier: Sequence[Design],
    label: str,
    value: Callable[[Design], float],
) -> None:
    """Draw designs by upfront cost and a value, and the line of those that no cheaper one equals."""
    from solarsim.views.figure import BLACK, BLUE, SKY, plain_panel

    known = [each for each in designs if each.npv is not None]
    for each, style, color, words in ((known, ".", SKY, "designs"), (frontier, "o-", BLUE, "frontier")):
        panel.plot([one.upfront_cost for one in each], list(map(value, each)), style, color=color, label=words)
    for design, marker, words in ((result.best, "*", "highest NPV"), (result.written, "o", "as written")):
        if design is not None and design.npv is not None and math.isfinite(value(design)):
            point = (design.upfront_cost, value(design))
            panel.plot(*point, marker=marker, color=BLACK, markersize=11, linestyle="none", fillstyle="none")
            panel.annotate(words, point, xytext=(8, -14), textcoords="offset points", fontsize=9)
    panel.set_xlabel(f"upfront cost, {result.currency}")
    panel.set_ylabel(label)
    panel.xaxis.set_major_formatter(_WHOLE)
    panel.yaxis.set_major_formatter(_WHOLE)
    panel.locator_params(axis="x", nbins=6)
    panel.legend(frameon=False, fontsize=8, loc="best")
    plain_panel(panel)


def _energy_cost(design: Design) -> float:
    return math.nan if design.energy_cost is None else design.energy_cost


def _backup(design: Design) -> float:
    return design.backup_duration_h or math.nan


def _draw_gains(panel: "Axes", result: Size, key: str) -> None:
    """Draw what each further value of an axis adds to yearly savings and NPV, all else as in the best design."""
    from solarsim.views.figure import BLACK, BLUE, ORANGE, plain_panel

    best = result.best.changes if result.best is not None else {}
    along = _along(result, key, {other: best[other] for other in result.axes if other != key})
    pairs = list(pairwise(along))
    unit, per = _unit_of(pairs)
    labels = [f"{low.changes[key]} to {high.changes[key]}" for low, high in pairs]
    gains = [_per(high.npv, low.npv, per(low, high)) for low, high in pairs]
    costs = [(high.upfront_cost - low.upfront_cost) / per(low, high) for low, high in pairs]
    places = range(len(pairs))
    panel.axhline(0.0, color=BLACK, linewidth=0.8)
    panel.bar([place - 0.2 for place in places], gains, 0.38, color=BLUE, label="added to the NPV (cost deducted)")
    panel.bar([place + 0.2 for place in places], costs, 0.38, color=ORANGE, hatch="//", label="upfront cost")
    panel.set_xticks(places, labels)
    panel.set_xlabel(key)
    panel.set_ylabel(f"{result.currency} per additional {unit}")
    panel.yaxis.set_major_formatter(_WHOLE)
    panel.legend(frameon=False, fontsize=8)
    plain_panel(panel, "y")


def _unit_of(pairs: Sequence[tuple[Design, Design]]) -> tuple[str, Any]:
    """Return what a step of an axis adds: usable kWh, kWdc or a unit of the axis; and how much of it."""
    if all(high.usable_kwh > low.usable_kwh and high.kw_dc == low.kw_dc for low, high in pairs):
        return "usable kWh", lambda low, high: high.usable_kwh - low.usable_kwh
    if all(high.kw_dc > low.kw_dc and high.usable_kwh == low.usable_kwh for low, high in pairs):
        return "kWdc", lambda low, high: high.kw_dc - low.kw_dc
    return "step", lambda _low, _high: 1.0


def _per(high: float | None, low: float | None, amount: float) -> float:
    return ((high or 0.0) - (low or 0.0)) / amount


def _along(result: Size, key: str, chosen: Mapping[str, Any]) -> list[Design]:
    """Return the designs with some values, in the order of one axis."""
    fitting = [
        each
        for each in result.designs
        if each.npv is not None and all(each.changes[other] == value for other, value in chosen.items())
    ]
    order = list(result.axes[key])
    return sorted(fitting, key=lambda each: _place(order, each.changes[key]))


def _place(values: Sequence[Any], value: Any) -> float:
    """Return where a value of an axis is drawn: at itself, or at its place where it is no number."""
    return float(value) if _are_numbers(values) else float(list(values).index(value))


def _name_places(panel: "Axes", values: Sequence[Any]) -> None:
    if _are_numbers(values):
        panel.set_xticks([float(value) for value in _some(values)])
    else:
        panel.set_xticks(range(len(values)), ["none" if value is None else str(value)[:20] for value in values])


def _are_numbers(values: Sequence[Any]) -> bool:
    return all(isinstance(value, int | float) and not isinstance(value, bool) for value in values)


def _some(values: Sequence[Any]) -> list[Any]:
    """Return at most seven values, evenly apart, the ends among them."""
    if len(values) <= _MOST_LINES:
        return list(values)
    places = {round(place * (len(values) - 1) / (_MOST_LINES - 1)) for place in range(_MOST_LINES)}
    return [values[place] for place in sorted(places)]
