"""What outages mean, for a person: results in; tables, sentences and a figure out."""

from typing import TYPE_CHECKING, Any

from rich.table import Table

from solarsim.studies.outages.outages import BackupMonth, Outages, Variant
from solarsim.views.tables import plain_table
from solarsim.views.texts import MONTHS, heading

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

OUTAGE_CAUTION = (
    "Backfeeding a dead line can kill the crew repairing it. Use listed transfer equipment, or an inverter that stops"
    " with the grid (anti-islanding). Generator exhaust can kill: run a generator outdoors only, far from doors and"
    " windows, and never plug it into an outlet. Follow local code and have licensed professionals do the work."
)
_SHOWN_H = (4, 8, 24, 72)


def page(result: Outages) -> list[Any]:
    """Return what a person sees of outages: backup duration by month, outages covered, reserve, random and own outages.

    Parameters
    ----------
    result : Outages
        One strategy.

    Returns
    -------
    list
        Text and tables.
    """
    parts: list[Any] = [heading(result.home), f"Strategy: {result.strategy}"]
    if not _can_island(result):
        parts += [
            "Backup duration: 0 h. A grid-tied inverter without storage shuts down with the grid, sun or no sun, as"
            " anti-islanding requires. With arrangement.kind = 'hybrid' the same home can supply itself in an outage."
        ]
    else:
        parts += ["Backup duration by month, and outages covered:", _month_table(result), *_how_counted(result)]
        parts += ["\nOutages covered, by duration:", _covered_table(result), *_variants_words(result)]
    if result.reserve_curve:
        parts += ["\nCost of a reserve, and outages covered:", _reserve_table(result), *_reserve_words(result)]
    if result.drawn is not None:
        parts += ["\nUnserved energy in random outages:", _drawn_table(result), *_drawn_words(result)]
    if result.events:
        parts += ["\nThe scenario's own outages:", _event_table(result)]
    return [*parts, OUTAGE_CAUTION]


def _can_island(result: Outages) -> bool:
    """Return whether anything is served in an outage."""
    return result.arrangement != "grid_tied"


def _generator(result: Outages) -> bool:
    """Return whether the home has a generator."""
    return any(each.with_generator for each in result.variants)


def _hours(value: float, result: Outages) -> str:
    """Return a backup duration; the longest that was simulated may be exceeded."""
    return f"{value:.0f}+" if value >= result.outage_h[-1] else f"{value:.1f}"


def _month_table(result: Outages) -> Table:
    """Return backup duration and outages covered by month of the start."""
    table = plain_table(
        "Start in", "Median\nh", "P90\nh", "Shortest\nh", *(f"Covered\n{hours} h" for hours in _SHOWN_H)
    )
    rows: list[tuple[str, BackupMonth]] = [(MONTHS[(each.month or 1) - 1], each) for each in result.months]
    for name, each in [*rows, ("Year", result.variants[0].year)]:
        if name == "Year":
            table.add_section()
        durations = (each.backup_duration_h, each.p90_backup_duration_h, each.shortest_backup_duration_h)
        shares = (each.outages_covered[result.outage_h.index(hours)] for hours in _SHOWN_H)
        table.add_row(name, *(_hours(value, result) for value in durations), *(f"{share:.1%}" for share in shares))
    return table


def _covered_table(result: Outages) -> Table:
    """Return the share of outages that are served to the end, by duration, in each variant."""
    headings = [
        f"reserve\n{'as set' if each.keeps_reserve else 'none'}"
        + (f",\n{'generator' if each.with_generator else 'no gen.'}" if _generator(result) else "")
        for each in result.variants
    ]
    table = plain_table("Duration", *headings)
    for place, hours in enumerate(result.outage_h):
        table.add_row(f"{hours} h", *(f"{each.year.outages_covered[place]:.1%}" for each in result.variants))
    return table


def _variant_words(variant: Variant, result: Outages) -> str:
    """Return the name of a variant, for a table or a legend."""
    words = ["reserve as set" if variant.keeps_reserve else "no reserve"]
    if _generator(result):
        words.append("generator" if variant.with_generator else "no generator")
    return ", ".join(words)


