"""A system's life for a person: every strategy's years in; tables, sentences and a figure out."""

from typing import TYPE_CHECKING

import numpy as np
from rich.table import Table

from solarsim.ledger.cash_flow import below_zero_again
from solarsim.studies.life.life import Life
from solarsim.studies.life.strategy_life import StrategyLife
from solarsim.views.money import (
    NOT_INCLUDED,
    aging_notes,
    amount,
    assumption_notes,
    has_unserved,
    not_comparable_notes,
    outage_cost_notes,
    percent,
    years_or_never,
)
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import CAUTION, MONTHS, heading

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_TYPICAL = "Every year has the weather of the typical year, and growth rates are constant. This is not a forecast."
_COLUMNS = (
    "Discounted payback: of discounted cash. Discounted balance: its sum so far. NPV: net present value. IRR: internal"
    " rate of return. LCOE: levelized cost of the system for each kWh of solar energy used or exported. LCOS: of the"
    " battery for each kWh that it discharges, without the cost of charging."
)
#: Bars of the figure: label, keys of the years, name of the color, hatch.
_BARS = (
    ("savings", ("savings",), "GREEN", ""),
    ("incentives, loan, salvage", ("incentives", "loan", "salvage"), "SKY", ".."),
    ("purchase", ("purchase",), "ORANGE", "//"),
    ("dated changes", ("changes",), "ORANGE", "||"),
    ("O&M", ("o_and_m",), "YELLOW", ""),
    ("replacements", ("replacements",), "VERMILION", "xx"),
    ("loan payments", ("loan_payments",), "PURPLE", "\\\\"),
    ("lease, power purchase", ("contract",), "BLUE", "--"),
)


def page(result: Life) -> list[object]:
    """Return what a person sees of a life: every strategy, the best one year by year, sentences.

    Parameters
    ----------
    result : Life
        Every strategy.

    Returns
    -------
    list of object
        Text and tables.
    """
    shown = result.best or result.strategies[0]
    return [
        heading(result.home),
        _strategy_table(result),
        f"Year by year: {shown.name}",
        _year_table(shown, result.currency),
        *_change_part(result),
        *_month_part(shown, result.currency),
        *_sentences(result),
        CAUTION,
    ]


def _strategy_table(result: Life) -> Table:
    """Return a row for each strategy; columns of unserved demand only where there is any."""
    unserved = has_unserved(result.strategies)
    columns = [f"Mean\nsavings\n{result.currency}/yr", "Payback\nyears", "Discounted\npayback\nyears"]
    columns += [f"NPV\n{result.currency}", "IRR", f"LCOE\n{result.currency}/kWh", f"LCOS\n{result.currency}/kWh"]
    columns += ["Unserved\nkWh/yr", "\nh/yr"] if unserved else []
    table = plain_table("Strategy", *columns)
    alone = [] if result.solar_only is None else [result.solar_only]
    for each in (*alone, *result.strategies):
        known, count = each.npv is not None, len(each.ledgers)
        pays = known and not each.payments.under_contract
        paybacks = (each.simple_payback_years, each.discounted_payback_years)
        cells = [amount(each.average_savings), *(years_or_never(years) if pays else "-" for years in paybacks)]
        cells += [amount(each.npv), "-" if not known else "none" if each.irr is None else f"{each.irr:.1%}"]
        cells += ["" if cost is None else f"{cost:.3f}" for cost in (each.lcoe, each.lcos)]
        if unserved:
            cells += [f"{each.unserved_kwh / count:,.1f}", f"{each.unserved_h / count:,.0f}"]
        table.add_row(each.name, *cells, end_section=each is result.solar_only)
    return table


def _change_part(result: Life) -> list[object]:
    """Return the dated changes, with the net present value with and without each."""
    if not result.changes:
        return []
    money = result.currency
    table = plain_table("Change", "From\nyear", f"Cost\n{money}", f"NPV with\n{money}", "NPV\nwithout", "Differ-\nence")
    for each in result.changes:
        values = (each.npv_with, each.npv_without, each.difference)
        table.add_row(each.name, f"{each.year}", whole(each.cost), *map(amount, values))
    return [f"Dated changes, with {result.changes[0].strategy!r}", table]


