"""The figure of outages: a result in; backup duration, outages covered and the cost of a reserve, drawn, out."""

from typing import TYPE_CHECKING

from solarsim.studies.outages.outages import Outages
from solarsim.views.outage_words import SHOWN_H, can_island, has_generator, variant_words
from solarsim.views.texts import MONTHS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def figure(result: Outages) -> "Figure":
    """Draw backup duration by month, outages covered by duration, and what each step of reserve costs for it.

    Parameters
    ----------
    result : Outages
        One strategy.

    Returns
    -------
    matplotlib.figure.Figure
        15 x 6 inches; the last panel only for a home on the grid with a battery. Without a grid connection one panel:
        what the year leaves unserved, by month.
    """
    from solarsim.views.figure import new_figure, plain_panel

    if not result.variants:
        return _drawn_year(result)
    drawn = new_figure(15, 6, f"{result.scenario}: outages, {result.strategy}")
    panels = drawn.subplots(1, 3 if result.reserve_curve else 2, squeeze=False)[0]
    _draw_months(panels[0], result)
    _draw_covered(panels[1], result)
    if result.reserve_curve:
        _draw_reserve(panels[2], result)
    for panel in panels[1:]:
        panel.set_ylim(-2, 103)
        panel.set_ylabel("outages covered, % of all starts")
    for panel in panels:
        plain_panel(panel)
    return drawn


def _drawn_year(result: Outages) -> "Figure":
    """Draw what a home without a grid connection leaves unserved, by month."""
    from solarsim.views.figure import BLACK, VERMILION, new_figure, plain_panel

    drawn = new_figure(9, 5, f"{result.scenario}: unserved without a grid, {result.strategy}")
    panel, unserved_kwh = drawn.subplots(), result.run.monthly()["unserved_kwh"].to_numpy()
    bars = panel.bar(range(12), unserved_kwh, color=VERMILION, edgecolor=BLACK, linewidth=0.5, hatch="//")
    panel.bar_label(bars, [f"{each:,.1f}" for each in unserved_kwh], fontsize=9)
    panel.set_xticks(range(12), MONTHS)
    panel.set_ylabel("unserved, kWh")
    plain_panel(panel)
    return drawn


def _draw_months(panel: "Axes", result: Outages) -> None:
    """Draw the median, P90 and shortest backup duration by month."""
    from solarsim.views.figure import BLACK, BLUE, SKY

    places = range(len(result.months))
    typical = [each.backup_duration_h for each in result.months]
    panel.bar(places, typical, color=SKY, edgecolor=BLACK, linewidth=0.5, label="median")
    marks = (
        ([each.p90_backup_duration_h for each in result.months], "D", BLUE, "P90: reached from 90% of starts"),
        ([each.shortest_backup_duration_h for each in result.months], "v", BLACK, "shortest"),
    )
    for values, marker, color, label in marks:
        panel.plot(places, values, marker=marker, color=color, linestyle="none", label=label)
    panel.set_xticks(places, [name[0] for name in MONTHS])
    panel.set_ylim(0, result.outage_h[-1] * 1.22)
    panel.set_yticks(range(0, result.outage_h[-1] + 1, 12))
    panel.set_xlabel("month of the start")
    panel.set_ylabel(f"backup duration, h (simulated up to {result.outage_h[-1]} h)")
    panel.legend(loc="upper left", frameon=False, fontsize=9)


def _draw_covered(panel: "Axes", result: Outages) -> None:
    """Draw outages covered by duration, a line for each variant."""
    from solarsim.views.figure import BLUE, VERMILION

    hours = range(result.outage_h[-1] + 1)
    for variant in result.variants:
        shares = [100.0 if hour == 0 else 100 * variant.backup.covered(hour) for hour in hours]
        color = BLUE if variant.keeps_reserve else VERMILION
        style = "--" if has_generator(result) and not variant.with_generator else "-"
        marker = "o" if variant.keeps_reserve else "s"
        panel.plot(
            hours, shares, color=color, linestyle=style, marker=marker, markersize=4, markevery=8,
            label=variant_words(variant, result),
        )  # fmt: skip
    panel.set_xlim(0, result.outage_h[-1])
    panel.set_xticks([0, *result.outage_h[3:]])
    panel.set_xlabel("duration of the outage, h")
    panel.legend(loc="best", frameon=False, fontsize=9)
    if not can_island(result):
        panel.annotate("a grid-tied home stops with the grid", (0.5, 0.5), xycoords="axes fraction", ha="center")


def _draw_reserve(panel: "Axes", result: Outages) -> None:
    """Draw outages covered over what the reserve costs, a line for each duration."""
    from solarsim.views.figure import BLACK, GREEN, ORANGE, SKY

    costs = [point.reserve_cost for point in result.reserve_curve]
    looks = ((SKY, "-", "o"), (GREEN, "--", "s"), (ORANGE, "-.", "^"), (BLACK, ":", "D"))
    for hours, (color, style, marker) in zip(SHOWN_H, looks, strict=True):
        place = result.outage_h.index(hours)
        shares = [100 * point.outages_covered[place] for point in result.reserve_curve]
        panel.plot(
            costs, shares, color=color, linestyle=style, marker=marker, markersize=4, label=f"outage of {hours} h"
        )
    last = [100 * point.outages_covered[-1] for point in result.reserve_curve]
    for number, (point, share) in enumerate(zip(result.reserve_curve, last, strict=True)):
        if number % 2 == 0 or number == len(last) - 1:
            words = f"{'reserve ' if number == 0 else ''}{point.reserve:.0%}"
            panel.annotate(words, (point.reserve_cost, share), (5, -10), textcoords="offset points", fontsize=8)
    panel.set_xlabel(f"reserve cost, {result.currency} a year")
    alone = "without the generator" if has_generator(result) else ""
    panel.legend(loc="lower right", frameon=False, fontsize=9, title=alone or None)
