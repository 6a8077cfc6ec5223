"""Offers side by side, for a person: tables, sentences, CSV and a figure."""

from typing import TYPE_CHECKING, Any

import numpy as np
from rich.table import Table

from solarsim.studies.offers import Offer, Offers
from solarsim.views.money import NOT_INCLUDED, amount
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import CAUTION, MONTHS, heading

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_MOST_KEYS = 8
_COLUMNS = (
    "Each offer runs with its own best strategy over the whole life. Cost: upfront, before incentives; under a lease or"
    " power purchase agreement, the payment at the start. Energy cost: bill and generator fuel. Energy cost and savings"
    " are of the first year. LCOE: levelized cost of the system for each kWh of solar energy used or exported."
    " Backup: median backup duration, with that strategy, of outages that start in the worst month, which is named."
)
_FINANCED = (
    "Payments: of the first year for a loan, lease or power purchase agreement; the savings do not include them, NPV"
    " and IRR do. The IRR with a loan is on the buyer's own money: compare by NPV."
    " Payback: as if the system were paid in full at the purchase; none (-) where it is not purchased."
)


def page(result: Offers) -> list[Any]:
    """Return what a person sees: size, cost and backup of each offer, then its money.

    Parameters
    ----------
    result : Offers
        Two or more.

    Returns
    -------
    list
        Text and tables.
    """
    return [
        heading(result.home),
        _size_table(result),
        _money_table(result),
        *_sentences(result),
        _COLUMNS,
        *([_FINANCED] if _financed(result) else []),
        NOT_INCLUDED,
        CAUTION,
    ]


def csv(result: Offers) -> str:
    """Return one row for each offer.

    Parameters
    ----------
    result : Offers
        Two or more.

    Returns
    -------
    str
        CSV with the keys of the JSON as headings.
    """
    return str(result.table().to_csv(lineterminator="\n", float_format="%.10g"))


def _size_table(result: Offers) -> Table:
    """Return what each offer consists of, what it costs and how long it backs up."""
    table = plain_table(
        "Offer", "Arrays\nkWdc", "Inverter\nkWac", "Usable\nkWh", f"Cost\n{result.currency}", "Backup\nh"
    )
    for each in result.offers:
        sizes = (f"{each.kw_dc:.2f}", f"{each.kw_ac:g}", f"{each.usable_kwh:.1f}")
        table.add_row(each.name, *sizes, whole(each.upfront_cost), _backup(each))
    return table


def _backup(offer: Offer) -> str:
    """Return the backup duration in the worst month."""
    if offer.backup_duration_h is None:
        return "-"
    if offer.backup_month is None:
        return "0"
    more = "+" if offer.backup_duration_h >= 72.0 else ""
    return f"{offer.backup_duration_h:.1f}{more} ({MONTHS[offer.backup_month - 1]})"


def _money_table(result: Offers) -> Table:
    """Return what each offer earns."""
    currency = result.currency
    paid = [f"Payments\n{currency}/yr"] if _financed(result) else []
    table = plain_table(
        "Offer", f"Energy\ncost\n{currency}/yr", f"Savings\n{currency}/yr", *paid, "Payback\nyears", f"NPV\n{currency}",
        "IRR", f"LCOE\n{currency}/kWh",
    )  # fmt: skip
    for each in result.offers:
        known = each.npv is not None
        payback = (
            "-"
            if not known or each.under_contract
            else "never"
            if each.payback_years is None
            else f"{each.payback_years:.1f}"
        )
        irr = "-" if not known else "none" if each.irr is None else f"{each.irr:.1%}"
        lcoe = "-" if each.lcoe is None else f"{each.lcoe:.3f}"
        cells = [amount(each.energy_cost), amount(each.annual_savings)]
        cells += [whole(each.first_year_payments)] if paid else []
        table.add_row(each.name, *cells, payback, amount(each.npv), irr, lcoe)
    return table


def _financed(result: Offers) -> bool:
    """Return whether any offer is not paid in cash."""
    return any(each.under_contract or each.life.costs.loan is not None for each in result.offers)


