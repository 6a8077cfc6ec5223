"""What outages mean, for a person at a terminal: a study in, tables and sentences out."""

from math import isfinite

from rich.table import Table

from solarsim.studies.outages.island import HOURS, can_island
from solarsim.studies.outages.outages import OutageStudy, Variant
from solarsim.studies.outages.random_outages import LONGEST_H
from solarsim.views.tables import plain_table

OUTAGE_CAUTION = (
    "Outages hurt people twice. A home that feeds a dead line kills who mends it: an island needs listed transfer"
    " equipment, and an inverter that stops with the grid where it has none (anti-islanding). A generator's exhaust"
    " kills: outdoors only, far from doors and windows, never into a socket. Local code and licensed people decide."
)
_SHOWN_H = (4, 8, 24, 72)


def variant_words(variant: Variant, study: OutageStudy) -> str:
    """Name a way to meet outages in a few words.

    Parameters
    ----------
    variant : Variant
        One of the study's.
    study : OutageStudy
        Its others tell what need not be said.

    Returns
    -------
    str
        For a table or a legend.
    """
    words = ["as programmed" if variant.keeps_reserve else "no reserve"]
    if study.home.scenario.generator_in_use is not None:
        words.append("with generator" if variant.with_generator else "no generator")
    return ", ".join(words)


def survival_table(study: OutageStudy) -> Table:
    """Tell which share of outages is ridden through, by their length.

    Parameters
    ----------
    study : OutageStudy
        One strategy.

    Returns
    -------
    rich.table.Table
        At most 80 columns wide.
    """
    generator, first = study.home.scenario.generator_in_use is not None, study.variants[0].survival
    headings = [
        f"reserve\n{'as set' if each.keeps_reserve else 'none'}"
        + (f",\n{'gen. on' if each.with_generator else 'no gen.'}" if generator else "")
        for each in study.variants
    ]
    table = plain_table("Outage of", *headings, *(f"as it\nis, in\n{season}" for season in first.share_by_season(0)))
    for hours in HOURS:
        shares = [variant.survival.share(hours) for variant in study.variants]
        shares += first.share_by_season(hours).values()
        table.add_row(f"{hours} h", *(f"{share:.1%}" for share in shares))
    return table


def reserve_table(study: OutageStudy) -> Table:
    """Set what each level of reserve costs against what it rides through.

    Parameters
    ----------
    study : OutageStudy
        One strategy.

    Returns
    -------
    rich.table.Table
        At most 80 columns wide.
    """
    currency = study.home.scenario.rate_plan.currency
    table = plain_table(
        "Reserve",
        f"Bill\n{currency}/yr",
        f"Saves\n{currency}/yr",
        f"Costs\n{currency}/yr",
        *(f"Lasts\n{h} h" for h in _SHOWN_H),
    )
    for point in study.reserve:
        table.add_row(
            f"{point.reserve:.0%}{' *' if point.held else ''}",
            f"{point.annual_bill:,.0f}",
            f"{study.baseline_bill - point.annual_bill:,.0f}",
            f"{point.costs:,.0f}",
            *(f"{point.survival.share(hours):.1%}" for hours in _SHOWN_H),
        )
    return table


def drawn_table(study: OutageStudy) -> Table:
    """Tell what drawn years of outages leave unserved.

    Parameters
    ----------
    study : OutageStudy
        One strategy, with drawn outages.

    Returns
    -------
    rich.table.Table
        At most 80 columns wide.
    """
    critical = _tells_critical(study)
    headings = ["Mean\nkWh/yr", *(["Critical\nkWh/yr"] if critical else []), "Half\nunder", "9 of 10\nunder"]
    table = plain_table("Not served", *headings, "Hours\na year", "Years\nwhole")
    for variant in study.variants:
        missed = variant.missed
        if missed is not None:
            kwh = [missed.expected_kwh, *([missed.critical_kwh] if critical else []), missed.median_kwh, missed.p90_kwh]
            table.add_row(
                variant_words(variant, study),
                *(f"{value:,.2f}" for value in kwh),
                f"{missed.missing_h:,.1f}",
                f"{missed.through:.0%}",
            )
    return table


def event_table(study: OutageStudy) -> Table:
    """Tell what the scenario's own outages leave unserved, and how long a generator runs in them.

    Parameters
    ----------
    study : OutageStudy
        One strategy, with outages of its own.

    Returns
    -------
    rich.table.Table
        At most 80 columns wide.
    """
    generator, critical = study.home.scenario.generator_in_use is not None, _tells_critical(study)
    dark = any(event.dark_kwh for event in study.events)
    headings = ["Lasts\nh", "Unserved\nkWh", *(["Not backed\nup, kWh"] if dark else []), "Missing\nh"]
    headings += ["Critical\nkWh", "Critical\nh"] if critical else []
    table = plain_table("Outage from", *headings, *(["Gen.\nh", "Fuel\nl"] if generator else []))
    for event in study.events:
        table.add_row(
            event.start,
            f"{event.hours}",
            f"{event.unserved_kwh:,.1f}",
            *([f"{event.dark_kwh:,.1f}"] if dark else []),
            f"{event.missing_h:,.2f}",
            *([f"{event.critical_kwh:,.1f}", f"{event.critical_h:,.2f}"] if critical else []),
            *([f"{event.generator_h:g}", f"{event.liters:,.1f}"] if generator else []),
        )
    return table