def _month_part(life: StrategyLife, currency: str) -> list[object]:
    """Return the payments beside the savings of the first year, month by month."""
    if not life.months:
        return []
    table = plain_table(f"Month, {currency}", "Savings", "Payment", "Left")
    for each in life.months:
        table.add_row(MONTHS[each.month - 1], f"{each.savings:,.2f}", f"{each.payment:,.2f}", f"{each.left:,.2f}")
    sums = [sum(getattr(each, key) for each in life.months) for key in ("savings", "payment", "left")]
    table.add_section()
    table.add_row("Year 1", *(f"{total:,.2f}" for total in sums))
    return [f"Payments and savings in year 1: {life.name}", table]


def _year_table(life: StrategyLife, currency: str) -> Table:
    """Return one strategy's money year by year, in whole units."""
    table = plain_table(
        f"Year, {currency}",
        "Cost\nwithout",
        "Cost\nwith",
        "Savings",
        "O&M,\nparts",
        "Other",
        "Cash",
        "Balance",
        "Discounted\nbalance",
    )
    table.columns[0].min_width = None
    for row in life.years:
        costs = ["" if each is None else whole(each) for each in (row.baseline_bill, row.energy_cost)]
        other = row.purchase + row.changes + row.incentives + row.loan + row.loan_payments + row.contract + row.salvage
        paid = (row.o_and_m + row.replacements, other)
        balances = (row.cash, row.balance, row.discounted_balance)
        table.add_row(f"{row.year}", *costs, amount(row.savings), *map(whole, paid), *map(amount, balances))
    return table


def _outage_year(life: StrategyLife) -> tuple[str, float | None, float | None, float | None]:
    """Return what outages cost in the mean year, with the system and without, and its savings."""
    count = len(life.ledgers)
    without = sum(year.outage_cost or 0.0 for year in life.baselines)
    return life.name, (life.outage_cost or 0.0) / count, without / count, life.average_savings


def _sentences(result: Life) -> list[str]:
    """Return the answer, then how to read the tables, then what is assumed."""
    best, costs, settings = result.best, result.costs, result.settings
    told = [] if best is None else _answer(best, result)
    told += not_comparable_notes((each.name, each, each.npv) for each in result.strategies)
    told += outage_cost_notes(map(_outage_year, result.strategies), result.currency)
    if any(len(each.rates_of_return) > 1 for each in result.strategies):
        told.append("IRR: none where the cash flow changes sign so often that several rates fit.")
    told += [
        _COLUMNS,
        "Cost without, with: the year's energy cost (bill and generator fuel) without any system and with it. Other:"
        " purchase, dated changes, incentives, loan, lease or power purchase, salvage value.",
    ]
    if not result.purchase.battery_parts and result.home.limits.capacity_kwh > 0.0:
        told.append(
            "No part in [costs] is marked as the battery's, so there is no LCOS, and no replacement"
            " restores the battery."
        )
    aging = result.home.scenario.losses.module.aging
    if aging > 0.0 and settings.panel_degradation_per_year > 0.0:
        told.append(f"losses.module.aging reduces every year by another {percent(aging)}: panel aging counts twice.")
    told += assumption_notes(result)
    if costs.loan is not None and best is not None:
        # Or a loan would seem to make a system pay back sooner, which costs more with it.
        alone = best.payback_without_loan_years
        told.append(
            "Payback and IRR are on your own money, while the loan is still being repaid; paid in full at purchase,"
            f" payback would be {'never' if alone is None else f'{alone:.1f} years'}."
        )
    shown = best or result.strategies[0]
    told += [*aging_notes(result.home, costs, shown.name, shown.cells_left), _TYPICAL, NOT_INCLUDED]
    worst = max(each.balance_error_kwh for each in result.strategies)
    return [*told, f"Energy balance: every year closes to {worst:.0e} kWh or better."]


def _answer(best: StrategyLife, result: Life) -> list[str]:
    """Return payback and NPV of the best strategy, in words."""
    npv, cash = best.npv or 0.0, best.cash
    told = [
        f"With {best.name!r} the system {_payback_words(best, result.settings.years)}; its NPV over"
        f" {result.settings.years} years is {whole(npv)} {result.currency}, compared with no system."
    ]
    if best.battery_npv is not None and best.solar_only is not None:
        told.append(_battery_words(best, result))
    again = None if cash is None else below_zero_again(cash)
    return told + ([] if again is None else [f"Its balance falls below zero again in year {again}."])


