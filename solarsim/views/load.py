"""The home's load for a person and for other programs: a load year in; tables, sentences, CSV and a figure out."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from rich.table import Table

from solarsim.studies.load import LoadYear, PluggedIn
from solarsim.views.tables import plain_table
from solarsim.views.texts import MONTHS, month_span

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_MOST_LISTED = 12
_SINGLE_DAYS = 3  # stays a year on one weekday that are no habit
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def page(result: LoadYear) -> list[Any]:
    """Return what a person sees of a load: its source, months, parts, cars, peak and meter.

    Parameters
    ----------
    result : LoadYear
        A home's load.

    Returns
    -------
    list
        Text and tables.
    """
    step = result.timeline.step_name
    return [
        f"{result.scenario}, {result.timeline.year}\n{source(result)}",
        _month_table(result),
        *([_part_table(result)] if result.parts else []),
        *_outage_line(result),
        *_plugged_in(result),
        f"Peak load: {result.peak_load_kw:.2f} kW, the mean of the {step} that starts at {result.peak_load_time};"
        f" shorter peaks are higher. Base load: {result.base_load_kw:.2f} kW, exceeded in 95% of {step}s.",
        *_meter_lines(result),
    ]


def source(result: LoadYear) -> str:
    """Return in one line where a load comes from.

    Parameters
    ----------
    result : LoadYear
        A home's load.

    Returns
    -------
    str
        For example ``Load: twelve monthly bills, shape 'evenings'``.
    """
    load = result.inputs.load
    sources = []
    if load.file is not None:
        sources.append(f"hourly file {load.file}")
    if load.meter is not None:
        kind = {"green_button": "Green Button file", "csv": "CSV"}[load.meter.format]
        sources.append(f"meter data, {kind} {load.meter.file}")
        if load.meter.production is not None:
            sources.append(f"production from {load.meter.production.file}")
    if load.shape is not None:
        sources.append(
            f"{'annual energy' if load.monthly_kwh is None else 'twelve monthly bills'}, shape {load.shape!r}"
        )
    if load.parts is not None:
        sources.append(f"{len(load.parts)} {'part' if len(load.parts) == 1 else 'parts'} of a house")
    return "Load: " + ", and ".join(sources)


def _month_table(result: LoadYear) -> Table:
    """Return the load by month."""
    table = plain_table("Month", "Load\nkWh", "Daily\nkWh", "Base\nkW", "Peak\nkW")
    rows = [(MONTHS[each.month - 1], each.load_kwh, each.daily_kwh, each.base_load_kw, each.peak_load_kw)
            for each in result.months]  # fmt: skip
    rows.append(("Year", result.load_kwh, result.load_kwh / 365, result.base_load_kw, result.peak_load_kw))
    for name, kwh, daily_kwh, base_kw, peak_kw in rows:
        if name == "Year":
            table.add_section()
        table.add_row(name, f"{kwh:,.0f}", f"{daily_kwh:.1f}", f"{base_kw:.2f}", f"{peak_kw:.2f}")
    return table


def _part_table(result: LoadYear) -> Table:
    """Return the parts of the house, the largest load first."""
    table = plain_table("Part", "Load\nkWh/yr", "Share", "Critical", "In an\noutage")
    for part in result.parts:
        outage = "-" if part.backed_up_share is None else _share(part.backed_up_share, "on", "off")
        critical = _share(part.critical_share, "yes", "no")
        table.add_row(part.name, f"{part.load_kwh:,.0f}", f"{part.share:.0%}", critical, outage)
    return table


def _outage_line(result: LoadYear) -> Iterator[str]:
    """Yield how much of the load is served in an outage, as the command ``outages`` counts it."""
    arrangement = result.inputs.arrangement
    if arrangement is None or result.backed_up_kwh is None:
        return
    what = f"{result.backed_up_kwh:,.0f} of {result.load_kwh:,.0f} kWh a year"
    if not arrangement.islands:
        yield "In an outage nothing is supplied: a grid-tied home shuts down with the grid."
    elif arrangement.critical_only:
        yield f"In an outage only the critical load is backed up: {what}."
    else:
        yield "In an outage the whole home is backed up; loads that are not critical are shed first."


def _share(share: float, all_of_it: str, nothing: str) -> str:
    """Return a share in words where it is all or nothing, else in percent."""
    return {1.0: all_of_it, 0.0: nothing}.get(share, f"{share:.0%}")


def _plugged_in(result: LoadYear) -> Iterator[str]:
    """Yield from when to when each car is plugged in; a window's own words leave its nights open."""
    usual = [(stay, _usual_days(stay)) for stay in result.plugged_in]
    for car in dict.fromkeys(stay.car for stay in result.plugged_in):
        told = [_stay_words(stay, days) for stay, days in usual if stay.car == car and days]
        single = sum(
            count
            for stay, days in usual
            for day, count in enumerate(stay.stays_by_weekday)
            if stay.car == car and day not in days
        )
        if single:
            told.append(f"{single} other {'stay' if single == 1 else 'stays'} on single days (holidays, clock changes)")
        yield f"{car!r} is plugged in: {'; '.join(told)}."
    if {stay.end for stay, days in usual if days} & {"24:00"} and {stay.start for stay, _ in usual} & {"00:00"}:
        yield (
            "A window that crosses midnight covers the early and the late hours of each of its days: the night"
            " continues after midnight only if the next day is one of its days too."
        )


