"""Savings for a person: parts list, savings and simple payback in; tables, sentences and a figure out."""

from typing import TYPE_CHECKING

from rich.table import Table

from solarsim.studies.savings import Savings, YearCost
from solarsim.views.money import (
    amount,
    financing_notes,
    has_unserved,
    not_comparable_notes,
    outage_cost_notes,
    years_or_never,
)
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import CAUTION, heading

PER_WORDS = {
    "module": "module",
    "array": "array",
    "string": "string",
    "kw_dc": "kWdc",
    "inverter": "inverter",
    "kw_ac": "kWac",
    "cell": "cell",
    "battery_string": "battery string",
    "battery_kwh": "battery kWh",
    "system": "system",
}
_UNMARKED = (
    "No part is marked as the battery's (per = cell, battery_string or battery_kwh; of = cells or battery), so the cost"
    " of solar without a battery is not known."
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def page(result: Savings) -> list[object]:
    """Return what a person sees of the savings: the parts list, the strategies, sentences.

    Parameters
    ----------
    result : Savings
        Parts and savings.

    Returns
    -------
    list of object
        Text and tables.
    """
    solar_only = [] if result.solar_only is None else [("solar, no battery", result.solar_only)]
    named = [*solar_only, *((each.name, each) for each in result.strategies)]
    return [
        heading(result.home),
        _parts_table(result),
        *_unit_costs(result),
        _savings_table(result),
        *not_comparable_notes((name, each, each.annual_savings) for name, each in named),
        *outage_cost_notes(
            ((name, each.outage_cost, result.baseline.outage_cost, each.annual_savings) for name, each in named),
            result.currency,
        ),
        *(["Energy cost: bill plus generator fuel."] if any(each.fuel_cost for each in result.strategies) else []),
        *_battery_note(result),
        *financing_notes(result.costs, result.purchase, 0),
        "There is no payback, since nothing is purchased; the savings do not include the payments (solarsim life does)."
        if result.costs.contract is not None
        else "Payback: upfront cost / first year's savings (simple payback), without interest, incentives, price"
        " growth, aging, replacements or O&M (solarsim life includes them).",
        CAUTION,
    ]


def _parts_table(result: Savings) -> Table:
    """Return what is bought; a column of what is there already only where there is any."""
    lines = result.purchase.lines
    owned = any(line.owned for line in lines)
    each, total = f"Each\n{result.currency}", f"Amount\n{result.currency}"
    table = plain_table("Part", "Per", *(["Owned"] if owned else []), "Quantity", each, total)
    for line in lines:
        once = line.kind == "installation"
        counted = ["", ""] if once else [f"{line.bought:,.5g}", f"{line.unit_price:,.2f}"]
        there = [f"{line.owned:g}" if line.owned else ""] if owned else []
        table.add_row(line.name, PER_WORDS.get(line.per or "", ""), *there, *counted, f"{line.amount:,.2f}")
    table.add_section()
    blank = [""] * (len(table.columns) - 2)
    contract = result.costs.contract is not None
    table.add_row(
        "Price, paid by the system's owner" if contract else "Upfront cost", *blank, f"{result.upfront_cost:,.2f}"
    )
    return table


def _unit_costs(result: Savings) -> list[str]:
    """Return the cost of a watt of solar and of a kWh of battery, in words."""
    bought, told = result.purchase, []
    if bought.cost_per_wdc is not None:
        less = " without the battery" if bought.battery_cost else ""
        told.append(f"{bought.cost_per_wdc:.2f} {result.currency} per Wdc{less} ({bought.kw_dc:.2f} kWdc)")
    if bought.cost_per_usable_kwh is not None:
        told.append(
            f"{bought.cost_per_usable_kwh:,.0f} {result.currency} per usable kWh of the battery"
            f" ({bought.usable_kwh:.1f} kWh)"
        )
    return [f"Cost: {'; '.join(told)}."] if told else []


def _savings_table(result: Savings) -> Table:
    """Return a row for each strategy; columns of fuel and of unserved demand only where there is any."""
    alone = [] if result.solar_only is None else [result.solar_only]
    everything: list[YearCost] = [result.baseline, *alone, *result.strategies]
    fuel, unserved = any(each.fuel_cost for each in everything), has_unserved(everything)
    money = f"{result.currency}/yr"
    columns = [f"Bill\n{money}", *(["Fuel", "Energy\ncost"] if fuel else []), f"Savings\n{money}"]
    columns += ["Unserved\nkWh", "\nh"] if unserved else []
    battery = any(each.battery_savings is not None for each in result.strategies)
    added = [f"Battery\nsavings\n{money}", "Battery\npayback\nyears"] if battery else []
    table = plain_table("Strategy", *columns, "Payback\nyears", *added)

    def row(name: str, year: YearCost, saved: str, payback: str, *of_battery: str) -> None:
        cells = [whole(year.annual_bill), *([whole(year.fuel_cost), whole(year.energy_cost)] if fuel else []), saved]
        cells += [f"{year.unserved_kwh:,.1f}", f"{year.unserved_h:,.0f}"] if unserved else []
        table.add_row(name, *cells, payback, *of_battery)

    row("no system", result.baseline, "", "")
    for each in alone:
        payback = "-" if each.cost is None else _years(each.annual_savings, each.simple_payback_years)
        row("solar, no battery", each, amount(each.annual_savings), payback)
    table.add_section()
    for each in result.strategies:
        payback = "-" if each.cost is None else _years(each.annual_savings, each.simple_payback_years)
        priced = result.solar_only is not None and result.solar_only.cost is not None
        own_payback = _years(each.battery_savings, each.battery_payback_years) if priced else "-"
        of_battery = [amount(each.battery_savings), own_payback]
        row(each.name, each, amount(each.annual_savings), payback, *(of_battery if battery else []))
    return table


def _years(saved: float | None, payback: float | None) -> str:
    """Return a payback; a dash where the savings are not known."""
    return "-" if saved is None else years_or_never(payback)


def _battery_note(result: Savings) -> list[str]:
    """Return how the battery's columns are to be read."""
    alone = result.solar_only
    if alone is None:
        return []
    if alone.cost is None:
        return [] if result.costs.contract else [_UNMARKED]
    cost = result.upfront_cost - alone.cost
    return [f"Battery: its savings beyond solar alone, and its own payback at a cost of {cost:,.2f} {result.currency}."]


def figure(result: Savings) -> "Figure":
    """Draw each strategy's savings a year, with its simple payback.

    Parameters
    ----------
    result : Savings
        Parts and savings.

    Returns
    -------
    matplotlib.figure.Figure
        One panel, 9 inches wide: a bar for each strategy that is comparable.
    """
    from solarsim.views.figure import GREEN, new_figure, plain_panel

    drawn = new_figure(9, 1.8 + 0.45 * len(result.strategies), f"{result.scenario}: savings and simple payback")
    panel = drawn.subplots()
    for row, each in enumerate(result.strategies):
        saved, years = each.annual_savings, each.simple_payback_years
        bars = panel.barh(row, saved or 0.0, 0.6, color=GREEN)
        payback = "never" if years is None else f"{years:.1f} years"
        panel.bar_label(bars, ["not comparable" if saved is None else payback], padding=4, fontsize=9)
    panel.set_yticks(range(len(result.strategies)), [each.name for each in result.strategies])
    panel.invert_yaxis()
    panel.margins(x=0.15)
    panel.set_xlabel(f"savings, {result.currency} a year    (upfront cost {result.upfront_cost:,.0f})")
    plain_panel(panel, "x")
    return drawn
