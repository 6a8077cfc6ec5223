"""Savings for a person: parts list, savings and simple payback in; tables, sentences and a figure out."""

from typing import TYPE_CHECKING

from rich.table import Table

from solarsim.studies.savings import Savings, YearCost
from solarsim.views.money import amount, has_unserved, not_comparable_notes, outage_cost_notes, years_or_never
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import CAUTION, heading

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
        _savings_table(result),
        *not_comparable_notes((name, each, each.annual_savings) for name, each in named),
        *outage_cost_notes(
            ((name, each.outage_cost, result.baseline.outage_cost, each.annual_savings) for name, each in named),
            result.currency,
        ),
        *(["Energy cost: bill plus generator fuel."] if any(each.fuel_cost for each in result.strategies) else []),
        "Payback: upfront cost / first year's savings (simple payback), without interest, incentives, price growth,"
        " aging, replacements or O&M (solarsim life includes them).",
        CAUTION,
    ]


def _parts_table(result: Savings) -> Table:
    """Return the parts list."""
    table = plain_table("Part", "Quantity", f"Each\n{result.currency}", f"Amount\n{result.currency}")
    for line in result.purchase.lines:
        once = line.kind == "installation"
        counted = ("", "") if once else (f"{line.bought:,.5g}", f"{line.unit_price:,.2f}")
        table.add_row(line.name, *counted, f"{line.amount:,.2f}")
    table.add_section()
    table.add_row("Upfront cost", "", "", f"{result.upfront_cost:,.2f}")
    return table


def _savings_table(result: Savings) -> Table:
    """Return a row for each strategy; columns of fuel and of unserved demand only where there is any."""
    alone = [] if result.solar_only is None else [result.solar_only]
    everything: list[YearCost] = [result.baseline, *alone, *result.strategies]
    fuel, unserved = any(each.fuel_cost for each in everything), has_unserved(everything)
    money = f"{result.currency}/yr"
    columns = [f"Bill\n{money}", *(["Fuel", "Energy\ncost"] if fuel else []), f"Savings\n{money}"]
    columns += ["Unserved\nkWh", "\nh"] if unserved else []
    table = plain_table("Strategy", *columns, "Payback\nyears")

    def row(name: str, year: YearCost, saved: str, payback: str) -> None:
        cells = [whole(year.annual_bill), *([whole(year.fuel_cost), whole(year.energy_cost)] if fuel else []), saved]
        cells += [f"{year.unserved_kwh:,.1f}", f"{year.unserved_h:,.0f}"] if unserved else []
        table.add_row(name, *cells, payback)

    row("no system", result.baseline, "", "")
    for each in alone:
        payback = "-" if each.annual_savings is None else years_or_never(each.simple_payback_years)
        row("solar, no battery", each, amount(each.annual_savings), payback)
    table.add_section()
    for each in result.strategies:
        payback = "-" if each.annual_savings is None else years_or_never(each.simple_payback_years)
        row(each.name, each, amount(each.annual_savings), payback)
    return table


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