def _usual_days(stay: PluggedIn) -> list[int]:
    """Return the weekdays on which such a stay begins, single days apart."""
    counts = stay.stays_by_weekday
    return [day for day, count in enumerate(counts) if count > max(_SINGLE_DAYS, max(counts) / 4)]


def _stay_words(stay: PluggedIn, days: list[int]) -> str:
    """Return a stay with its weekdays, as in ``Fri 18:00 to Sat 07:00``."""
    if len(days) == 1:
        later = "" if stay.days_later == 0 else f"{_WEEKDAYS[(days[0] + stay.days_later) % 7]} "
        return f"{_WEEKDAYS[days[0]]} {stay.start} to {later}{stay.end}"
    later = {0: "", 1: " the next day"}.get(stay.days_later, f", {stay.days_later} days later")
    in_a_row = len(days) > 2 and days[-1] - days[0] == len(days) - 1
    names = [_WEEKDAYS[day] for day in days]
    begin = "daily" if len(days) == 7 else f"{names[0]}-{names[-1]}" if in_a_row else ", ".join(names)
    return f"{begin} {stay.start} to {stay.end}{later}"


def _meter_lines(result: LoadYear) -> Iterator[str]:
    """Yield what was read from a meter's file and what is missing in it."""
    meter = result.meter
    if meter is None:
        return
    yield (
        f"Read: {meter.first_day} to {meter.last_day}, {meter.hours_read:,} of {meter.hours:,} hours,"
        f" {meter.read_kwh:,.1f} kWh; {meter.estimated_share:.0%} estimated by the utility."
    )
    yield from _listed("Without a reading", [(each.start, each.hours) for each in meter.holes])
    impossible = [(each.start, each.hours) for each in meter.impossible]
    yield from _listed("Impossible (import - export + production below 0)", impossible)
    if meter.filled_hours:
        yield (
            f"Filled: {meter.filled_hours:g} hours with the median of similar hours (same season, kind of day and time"
            f" of day), {meter.filled_kwh:.1f} kWh."
        )


def _listed(what: str, gaps: Sequence[tuple[str, int]]) -> Iterator[str]:
    """Yield the longest gaps in the order of time, and how many hours the others have."""
    if gaps:
        longest = sorted(range(len(gaps)), key=lambda place: -gaps[place][1])[:_MOST_LISTED]
        named = [f"{gaps[place][0]} ({gaps[place][1]} h)" for place in sorted(longest)]
        left_h = sum(hours for _, hours in gaps) - sum(gaps[place][1] for place in longest)
        more = f", and {len(gaps) - _MOST_LISTED} shorter or equal gaps ({left_h} h in total)" if left_h else ""
        yield f"{what}: {', '.join(named)}{more}."


def csv(result: LoadYear) -> str:
    """Return the load as a CSV that ``load.file`` of a scenario reads back.

    Parameters
    ----------
    result : LoadYear
        A home's load.

    Returns
    -------
    str
        Columns ``time`` (start of the step in standard time), ``load_kw`` and ``critical_kw``.
    """
    columns = zip(result.timeline.labels, result.load_kw.tolist(), result.household.critical_kw.tolist(), strict=True)
    return "time,load_kw,critical_kw\n" + "".join(f"{time},{kw!r},{critical!r}\n" for time, kw, critical in columns)


def figure(result: LoadYear) -> "Figure":
    """Draw a year's load by the wall clock: every hour as a map, and below it the mean day of each season.

    Parameters
    ----------
    result : LoadYear
        A home's load.

    Returns
    -------
    matplotlib.figure.Figure
        12 x 8 inches; weekdays are solid lines, weekends and holidays dashed.
    """
    import numpy as np

    from solarsim.views.figure import BLUE, GREEN, VERMILION, draw_year_map, new_figure, plain_panel

    drawn = new_figure(12, 8, f"{result.scenario}: load of {result.timeline.year}, {result.load_kwh:,.0f} kWh")
    days, mean = drawn.subplots(2, 1, height_ratios=(3, 2))
    timeline = result.timeline
    draw_year_map(days, timeline, result.load_kw, "load, kW", extend=True)

    edges = np.arange(25)
    for day, color, marker in zip(result.mean_days, (BLUE, GREEN, VERMILION), ("o", "s", "^"), strict=True):
        label = month_span(day.months)
        mean.stairs(day.weekday_kw, edges, baseline=None, color=color, linewidth=1.8)
        mean.stairs(day.weekend_kw, edges, baseline=None, color=color, linewidth=1.2, linestyle="--")
        mean.plot(edges[:-1] + 0.5, day.weekday_kw, marker, color=color, markersize=4)
        mean.plot(edges[:-1] + 0.5, day.weekend_kw, marker, color=color, markersize=4, fillstyle="none", markevery=2)
        mean.plot([], [], color=color, marker=marker, markersize=4, label=label)
    mean.plot([], [], color="black", linewidth=1.8, label="weekdays")
    mean.plot([], [], color="black", linewidth=1.2, linestyle="--", label="weekends and holidays")
    mean.set_xlim(0, 24)
    mean.set_ylim(bottom=0.0)
    mean.set_xticks(range(0, 25, 3))
    mean.set_xlabel(f"hour of the day, wall clock in {timeline.zone}")
    mean.set_ylabel("mean load, kW")
    plain_panel(mean)
    mean.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=5, frameon=False, fontsize=9)
    return drawn
