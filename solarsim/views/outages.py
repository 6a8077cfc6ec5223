"""What outages mean, for a person: results in; tables, sentences and a figure out."""

from typing import Any

from rich.table import Table

from solarsim.studies.outages.outages import BackupMonth, Outages
from solarsim.views.outage_events import events_part, has_critical
from solarsim.views.outage_words import SHOWN_H, can_island, has_generator, variant_words, why_words
from solarsim.views.outages_figure import figure
from solarsim.views.tables import plain_table
from solarsim.views.texts import MONTHS, heading

__all__ = ["OUTAGE_CAUTION", "figure", "page"]

OUTAGE_CAUTION = (
    "Backfeeding a dead line can kill the crew repairing it. Use listed transfer equipment, or an inverter that stops"
    " with the grid (anti-islanding). Generator exhaust can kill: run a generator outdoors only, far from doors and"
    " windows, and never plug it into an outlet. Follow local code and have licensed professionals do the work."
)


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
    if not result.variants:
        pass  # no grid that could fail: the year itself is what can be told
    elif not can_island(result):
        parts += [
            "Backup duration: 0 h. A grid-tied inverter without storage shuts down with the grid, sun or no sun, as"
            " anti-islanding requires. With arrangement.kind = 'hybrid' the same home can supply itself in an outage."
        ]
    else:
        parts += ["Backup duration by month, and outages covered:", _month_table(result), *_how_counted(result)]
        parts += ["\nWhy backup ends within 72 h:", _ends_table(result), *_ends_words(result)] if result.ends else []
        parts += ["\nOutages covered, by duration:", _covered_table(result), *_variants_words(result)]
    if result.reserve_curve:
        parts += [
            "\nCost of a reserve in a year without outages, and outages covered:",
            _reserve_table(result),
            *_reserve_words(result),
        ]
    if result.drawn is not None:
        parts += ["\nUnserved energy in random outages:", _drawn_table(result), *_drawn_words(result)]
    if result.events:
        parts += events_part(result)
    return [*parts, OUTAGE_CAUTION]


def _hours(value: float, result: Outages) -> str:
    """Return a backup duration; the longest that was simulated may be exceeded."""
    return f"{value:.0f}+" if value >= result.outage_h[-1] else f"{value:.1f}"


def _month_table(result: Outages) -> Table:
    """Return backup duration and outages covered by month of the start."""
    table = plain_table("Start in", "Median\nh", "P90\nh", "Shortest\nh", *(f"Covered\n{hours} h" for hours in SHOWN_H))
    rows: list[tuple[str, BackupMonth]] = [(MONTHS[(each.month or 1) - 1], each) for each in result.months]
    for name, each in [*rows, ("Year", result.variants[0].year)]:
        if name == "Year":
            table.add_section()
        durations = (each.backup_duration_h, each.p90_backup_duration_h, each.shortest_backup_duration_h)
        shares = (each.outages_covered[result.outage_h.index(hours)] for hours in SHOWN_H)
        table.add_row(name, *(_hours(value, result) for value in durations), *(f"{share:.1%}" for share in shares))
    return table


def _ends_table(result: Outages) -> Table:
    """Return why backup ends, the most frequent reason first."""
    table = plain_table("Reason", "Share of\nstarts", "Most often\nin", "Most often\nat")
    for each in result.ends:
        table.add_row(why_words(each.why), f"{each.share:.1%}", MONTHS[each.month - 1], f"{each.hour:02d}:00")
    return table


def _ends_words(result: Outages) -> list[str]:
    """Return how to read the reasons."""
    told = [
        "Reason: what ran out or was too small when demand was first unserved. Most often: month and hour of the day."
    ]
    if any("above_generator_start" in each.why for each in result.ends):
        told.append(
            "Battery above start_at: the generator starts only where the battery is at or below start_at as a step"
            " begins; a large load can empty it within that step."
        )
    return told


def _covered_table(result: Outages) -> Table:
    """Return the share of outages that are served to the end, by duration, in each variant."""
    headings = [
        f"reserve\n{'as set' if each.keeps_reserve else 'none'}"
        + (f",\n{'generator' if each.with_generator else 'no gen.'}" if has_generator(result) else "")
        for each in result.variants
    ]
    table = plain_table("Duration", *headings)
    for place, hours in enumerate(result.outage_h):
        table.add_row(f"{hours} h", *(f"{each.year.outages_covered[place]:.1%}" for each in result.variants))
    return table


def _how_counted(result: Outages) -> list[str]:
    """Return how backup duration is counted, and what shortens it."""
    behind = "the whole home" if result.backed_up in (None, "all") else "the critical loads"
    told = [
        f"Backup duration: time from the start of an outage until some demand of {behind} is unserved, simulated up to"
        f" {result.outage_h[-1]} h from each of the {len(result.home.timeline):,} steps of the year, with the energy"
        " stored at that step in a year without outages. P90: reached or exceeded from 90% of the starts. Covered:"
        " share of outages served to the end. The load is not reduced. Sunshine is that of the typical year; storms"
        " have less. The transfer time is not included."
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
    bank = "has no stated limit" if start.bank_kw is None else f"delivers {start.bank_kw:.1f} kW for a moment"
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
    table = plain_table("Reserve", *headings, *(f"Covered\n{hours} h" for hours in SHOWN_H))
    for point in result.reserve_curve:
        shares = (point.outages_covered[result.outage_h.index(hours)] for hours in SHOWN_H)
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
        "Energy cost: of a year without outages, with this reserve in every hour instead of the strategy's; all"
        " other settings are unchanged. Reserve cost: relative to the lowest reserve. Battery and solar only"
        + (
            ", without the generator: in a year without outages it never runs and burns no fuel, and in outages it"
            " would hide what the reserve does."
            if has_generator(result)
            else "."
        )
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
    critical = has_critical(result)
    headings = ["Mean\nkWh/yr", *(["Critical\nkWh/yr"] if critical else []), "Median\nkWh/yr", "90%: at\nmost"]
    table = plain_table("", *headings, "Unserved\nh/yr", "Years fully\nserved")
    for variant in result.variants:
        each = variant.drawn
        if each is not None:
            kwh = [each.mean_kwh, *([each.critical_kwh] if critical else []), each.median_kwh, each.p90_kwh]
            cells = [*(f"{value:,.2f}" for value in kwh), f"{each.unserved_h:,.1f}", f"{each.years_fully_served:.0%}"]
            table.add_row(variant_words(variant, result), *cells)
    return table


def _drawn_words(result: Outages) -> list[str]:
    """Return what was drawn."""
    drawn, outages, unserved = result.drawn, result.home.scenario.outages, result.variants[0].drawn
    if drawn is None or outages is None or outages.frequency is None or unserved is None:
        return []
    whose = "Backed-up demand" if can_island(result) else "Demand of the whole home"
    told = [
        f"{whose}, {drawn.outages:,} outages in {drawn.years:,} years (seed {drawn.seed}): on average"
        f" {outages.frequency.per_year:g} a year, {outages.frequency.mean_h:g} h each. Each starts with the energy"
        " stored in a year without outages, so a second outage soon after the first starts with too much stored. Real"
        " outages come in clusters."
    ]
    if unserved.not_backed_up_kwh > 0.0:
        told.append(
            f"In addition, demand that is not backed up is unserved: {unserved.not_backed_up_kwh:,.1f} kWh a year."
        )
    if drawn.shortened:
        told.append(f"{drawn.shortened:,} of them were longer than {drawn.longest_h:g} h and were shortened to that.")
    return told
