"""The scenario's own outages, for a person: a result in; what is unserved, when, why and what helps, out."""

from typing import Any

from rich.table import Table

from solarsim.studies.outages._events import EventLoss
from solarsim.studies.outages._remedies import Remedy
from solarsim.studies.outages.outages import Outages
from solarsim.views.outage_words import has_generator, why_words
from solarsim.views.tables import plain_table
from solarsim.views.texts import MONTHS

_MOST_ROWS = 12
_SLEEPING = (
    "Carbon monoxide can kill people in their sleep. If a generator runs at night, have working carbon monoxide alarms"
    " near every bedroom, and follow local rules on noise."
)


def events_part(result: Outages) -> list[Any]:
    """Return the scenario's own outages: what is unserved, when and why, and what would have prevented it.

    Parameters
    ----------
    result : Outages
        One strategy.

    Returns
    -------
    list
        Text and tables.
    """
    if result.home.has_grid:
        parts: list[Any] = ["\nOutages listed in the scenario:", _event_table(result)]
    else:
        parts = [_year_words(result), _event_table(result)]
        parts += ["\nUnserved by month:", _month_table(result)] if result.events[0].shortfalls else []
    for event in result.events:
        if event.shortfalls:
            when = f"the outage from {event.start}" if result.home.has_grid else "the year"
            parts += [f"\nWhen and why {when} falls short:", _shortfall_table(event), *_shortfall_words(event)]
            parts += _remedy_words(event, result.currency)
    return parts


def has_critical(result: Outages) -> bool:
    """Return whether a part of the backed-up demand is critical, and another is not."""
    return bool(result.home.critical_kw.any()) and result.backed_up != "critical"


def _year_words(result: Outages) -> str:
    """Return what a home without a grid connection leaves unserved in a year."""
    (year,) = result.events
    demand_kwh = result.run.ledger.demand_kwh
    return (
        f"This home has no grid connection, so no outage is simulated. In the year, {year.unserved_kwh:,.1f} kWh"
        f" ({year.unserved_kwh / demand_kwh:.2%}) of its demand of {demand_kwh:,.0f} kWh are unserved, in"
        f" {year.unserved_h:,.0f} h."
    )


def _month_table(result: Outages) -> Table:
    """Return what a year leaves unserved by month."""
    table = plain_table("Month", "Unserved\nkWh")
    for name, kwh in zip(MONTHS, result.run.monthly()["unserved_kwh"], strict=True):
        table.add_row(name, f"{kwh:,.1f}")
    return table


def _event_table(result: Outages) -> Table:
    """Return what the scenario's own outages leave unserved, and how long a generator runs in them."""
    generator, critical = has_generator(result), has_critical(result)
    partly = any(event.not_backed_up_kwh >= 0.05 for event in result.events)
    headings = ["Duration\nh", "Unserved\nkWh", *(["Not backed\nup, kWh"] if partly else []), "Unserved\nh"]
    headings += ["Critical\nkWh", "Critical\nh"] if critical else []
    name = "Outage from" if result.home.has_grid else "Year from"
    digits = ",.2f" if result.home.has_grid else ",.0f"
    table = plain_table(name, *headings, *(["Gen.\nh", "Fuel\nL"] if generator else []))
    for event in result.events:
        table.add_row(
            event.start,
            f"{event.hours}",
            f"{event.unserved_kwh:,.1f}",
            *([f"{event.not_backed_up_kwh:,.1f}"] if partly else []),
            format(event.unserved_h, digits),
            *([f"{event.critical_unserved_kwh:,.1f}", format(event.critical_unserved_h, digits)] if critical else []),
            *([f"{event.generator_h:g}", f"{event.liters:,.1f}"] if generator else []),
        )
    return table


def _shortfall_table(event: EventLoss) -> Table:
    """Return when and why an outage falls short; of many stretches the sum of each reason."""
    if len(event.shortfalls) > _MOST_ROWS:
        sums: dict[str, list[float]] = {}
        for each in event.shortfalls:
            hours, kwh, count = sums.get(why_words(each.why), (0.0, 0.0, 0))
            sums[why_words(each.why)] = [hours + each.hours, kwh + each.unserved_kwh, count + 1]
        table = plain_table("Why", "Times", "Hours", "Unserved\nkWh")
        for why, (hours, kwh, count) in sorted(sums.items(), key=lambda item: -item[1][1]):
            table.add_row(why, f"{count:,.0f}", f"{hours:,g}", f"{kwh:,.2f}")
        return table
    table = plain_table("From", "Hours", "kWh", "Why")
    for each in event.shortfalls:
        table.add_row(each.start[5:], f"{each.hours:g}", f"{each.unserved_kwh:,.2f}", why_words(each.why))
    return table


def _shortfall_words(event: EventLoss) -> list[str]:
    """Return the largest of many stretches, by date."""
    if len(event.shortfalls) <= _MOST_ROWS:
        return []
    largest = sorted(event.shortfalls, key=lambda each: -each.unserved_kwh)[:_MOST_ROWS]
    dates = "; ".join(
        f"{each.start[5:]}, {each.hours:g} h, {each.unserved_kwh:,.1f} kWh"
        for each in sorted(largest, key=lambda each: each.start)
    )
    return [f"The {_MOST_ROWS} largest of {len(event.shortfalls):,} shortfalls (--json lists all): {dates}."]


def _remedy_words(event: EventLoss, currency: str) -> list[str]:
    """Return what alone would have prevented the shortfalls of an outage, and what would not."""
    enough = [
        f"  {_remedy(each)}: energy cost {each.energy_cost_change:+,.0f} {currency} a year"
        for each in event.remedies
        if each.sufficient
    ]
    too_little = [
        f"{_remedy(each)} ({each.unserved_kwh:,.1f} kWh still unserved)"
        for each in event.remedies
        if not each.sufficient
    ]
    told = []
    if enough:
        told += [
            "Any one of these would have prevented it (smallest size that does, found by simulating the year again;"
            " the price of hardware is not included):",
            *enough,
        ]
    if too_little:
        told.append(f"Not enough by itself: {'; '.join(too_little)}.")
    if any(each.what == "may_start" and each.sufficient for each in event.remedies):
        told.append(_SLEEPING)
    return told


def _remedy(each: Remedy) -> str:
    """Return a remedy in a few words."""
    value = 0.0 if each.value is None else each.value
    return {
        "reserve": f"reserve of at least {value:.0%} in every hour",
        "may_start": "generator that may start at any time (without may_start)",
        "tank_liters": f"tank of {value:g} L",
        "battery_kwh": f"battery of {value:.1f} kWh",
    }[each.what]