def _sentences(result: Offers) -> list[str]:
    """Return which offer is best at what, with which strategy, and what differs."""
    told = [f"Lowest upfront cost: {_all_like(result, result.cheapest, 'upfront_cost')}."]
    if result.highest_npv is not None:
        told.append(f"Highest NPV over {result.years} years: {_all_like(result, result.highest_npv, 'npv')}.")
    if result.shortest_payback is not None:
        told.append(f"Shortest payback: {_all_like(result, result.shortest_payback, 'payback_years')}.")
    told += [
        f"{each.name}: not comparable in money: {_unserved_kwh(each):,.0f} kWh a year are unserved."
        for each in result.offers
        if each.npv is None
    ]
    strategies = ", ".join(f"{each.strategy!r} ({each.name})" for each in result.offers if each.strategy)
    told += [f"Best strategy: {strategies}."] if strategies else []
    return [*told, *(_differing(each, result.offers[0]) for each in result.offers[1:])]


def _all_like(result: Offers, name: str, key: str) -> str:
    """Return the names of all offers that have the same value as one."""
    value = next(getattr(each, key) for each in result.offers if each.name == name)
    *others, last = (each.name for each in result.offers if getattr(each, key) == value)
    return f"{', '.join(others)} and {last} (equal)" if others else last


def _unserved_kwh(offer: Offer) -> float:
    """Return the yearly unserved demand with the strategy that leaves the least [kWh]."""
    return float(min(each.unserved_kwh / len(each.ledgers) for each in offer.life.strategies))


def _differing(offer: Offer, first: Offer) -> str:
    """Return what differs from the first offer, key by key."""
    pairs = list(offer.differences.items())
    if not pairs:
        return f"{offer.name}: the same as the first offer."
    shown = ", ".join(
        f"{key}: {_value(new, offer, key)} (first: {_value(old, first, key)})" for key, (old, new) in pairs[:_MOST_KEYS]
    )
    more = f", and {len(pairs) - _MOST_KEYS} more" if len(pairs) > _MOST_KEYS else ""
    return f"{offer.name} differs from the first offer: {shown}{more}."


def _value(value: Any, offer: Offer, key: str) -> str:
    """Return a value as a person writes it; the default of a key that is not written, where it has one."""
    if value is None:
        value = offer.life.home.scenario.value(key)
        value = value if isinstance(value, bool | int | float | str) else None
    if value is None or value == "written":
        return "not set" if value is None else "set"
    return f"{value:g}" if isinstance(value, float) else str(value)


def figure(result: Offers) -> "Figure":
    """Draw the discounted balance of each offer by year.

    Parameters
    ----------
    result : Offers
        Two or more.

    Returns
    -------
    matplotlib.figure.Figure
        11 x 6 inches: where a line crosses zero the offer has paid back, where it ends is its NPV.
    """
    from solarsim.views.figure import BLACK, LINE_COLORS, LINE_STYLES, new_figure, plain_panel

    drawn = new_figure(11, 6, f"{result.home.scenario.name}: offers")
    panel = drawn.subplots()
    panel.axhline(0.0, color=BLACK, linewidth=0.8)
    for place, each in enumerate(result.offers):
        years = () if each.best is None else each.best.years
        balance = np.array([year.discounted_balance for year in years], np.float64)
        if balance.size:
            color, style = LINE_COLORS[place % len(LINE_COLORS)], LINE_STYLES[place % len(LINE_STYLES)]
            label = f"{each.name}: NPV {whole(each.npv or 0.0)} {result.currency}"
            panel.plot(range(balance.size), balance, color=color, linestyle=style, label=label)
    panel.set_xlabel("year")
    panel.set_ylabel(f"discounted balance, {result.currency}")
    panel.yaxis.set_major_formatter("{x:,.0f}")
    panel.legend(loc="upper left", frameon=False, fontsize=9)
    plain_panel(panel)
    return drawn