def _how_counted(result: Outages) -> list[str]:
    """Return how backup duration is counted, and what shortens it."""
    behind = "the whole home" if result.backed_up in (None, "all") else "the critical loads"
    told = [
        f"Backup duration: time from the start of an outage until some demand of {behind} is unserved, simulated up to"
        f" {result.outage_h[-1]} h from each of the {len(result.home.timeline):,} steps of the year, with the energy"
        " stored at that step in a year without outages. P90: reached or exceeded from 90% of the starts. Covered:"
        " share of outages served to the end. The load is not reduced, sunshine is that of the typical year (storms"
        " have less), and the transfer time is not included."
    ]
    arrangement = result.home.scenario.arrangement
    if arrangement is not None and arrangement.kind == "hybrid" and arrangement.transfer_seconds:
        how = "by hand" if arrangement.transfer == "by_hand" else "automatic"
        told.append(f"Transfer time ({how}): {arrangement.transfer_seconds:g} s.")
    wait = result.transfer
    if wait is not None and wait.away > 0.0:
        told.append(
            f"At {wait.away:.0%} of the starts no one is at home to operate the transfer switch:"
            f" the home is then without power for {wait.mean_wait_h:.1f} h on average, at most"
            f" {wait.longest_wait_h:g} h, before backup begins."
        )
    if result.above_rating_h > 0.0:
        told.append(
            f"In {result.above_rating_h:,.0f} h of the year the backed-up demand exceeds the inverter's"
            f" {result.home.scenario.inverter.ac_kw:g} kW: an outage then sheds some of it, whatever the battery holds,"
            " critical loads last."
        )
    return [*told, *_motor_words(result)]


def _motor_words(result: Outages) -> list[str]:
    """Return whether the largest motor starts."""
    start = result.motor
    if start is None:
        return []
    bank = "has no stated limit" if start.bank_kw is None else f"delivers {start.bank_kw:.1f} kW"
    return [
        f"Motor start, {start.motor.kw:g} kW: {start.motor.kw * start.motor.start_factor:.1f} kW inrush,"
        f" {start.needed_kw:.1f} kW with the mean load of {start.beside_kw:.1f} kW. The inverter's surge"
        f" rating is {start.inverter_kw:.1f} kW, the battery {bank}: the motor"
        f" {'starts' if start.motor_starts else 'DOES NOT START'}."
    ]


def _variants_words(result: Outages) -> list[str]:
    """Return what "no reserve" means."""
    if result.home.stays_connected:
        return ["No reserve: the year simulated again with every reserve at the battery's low cutoff."]
    return ["An off-grid home keeps no reserve: its battery discharges to the low cutoff."]


def _reserve_table(result: Outages) -> Table:
    """Return what each level of reserve costs and covers."""
    currency, drawn = result.currency, result.drawn is not None
    headings = [
        f"Energy\ncost,\n{currency}/yr",
        f"Reserve\ncost,\n{currency}/yr",
        *(["Unserved\nkWh/yr"] if drawn else []),
    ]
    table = plain_table("Reserve", *headings, *(f"Covered\n{hours} h" for hours in _SHOWN_H))
    for point in result.reserve_curve:
        shares = (point.outages_covered[result.outage_h.index(hours)] for hours in _SHOWN_H)
        table.add_row(
            f"{point.reserve:.0%}{' *' if point.held else ''}",
            f"{point.energy_cost:,.0f}",
            f"{point.reserve_cost:,.0f}",
            *([f"{point.unserved_kwh:,.2f}"] if point.unserved_kwh is not None else []),
            *(f"{share:.1%}" for share in shares),
        )
    return table


def _reserve_words(result: Outages) -> list[str]:
    """Return how to read the table of reserves."""
    told = [
        "Energy cost: of a year without outages, with this reserve in every hour in place of the strategy's own; all"
        " other settings are unchanged. Reserve cost: relative to the lowest reserve. Battery and solar only"
        + (", without the generator." if _generator(result) else ".")
    ]
    if result.drawn is not None:
        told.append("Unserved: backed-up demand in random outages, mean per year.")
    lowest = min(result.reserve_curve, key=lambda point: point.energy_cost + (point.outage_cost or 0.0))
    if lowest.outage_cost is not None:
        told.append(
            f"Lowest energy cost + outage cost: a reserve of {lowest.reserve:.0%}"
            f" ({lowest.energy_cost:,.0f} + {lowest.outage_cost:,.0f} {result.currency} a year)."
        )
    if any(point.held for point in result.reserve_curve):
        told.append("* sell_down_to or solar_ceiling is below this reserve, so the battery holds less.")
    return told


def _drawn_table(result: Outages) -> Table:
    """Return what drawn years of outages leave unserved."""
    critical = _has_critical(result)
    headings = ["Mean\nkWh/yr", *(["Critical\nkWh/yr"] if critical else []), "Median\nkWh/yr", "90%: at\nmost"]
    table = plain_table("", *headings, "Unserved\nh/yr", "Years fully\nserved")
    for variant in result.variants:
        each = variant.drawn
        if each is not None:
            kwh = [each.mean_kwh, *([each.critical_kwh] if critical else []), each.median_kwh, each.p90_kwh]
            cells = [*(f"{value:,.2f}" for value in kwh), f"{each.unserved_h:,.1f}", f"{each.years_fully_served:.0%}"]
            table.add_row(_variant_words(variant, result), *cells)
    return table