def _battery_words(best: StrategyLife, result: Life) -> str:
    """Return whether the battery is worth its cost."""
    added, cost = best.battery_npv or 0.0, result.purchase.battery_cost or 0.0
    verdict = "is worth its cost" if added > 0.0 else "is not worth its cost in money alone"
    return (
        f"The battery {verdict}: the NPV is {whole(abs(added))} {result.currency}"
        f" {'higher' if added >= 0.0 else 'lower'} than that of solar without a battery. The battery is {whole(cost)}"
        f" of the upfront cost of {whole(result.upfront_cost)}."
    )


def _payback_words(life: StrategyLife, years: int) -> str:
    """Return when the system pays back."""
    simple, discounted = life.simple_payback_years, life.discounted_payback_years
    if life.payments.under_contract:
        return "is not purchased, so there is no payback"
    if simple is None:
        return f"never pays back within {years} years"
    if simple == 0.0:
        return "needs no money down"
    at_rate = "never" if discounted is None else f"{discounted:.1f}"
    return f"pays back in {simple:.1f} years (discounted: {at_rate})"


def figure(result: Life, strategy: str | None = None) -> "Figure":
    """Draw one strategy's cash by year, and its balance.

    Parameters
    ----------
    result : Life
        Every strategy.
    strategy : str, optional
        Which; the best if left out.

    Returns
    -------
    matplotlib.figure.Figure
        12 x 7.5 inches, two panels that share the years; of a strategy that is not comparable only the payments.
    """
    from solarsim.views import figure as style

    chosen = [each for each in result.strategies if each.name == strategy]
    life = chosen[0] if chosen else result.best or result.strategies[0]
    table, currency = life.table().astype(float), result.currency
    years = table.index.to_numpy()
    drawn = style.new_figure(12, 7.5, f"{result.scenario}: {life.name}")
    flows, balance = drawn.subplots(2, 1, sharex=True, height_ratios=(3, 2))

    up, down = np.zeros(years.size), np.zeros(years.size)
    for label, keys, color, hatch in _BARS:
        amounts = table[list(keys)].sum(axis=1).to_numpy()
        if np.any(amounts):
            flows.bar(
                years, amounts, 0.7, np.where(amounts >= 0.0, up, down), color=getattr(style, color), hatch=hatch,
                edgecolor="black", linewidth=0.4, label=label,
            )  # fmt: skip
            up, down = up + np.maximum(amounts, 0.0), down + np.minimum(amounts, 0.0)
    flows.set_ylabel(f"{currency} in the year")
    if life.npv is None:
        words = not_comparable_notes([(life.name, life, None)])[0]
        balance.text(0.02, 0.5, f"{words}\nOnly payments are drawn.", transform=balance.transAxes, va="center")
    else:
        flows.plot(
            years,
            table["cash"],
            color=style.BLACK,
            marker="D",
            markersize=4,
            linestyle="none",
            label="cash of the year",
        )
        _draw_balances(balance, life, currency)
        balance.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=9)
    balance.set_ylabel(f"{currency} since the purchase")
    balance.set_xlabel("year (0: the purchase)")
    balance.set_xlim(-0.7, years[-1] + 0.7)
    balance.set_xticks(years[:: 1 if years.size <= 31 else 5])
    flows.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=9)
    for panel in (flows, balance):
        style.plain_panel(panel)
        panel.axhline(0.0, color=style.BLACK, linewidth=0.6)
        panel.yaxis.set_major_formatter("{x:,.0f}")
    return drawn


def _draw_balances(panel: "Axes", life: StrategyLife, currency: str) -> None:
    """Draw the balance and the discounted balance, with payback and final value in the legend."""
    from solarsim.views.figure import BLACK, BLUE

    lines = (
        ("balance", life.simple_payback_years, "balance", BLACK, "-"),
        (
            "discounted_balance",
            life.discounted_payback_years,
            f"discounted at {percent(life.discount_rate)}",
            BLUE,
            "--",
        ),
    )
    table = life.table()
    for key, payback, label, color, style in lines:
        when = "never pays back" if payback is None else f"pays back in {payback:.1f} years"
        paid = [] if life.payments.under_contract else ["no money down" if payback == 0.0 else when]
        told = ",\n".join([*paid, f"{table[key].iloc[-1]:,.0f} {currency} at the end"])
        panel.plot(table.index, table[key], color=color, linestyle=style, linewidth=1.6, label=f"{label}\n{told}")
        if payback is not None:
            panel.plot([payback], [0.0], color=color, marker="o", markersize=6, linestyle="none")