def outage_notes(study: OutageStudy) -> list[str]:
    """Say what a reader of the tables must know.

    Parameters
    ----------
    study : OutageStudy
        One strategy.

    Returns
    -------
    list of str
        Sentences.
    """
    arrangement, inverter = study.home.scenario.arrangement, study.home.scenario.inverter
    if arrangement is None:
        return []
    if not can_island(study.home):
        return [
            "Nothing is served in an outage: a grid-tied inverter without storage stops with the grid, sun or not,"
            " as the rule against islanding demands. arrangement.kind = 'hybrid' shows the same home with an island."
        ]
    behind = "the critical loads" if arrangement.critical_only else "the whole home"
    notes = [
        f"Shares of the year's {len(study.home.timeline):,} starts after which nothing of {behind} goes unserved to the"
        " end, each from what is stored then in a year without outages. Nobody saves, the sun is the typical year's (a"
        " storm has less), and the transfer is not counted."
    ]
    if study.home.stays_connected:
        notes.append("No reserve: every reserve lowered to the battery's low cutoff, and the year run again.")
    else:
        notes.append("A home off the grid keeps no reserve: its battery serves down to its low cutoff.")
    if arrangement.kind == "hybrid" and arrangement.transfer_seconds:
        how = "by hand" if arrangement.transfer == "by_hand" else "automatic"
        notes.append(f"The transfer ({how}) takes {arrangement.transfer_seconds:g} seconds.")
    if study.transfer is not None and study.transfer.away > 0.0:
        wait = study.transfer
        notes.append(
            f"At {wait.away:.0%} of the starts nobody is there for it: the home is then dark for {wait.mean_wait_h:.1f}"
            f" h in the mean, at most {wait.longest_wait_h:g} h, before all that is told here begins."
        )
    if study.above_rating_h > 0.0:
        notes.append(
            f"In {study.above_rating_h:,.0f} h of the year more is backed up than the inverter's {inverter.ac_kw:g} kW:"
            " without the grid something is shed then, whatever is stored; what is not critical goes first."
        )
    return [*notes, *_motor_words(study)]


def reserve_notes(study: OutageStudy) -> list[str]:
    """Say how to read the reserve's table.

    Parameters
    ----------
    study : OutageStudy
        One strategy.

    Returns
    -------
    list of str
        Sentences; none where there is no such table.
    """
    if not study.reserve:
        return []
    notes = [
        "Costs: what it saves less than the lowest reserve, in a year without outages."
        " The same reserve in every hour, in place of the programmed ones; other settings stay. Battery and sun alone"
        + ("; the generator is left out." if study.home.scenario.generator_in_use is not None else ".")
    ]
    if any(point.held for point in study.reserve):
        notes.append("* Where it sells down to less, or stops solar charging at less, it keeps no more than that.")
    return notes


def drawn_notes(study: OutageStudy) -> list[str]:
    """Say what was drawn.

    Parameters
    ----------
    study : OutageStudy
        One strategy.

    Returns
    -------
    list of str
        Sentences; none where nothing was drawn.
    """
    drawn, outages = study.drawn, study.home.scenario.outages
    missed = study.variants[0].missed
    if drawn is None or missed is None or outages is None or outages.frequency is None:
        return []
    told, whose = outages.frequency, "what is backed up" if can_island(study.home) else "the whole home"
    notes = [
        f"Of {whose}. {drawn.start.size:,} outages drawn in {drawn.years:,} years (seed {drawn.seed}):"
        f" {told.per_year:g} a year, {told.mean_h:g} h long in the mean. Each starts from a year without outages: a"
        " second one soon after is flattered. Storms come in bunches, which these do not."
    ]
    notes.append("Years whole: share of the years in which nothing is missing.")
    if missed.dark_kwh > 0.0:
        notes.append(f"Beside this {missed.dark_kwh:,.1f} kWh a year are not backed up, and are never served then.")
    if drawn.shortened:
        notes.append(f"{drawn.shortened:,} of them were longer than {LONGEST_H:g} h and are cut to that.")
    return notes


def _tells_critical(study: OutageStudy) -> bool:
    """Say whether a part of what is backed up is critical, and another is not."""
    arrangement = study.home.scenario.arrangement
    return bool(study.home.critical_kw.any()) and arrangement is not None and not arrangement.critical_only


def _motor_words(study: OutageStudy) -> list[str]:
    start = study.motor
    if start is None:
        return []
    needs = (
        f"The motor of {start.motor.kw:g} kW draws {start.motor.kw * start.motor.start_factor:.1f} kW as it starts;"
        f" beside a mean load of {start.beside_kw:.1f} kW that is {start.needed_kw:.1f} kW."
    )
    bank = f"{start.bank_kw:.1f} kW" if isfinite(start.bank_kw) else "no limit stated"
    gives = f"For that moment the inverter gives {start.inverter_kw:.1f} kW, the bank {bank}"
    return [f"{needs} {gives}: it {'starts' if start.starts else 'DOES NOT START'}."]