def _drawn_words(result: Outages) -> list[str]:
    """Return what was drawn."""
    drawn, outages, unserved = result.drawn, result.home.scenario.outages, result.variants[0].drawn
    if drawn is None or outages is None or outages.frequency is None or unserved is None:
        return []
    whose = "Backed-up demand" if _can_island(result) else "Demand of the whole home"
    told = [
        f"{whose}, {drawn.outages:,} outages in {drawn.years:,} years (seed {drawn.seed}): on average"
        f" {outages.frequency.per_year:g} a year, {outages.frequency.mean_h:g} h each. Each starts with the energy"
        " stored in a year without outages, so a second outage soon after the first looks too easy. Real outages come"
        " in clusters."
    ]
    if unserved.not_backed_up_kwh > 0.0:
        told.append(
            f"In addition, demand that is not backed up is unserved: {unserved.not_backed_up_kwh:,.1f} kWh a year."
        )
    if drawn.shortened:
        told.append(f"{drawn.shortened:,} of them were longer than {drawn.longest_h:g} h and were shortened to that.")
    return told


def _event_table(result: Outages) -> Table:
    """Return what the scenario's own outages leave unserved, and how long a generator runs in them."""
    generator, critical = _generator(result), _has_critical(result)
    partly = any(event.not_backed_up_kwh for event in result.events)
    headings = ["Duration\nh", "Unserved\nkWh", *(["Not backed\nup, kWh"] if partly else []), "Unserved\nh"]
    headings += ["Critical\nkWh", "Critical\nh"] if critical else []
    table = plain_table("Outage from", *headings, *(["Gen.\nh", "Fuel\nL"] if generator else []))
    for event in result.events:
        table.add_row(
            event.start,
            f"{event.hours}",
            f"{event.unserved_kwh:,.1f}",
            *([f"{event.not_backed_up_kwh:,.1f}"] if partly else []),
            f"{event.unserved_h:,.2f}",
            *([f"{event.critical_unserved_kwh:,.1f}", f"{event.critical_unserved_h:,.2f}"] if critical else []),
            *([f"{event.generator_h:g}", f"{event.liters:,.1f}"] if generator else []),
        )
    return table


def _has_critical(result: Outages) -> bool:
    """Return whether a part of the backed-up demand is critical, and another is not."""
    return bool(result.home.critical_kw.any()) and result.backed_up != "critical"


def figure(result: Outages) -> "Figure":
    """Draw backup duration by month, outages covered by duration, and what each step of reserve costs for it.

    Parameters
    ----------
    result : Outages
        One strategy.

    Returns
    -------
    matplotlib.figure.Figure
        15 x 6 inches; the last panel only for a home on the grid with a battery.
    """
    from solarsim.views.figure import new_figure, plain_panel

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
        style = "--" if _generator(result) and not variant.with_generator else "-"
        marker = "o" if variant.keeps_reserve else "s"
        panel.plot(
            hours, shares, color=color, linestyle=style, marker=marker, markersize=4, markevery=8,
            label=_variant_words(variant, result),
        )  # fmt: skip
    panel.set_xlim(0, result.outage_h[-1])
    panel.set_xticks([0, *result.outage_h[3:]])
    panel.set_xlabel("duration of the outage, h")
    panel.legend(loc="best", frameon=False, fontsize=9)
    if not _can_island(result):
        panel.annotate("a grid-tied home stops with the grid", (0.5, 0.5), xycoords="axes fraction", ha="center")


def _draw_reserve(panel: "Axes", result: Outages) -> None:
    """Draw outages covered over what the reserve costs, a line for each duration."""
    from solarsim.views.figure import BLACK, GREEN, ORANGE, SKY

    costs = [point.reserve_cost for point in result.reserve_curve]
    looks = ((SKY, "-", "o"), (GREEN, "--", "s"), (ORANGE, "-.", "^"), (BLACK, ":", "D"))
    for hours, (color, style, marker) in zip(_SHOWN_H, looks, strict=True):
        place = result.outage_h.index(hours)
        shares = [100 * point.outages_covered[place] for point in result.reserve_curve]
        panel.plot(costs, shares, color=color, linestyle=style, marker=marker, markersize=4, label=f"{hours} h")
    last = [100 * point.outages_covered[-1] for point in result.reserve_curve]
    for number, (point, share) in enumerate(zip(result.reserve_curve, last, strict=True)):
        if number % 2 == 0 or number == len(last) - 1:
            panel.annotate(
                f"{point.reserve:.0%}", (point.reserve_cost, share), (5, -10), textcoords="offset points", fontsize=8,
            )  # fmt: skip
    panel.set_xlabel(f"reserve cost, {result.currency} a year")
    alone = ", no generator" if _generator(result) else ""
    panel.legend(loc="lower right", frameon=False, fontsize=9, title=f"duration (below the line: reserve{alone})")
