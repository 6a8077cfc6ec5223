"""Tuned settings for a person: what they earn, what each line earns, other years, the sheet to program; a figure."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from solarsim.studies.tune.tune import NAME, Tuned
from solarsim.views.figure import BLUE, VERMILION, new_figure, plain_panel
from solarsim.views.ladder import section
from solarsim.views.money import percent
from solarsim.views.sheet import page as sheet_page
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import heading

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from rich.table import Table

    from solarsim.studies.tune._mean_days import MeanDay

_GREY = "#BDBDBD"
_NOTHING = 0.005


def page(result: Tuned) -> list[Any]:
    """Return what a person sees: whether to use the table, what it earns, then the sheet to program.

    Parameters
    ----------
    result : Tuned
        A table.

    Returns
    -------
    list
        Text and tables.
    """
    return [
        heading(result.home),
        "\n" + _verdict(result),
        _costs(result),
        *_cost_words(result),
        *_lines(result),
        *([] if _is_its_own_rival(result) else _other_years(result)),
        *([] if result.ladder is None else ["\nIs a smarter controller worth buying?", *section(result.ladder)]),
        *sheet_page(result.sheet)[1:],
    ]


def _verdict(result: Tuned) -> str:
    """Return in a sentence whether the table is worth programming."""
    gain, currency, rival = result.out_of_sample_gain, result.currency, _rival(result.out_of_sample_best)
    tuned = "the tuned settings" if result.strategy == NAME else f"the tuned settings ({result.strategy!r})"
    if _is_its_own_rival(result):
        return f"Nothing better than {rival} was found: keep it."
    if result.recommended:
        return f"Recommended: in other years {tuned} save, on average, {gain:,.2f} {currency} a year more than {rival}."
    if gain > result.line_price:
        worst = result.worst_year
        return (
            f"Not recommended: in other years {tuned} save, on average, {gain:,.2f} {currency} a year more"
            f" than {rival}, but in one of them ({worst.name}) they cost {-worst.gain:,.2f} {currency} more."
            f" Keep {rival}."
        )
    if abs(gain) <= _NOTHING:
        return f"Not recommended: in other years {tuned} cost the same as {rival}. Keep {rival}."
    if gain > 0.0:
        return (
            f"Not recommended: in other years {tuned} save, on average, only {gain:,.2f} {currency} a year"
            f" more than {rival}; one line alone must save {result.line_price:,.2f} (--worth). Keep"
            f" {rival}."
        )
    return (
        f"Not recommended: in other years {tuned} cost, on average, {-gain:,.2f} {currency} a year more than"
        f" {rival}. Keep {rival}."
    )


def _rival(name: str) -> str:
    """Return what the table is compared with."""
    return f"{name!r}" if name else "the base settings alone"


def _is_its_own_rival(result: Tuned) -> bool:
    """Return whether the best written strategy is what was found."""
    return not result.is_new and result.strategy == result.out_of_sample_best


def _compared(result: Tuned) -> list[str]:
    """Return the written strategies of the lowest cost: in the year used for tuning, then in the other years."""
    return [name for name in dict.fromkeys((result.best_written, result.out_of_sample_best)) if name]


def _costs(result: Tuned) -> "Table":
    """Return what the year costs without a battery, as written, tuned, and at best."""
    unit = f"{result.currency}/yr"
    table = plain_table("Year used for tuning", f"Cost\n{unit}", "Share of\npossible\nbattery\nsavings", name_width=24)
    table.add_row("solar, no battery", whole(result.solar_only_cost), "")
    rows = [(result.strategy, result.cost, result.battery_savings_share)]
    others = [rival for name in _compared(result) if name != result.strategy and (rival := result.rival(name))]
    rows[:0] = [(each.strategy, each.cost, each.battery_savings_share) for each in others]
    if not result.best_written:
        rows.insert(0, ("base settings alone", result.best_written_cost, result.best_written_share))
    for name, cost, share in rows:
        table.add_row(name, whole(cost), "" if share is None else f"{100 * share:.1f}%")
    if result.optimum_cost is not None:
        table.add_row(f"optimum, reserve {percent(result.reserve)}", whole(result.optimum_cost), "100%")
    return table


def _cost_words(result: Tuned) -> list[str]:
    """Return how to read the costs."""
    wear = (
        "Battery wear is not counted."
        if result.wear_price == 0.0
        else f"Cost: energy cost plus battery wear, {result.wear_price:.3f} {result.currency} per kWh discharged."
        f" Energy cost alone of the tuned settings: {whole(result.energy_cost)} {result.currency}/yr."
    )
    told = [wear]
    if result.optimum_cost is not None:
        told.append("Optimum: lowest possible cost at that reserve, with perfect foresight. No control reaches it.")
    if result.holidays_cost is not None:
        cost = round(result.holidays_cost, 2)
        effect = f"{'saves' if cost < 0.0 else 'adds'} {abs(cost):,.2f} {result.currency} a year"
        told.append(f"Windows for days of the week ignore holidays, which {effect if cost else 'costs nothing'}.")
    return [" ".join(told), *_comparison_words(result)]


def _comparison_words(result: Tuned) -> Iterator[str]:
    """Yield what a reader who compares with other pages must know."""
    names = _compared(result)
    if not result.is_new and not _is_its_own_rival(result):
        yield f"No settings better than those of {result.strategy!r} were found for the year used for tuning."
    if len(names) > 1:
        yield (
            f"In the year used for tuning {names[0]!r} has the lowest cost of the written strategies, in the other"
            f" years {names[1]!r}: the recommendation compares with that one."
        )
    for rival in filter(None, map(result.rival, names)):
        if rival.cost_as_written is not None and rival.energy_cost_as_written is not None:
            yield (
                f"{rival.strategy!r} is compared with its reserve raised from {percent(rival.reserve_as_written)} to"
                f" {percent(result.reserve)}. As written it keeps less for outages and costs"
                f" {whole(rival.cost_as_written)} {result.currency}/yr; `compare` shows it as written, energy cost"
                f" {whole(rival.energy_cost_as_written)} {result.currency}/yr."
            )
    holds = any((window.reserve or 0.0) > result.found.reserve for window in result.found.windows)
    if result.battery_savings_share is not None and (holds or result.wear_price > 0.0):
        wear = "does not count wear" if result.wear_price > 0.0 else ""
        kept = "counts a reserve that a window raises as kept for outages" if holds else ""
        yield f"`compare --best` shows another share: it {' and '.join(filter(None, (kept, wear)))}."


def _lines(result: Tuned) -> list[Any]:
    """Return what each window and setting earns."""
    each = f"{result.line_price:,.2f} {result.currency}"
    if not result.lines:
        return [f"\nNo window earns {each} a year: the base settings alone are best."]
    table = plain_table("Window or setting", f"Savings\n{result.currency}/yr", name_width=40)
    number = 0
    for line in result.lines:
        number += not line.setting
        name = f"   of which: {line.setting_words}" if line.setting else f"{number}. {line.sentence}"
        table.add_row(name, f"{line.removal_cost:,.2f}")
    words = (
        "Savings: what the year would cost more without it. The first window that matches an hour governs it. Each line"
        f" had to save {each} a year to be kept (--worth)."
    )
    if any(line.setting for line in result.lines):
        words += " Each value is for removing that window or setting alone, so they do not add up."
    return ["\nSavings of each line:", table, words]


def _other_years(result: Tuned) -> list[Any]:
    """Return the table and its rival in other years."""
    unit = f"{result.currency}/yr"
    table = plain_table("Year", f"{'Written' if result.out_of_sample_best else 'Base'}\n{unit}", f"Tuned\n{unit}",
        f"Savings\n{unit}", name_width=30)  # fmt: skip
    for year in result.out_of_sample:
        table.add_row(year.name, whole(year.best_written_cost), whole(year.cost), f"{year.gain:,.2f}")
    return [
        f"\nIn years that were not used for tuning, compared with {_rival(result.out_of_sample_best)}:",
        table,
        "Costs as above. Other years: days of the weather resampled in blocks of about four (or other weather files, or"
        " other draws from monthly means), load with random changes of 15% by day and 25% by step; and the same weather"
        " with less and more load.",
    ]


def figure(result: Tuned) -> "Figure":
    """Draw a mean day of each season under the best written strategy and under the table.

    Parameters
    ----------
    result : Tuned
        A table.

    Returns
    -------
    matplotlib.figure.Figure
        A row for each season: state of charge with the import price behind it, power at the meter.
    """
    rows = len(result.days)
    before = _rival(result.best_written)
    drawn = new_figure(10, 1.3 + 2.4 * rows, f"{result.scenario}: before ({before}) and after ({result.strategy})")
    panels = drawn.subplots(rows, 2, squeeze=False, sharex=True)
    highest = max(float(day.after["import_price"].max()) for day in result.days)
    for (left, right), day in zip(panels, result.days, strict=True):
        _charge(left, day, highest, result.currency)
        _meter(right, day)
    for panel in panels[-1]:
        panel.set_xlabel("hour of the day, wall-clock time", fontsize=9)
    return drawn


def _charge(panel: "Axes", day: "MeanDay", highest: float, currency: str) -> None:
    """Draw the state of charge before and after, with the price behind."""
    hours = np.linspace(0.0, 24.0, day.after["soc"].size + 1)
    prices = panel.twinx()
    panel.set_zorder(prices.get_zorder() + 1)
    panel.patch.set_visible(False)
    prices.stairs(day.after["import_price"], hours, fill=True, color=_GREY, alpha=0.5)
    prices.set_ylim(0.0, 1.05 * highest if highest > 0.0 else 1.0)
    prices.set_ylabel(f"import price (gray),\n{currency}/kWh", fontsize=8)
    prices.spines[["top"]].set_visible(False)
    for values, color, style, name in ((day.before, BLUE, "--", "before"), (day.after, VERMILION, "-", "after")):
        soc = np.concatenate([values["soc"][-1:], values["soc"]])
        panel.plot(hours, 100.0 * soc, color=color, linestyle=style, linewidth=1.6, label=name)
    panel.set_ylim(0, 105)
    panel.set_xlim(0, 24)
    panel.set_xticks(range(0, 25, 4))
    panel.set_ylabel("state of charge, %", fontsize=8)
    panel.set_title(f"{day.season}: mean day", loc="left", fontsize=10)
    panel.legend(fontsize=8, loc="lower right", framealpha=0.8)
    plain_panel(panel, "x")


def _meter(panel: "Axes", day: "MeanDay") -> None:
    """Draw import and export before and after."""
    hours = np.linspace(0.0, 24.0, day.after["soc"].size + 1)
    for values, color, style, name in ((day.before, BLUE, "--", "before"), (day.after, VERMILION, "-", "after")):
        net_kw = values["import_kw"] - values["export_kw"]
        panel.stairs(net_kw, hours, baseline=None, color=color, linestyle=style, linewidth=1.6, label=name)
    panel.axhline(0.0, color="black", linewidth=0.6)
    panel.set_ylabel("import minus export, kW", fontsize=8)
    panel.set_title("at the meter", loc="left", fontsize=10)
    plain_panel(panel)
