"""The home's load for a person and for other programs: a load year in; tables, lines, CSV and JSON out."""

from collections.abc import Iterator, Sequence

from rich.box import SIMPLE_HEAD
from rich.table import Table

from solarsim.load.meter import Hole
from solarsim.studies.load import LoadYear
from solarsim.views.records import to_json
from solarsim.views.tables import MONTHS

_MOST_LISTED = 12


def load_table(year: LoadYear) -> Table:
    """Show the load by month.

    Parameters
    ----------
    year : LoadYear
        A home's load.

    Returns
    -------
    rich.table.Table
        At most 60 columns wide.
    """
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("Month")
    for heading in ("Load\nkWh", "A day\nkWh", "Base\nkW", "Peak\nkW"):
        table.add_column(heading, justify="right")
    days = [(year.timeline.month == month).sum() * year.timeline.step_h / 24 for month in range(1, 13)]
    rows = zip(MONTHS, year.monthly_kwh, days, year.monthly_base_kw, year.monthly_peak_kw, strict=True)
    for month, kwh, length, base_kw, peak_kw in rows:
        table.add_row(month, f"{kwh:,.0f}", f"{kwh / length:.1f}", f"{base_kw:.2f}", f"{peak_kw:.2f}")
    table.add_section()
    table.add_row(
        "Year",
        f"{year.annual_kwh:,.0f}",
        f"{year.annual_kwh / 365:.1f}",
        f"{year.base_load_kw:.2f}",
        f"{year.peak_kw:.2f}",
    )
    return table


def parts_of_load_table(year: LoadYear) -> Table:
    """Show what stands in the house, largest use first.

    Parameters
    ----------
    year : LoadYear
        A home's load with parts.

    Returns
    -------
    rich.table.Table
        One row for each part.
    """
    critical = {part.name for part in year.scenario.load.parts or () if part.critical}
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("Part")
    for heading in ("Load\nkWh/yr", "Share", "In an\noutage"):
        table.add_column(heading, justify="right")
    for name, kwh in sorted(year.annual_kwh_by_part.items(), key=lambda each: -each[1]):
        share = kwh / year.annual_kwh if year.annual_kwh else 0.0
        table.add_row(name, f"{kwh:,.0f}", f"{share:.0%}", "stays on" if name in critical else "off")
    return table


def load_lines(year: LoadYear) -> list[str]:
    """Say in sentences where the load comes from and what is striking about it.

    Parameters
    ----------
    year : LoadYear
        A home's load.

    Returns
    -------
    list of str
        Sentences; of a meter's file its period, gaps and doubts too.
    """
    return [
        f"Highest {year.timeline.step_name}: {year.peak_kw:.2f} kW from {year.peak_time}; within it shorter"
        " peaks are higher."
        f" Base load: {year.base_load_kw:.2f} kW, which one {year.timeline.step_name} in twenty stays below.",
        *_meter_lines(year),
    ]


def load_source(year: LoadYear) -> str:
    """Name the source of a load in one line.

    Parameters
    ----------
    year : LoadYear
        A home's load.

    Returns
    -------
    str
        For example ``Load: twelve monthly bills, shape 'evenings'``.
    """
    load = year.scenario.load
    sources = []
    if load.file is not None:
        sources.append(f"hourly file {load.file}")
    if load.meter is not None:
        kind = {"green_button": "Green Button file", "csv": "CSV"}[load.meter.format]
        sources.append(f"the meter's {kind} {load.meter.file}")
        if load.meter.production is not None:
            sources.append(f"production from {load.meter.production.file}")
    if load.shape is not None:
        sources.append(f"{'a year' if load.monthly_kwh is None else 'twelve months'} of bills, shape {load.shape!r}")
    if load.parts is not None:
        sources.append(f"{len(load.parts)} {'part' if len(load.parts) == 1 else 'parts'} of the house")
    return "Load: " + ", and ".join(sources)


def _meter_lines(year: LoadYear) -> Iterator[str]:
    report = year.household.meter
    if report is not None:
        yield (
            f"Read: {report.first_day} to {report.last_day}, {report.hours_read:,} of {report.hours:,} hours,"
            f" {report.read_kwh:,.1f} kWh; {report.estimated_share:.0%} estimated by the utility."
        )
        yield from _listed("Without a reading", report.holes)
        yield from _listed("Cannot be right (import - export + production below 0)", report.impossible)
        if report.filled_hours:
            yield (
                f"Filled: {report.filled_hours:g} hours with the median of like hours (season, weekday or weekend,"
                f" time of day), {report.filled_kwh:.1f} kWh."
            )
    warnings = report.warnings if report else ()
    meter = year.scenario.load.meter
    of_meter = "" if meter is None else f"{year.scenario.file(meter.file)}: "  # it is named above
    for title, told in (("Doubtful", warnings), ("Note", year.household.notes)):
        yield from (
            f"{title}: {each.removeprefix(of_meter)}" for each in told if title != "Note" or each not in warnings
        )


def _listed(what: str, holes: Sequence[Hole]) -> Iterator[str]:
    if holes:
        longest = sorted(range(len(holes)), key=lambda place: -holes[place].hours)[:_MOST_LISTED]
        named = [f"{holes[place].start} ({holes[place].hours} h)" for place in sorted(longest)]
        left_h = sum(hole.hours for hole in holes) - sum(holes[place].hours for place in longest)
        more = f", and {len(holes) - _MOST_LISTED} shorter or as long ({left_h} h)" if left_h else ""
        yield f"{what}: {', '.join(named)}{more}."


def load_csv(year: LoadYear) -> str:
    """Write the load so that ``load.file`` of a scenario reads it back.

    Parameters
    ----------
    year : LoadYear
        A home's load.

    Returns
    -------
    str
        CSV with ``time`` (start of the step in standard time), ``load_kw`` and ``critical_kw``.
    """
    columns = zip(year.timeline.labels, year.load_kw.tolist(), year.household.critical_kw.tolist(), strict=True)
    return "time,load_kw,critical_kw\n" + "".join(f"{time},{kw!r},{critical!r}\n" for time, kw, critical in columns)


def load_json(year: LoadYear) -> str:
    """Write a load with stable keys.

    Parameters
    ----------
    year : LoadYear
        A home's load.

    Returns
    -------
    str
        JSON without NaN or infinity.
    """
    report = year.household.meter
    record: dict[str, object] = {
        "scenario": year.scenario.name,
        "load_kwh": year.annual_kwh,
        "critical_kwh": year.critical_kwh,
        "base_load_kw": year.base_load_kw,
        "peak_load_kw": year.peak_kw,
        "peak_load_time": year.peak_time,
        "months": [
            {"month": month, "load_kwh": float(kwh), "base_load_kw": float(base_kw), "peak_load_kw": float(peak_kw)}
            for month, kwh, base_kw, peak_kw in zip(
                range(1, 13), year.monthly_kwh, year.monthly_base_kw, year.monthly_peak_kw, strict=True
            )
        ],
        "parts": [{"name": name, "load_kwh": kwh} for name, kwh in year.annual_kwh_by_part.items()],
        "meter": report and report.record(),
        "notes": list(year.household.notes),
    }
    return to_json(record)
