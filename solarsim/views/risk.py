"""The risk of a system's money for a person: many lifetimes in; tables, sentences and a figure out."""

from typing import TYPE_CHECKING

import numpy as np
from rich.table import Table

from solarsim.scenario.life import Spread
from solarsim.studies.risk.risk import WEATHER, InputSwing, Risk
from solarsim.views.money import NOT_INCLUDED, aging_notes, amount, assumption_notes, percent, years_or_never
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import CAUTION, heading

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INPUT_WORDS = {
    "panel_degradation_per_year": "panel degradation per year",
    "battery_fade_per_year": "battery fade per year",
    "load_growth_per_year": "load growth per year",
    "price_growth.energy": "energy price growth per year",
    "price_growth.customer_charge": "customer charge growth per year",
    "price_growth.demand": "demand charge growth per year",
    "price_growth.export": "export price growth per year",
    WEATHER: "solar energy / typical year's",
}


def page(result: Risk) -> list[object]:
    """Return what a person sees of the risk: the spread of outcomes, the inputs that drive it, sentences.

    Parameters
    ----------
    result : Risk
        Many lifetimes.

    Returns
    -------
    list of object
        Text and tables.
    """
    return [
        heading(result.home),
        f"Strategy: {result.strategy}{_first_of_several(result)}",
        _outcome_table(result),
        _input_table(result),
        *_sentences(result),
        CAUTION,
    ]


def _first_of_several(result: Risk) -> str:
    """Return how another strategy is chosen, after the first of several."""
    several = result.home.scenario.strategies
    if len(several) == 1 or result.strategy != several[0].name:
        return ""
    return " (the first of the scenario; solarsim life names the best, --strategy chooses)"


def _outcome_table(result: Risk) -> Table:
    """Return savings, NPV and payback at three levels of confidence, the cautious end first."""
    table = plain_table(f"{result.lifetimes:,} lifetimes", "90%\nconfidence", "50%", "10%")
    money = {
        "Savings": (result.average_savings, " a year"),
        "NPV": (result.npv, ""),
        "NPV of solar without battery": (result.solar_only_npv, ""),
        "NPV added by the battery": (result.battery_npv, ""),
    }
    for name, (found, per) in money.items():
        if found is None:
            continue
        table.add_row(f"{name}, {result.currency}{per}, at least", *map(amount, (found.p90, found.p50, found.p10)))
    solar = result.first_year_solar_kwh
    table.add_row("Solar used or exported in year 1, kWh, at least", *map(amount, (solar.p90, solar.p50, solar.p10)))
    payback = result.simple_payback_years
    if result.share_paid_back is not None:
        table.add_row("Payback, years, at most", *map(years_or_never, (payback.p90, payback.p50, payback.p10)))
    return table


def _input_table(result: Risk) -> Table:
    """Return the NPV with each uncertain input low and high, the strongest input first."""
    table = plain_table("Uncertain input", "Low", "High", "NPV\nat low", "NPV\nat high", f"Swing\n{result.currency}")
    for each in result.inputs:
        npv = map(amount, (each.npv_at_low, each.npv_at_high, each.swing))
        table.add_row(INPUT_WORDS[each.name], *_ends(each), *npv)
    return table


def _ends(each: InputSwing) -> tuple[str, str]:
    """Return both ends of an input as percent."""
    return percent(each.low_value), percent(each.high_value)


def _sentences(result: Risk) -> list[str]:
    """Return the answer, then how to read the tables, then what is assumed."""
    years, strongest, payback = result.settings.years, result.inputs[0], result.simple_payback_years.p90
    told = []
    if result.share_paid_back is not None:
        told.append(
            f"{result.share_paid_back:.0%} of the lifetimes pay back within {years} years"
            + ("." if payback is None else f"; with 90% confidence the payback is at most {payback:.1f} years.")
        )
    told.append(
        f"{result.share_npv_not_negative:.0%} of the lifetimes earn at least the discount rate of"
        f" {percent(result.settings.discount_rate)}."
    )
    if result.costs.loan is not None:
        told.append("Payback is on your own money, while the loan is still being repaid.")
    if result.share_battery_pays is not None:
        told.append(f"The battery is worth its cost in {result.share_battery_pays:.0%} of the lifetimes.")
    if strongest.swing is not None:
        told.append(
            f"Strongest input: {INPUT_WORDS[strongest.name]}, which moves NPV by {whole(strongest.swing)}"
            f" {result.currency}."
        )
    if result.unserved_kwh >= 0.05:
        told.append(
            f"Unserved: mean of all lifetimes {result.unserved_kwh:,.1f} kWh in {result.unserved_h:,.0f} h a year."
        )
        value = result.home.scenario.value_of_lost_load
        if value is not None:
            told.append(
                f"Outage cost, at the value of lost load: {whole(value * result.unserved_kwh)} {result.currency} a"
                " year. This is not cash and is not included in any figure here."
            )
    if result.lifetimes_not_comparable:
        told.append(
            f"{result.lifetimes_not_comparable:,} of {result.lifetimes:,} lifetimes are not comparable:"
            f" {result.unserved_kwh:,.0f} kWh unserved a year; they count as the worst outcomes."
        )
    at_medians = "not comparable" if result.npv_at_medians is None else whole(result.npv_at_medians)
    return [
        *told,
        "90% confidence: savings and NPV are at least this (P90), and payback is at most this, in 90% of the"
        " lifetimes.",
        "Low, High: the 10th and 90th percentile of the input, with all other inputs at their medians. With all inputs"
        f" at their medians the NPV is {at_medians}.",
        f"Distributions: {'; '.join(_distributions(result))}.",
        *assumption_notes(result),
        *aging_notes(result.home, result.costs, result.strategy, result.cells_left),
        "Inputs are independent, and a growth rate is constant within a lifetime. This is not a forecast.",
        NOT_INCLUDED,
        f"Random seed {result.seed}: the same seed repeats the same lifetimes.",
    ]


def _distributions(result: Risk) -> list[str]:
    """Return the distribution of each uncertain input, in words."""
    told = [f"{INPUT_WORDS[name]} {_spread_words(spread, value)}" for name, value, spread in result.settings.spreads()]
    uncertainty = result.settings.uncertainty
    if uncertainty is not None and uncertainty.weather_standard_deviation is not None:
        told.append(
            "solar energy of each year normal, mean of the typical year, standard deviation"
            f" {percent(uncertainty.weather_standard_deviation)}"
        )
    if uncertainty is not None and uncertainty.weather_files is not None:
        told.append(f"weather of each year drawn from {len(uncertainty.weather_files)} files")
    return told


def _spread_words(spread: Spread, stated: float | None) -> str:
    """Return a distribution in words."""
    if spread.standard_deviation is not None:
        return f"normal, mean {percent(stated or 0.0)}, standard deviation {percent(spread.standard_deviation)}"
    return f"{spread.distribution}, {percent(spread.low or 0.0)} to {percent(spread.high or 0.0)}"


def figure(result: Risk) -> "Figure":
    """Draw the spread of the net present value, and what each input alone does to it.

    Parameters
    ----------
    result : Risk
        Many lifetimes.

    Returns
    -------
    matplotlib.figure.Figure
        12 inches wide: a histogram, and below it a bar for each input, the strongest on top.
    """
    from solarsim.views.figure import new_figure, plain_panel

    rows = len(result.inputs)
    drawn = new_figure(12, 4.2 + 0.55 * rows, f"{result.scenario}: {result.strategy}, {result.settings.years} years")
    spread, inputs = drawn.subplots(2, 1, sharex=True, height_ratios=(3.0, 0.8 + 0.5 * rows))
    _draw_spread(spread, result)
    _draw_inputs(inputs, result)
    for panel in (spread, inputs):
        plain_panel(panel)
        panel.xaxis.set_major_formatter("{x:,.0f}")
        panel.tick_params(labelbottom=True)
    return drawn


def _draw_spread(panel: "Axes", result: Risk) -> None:
    """Draw a histogram of the net present value with its P90, P50 and P10."""
    from solarsim.views.figure import BLACK, SKY, VERMILION

    values = result.npv_of_each[np.isfinite(result.npv_of_each)]
    panel.hist(values, bins=min(40, max(5, values.size // 10)), color=SKY, edgecolor="white", linewidth=0.4)
    top = panel.get_ylim()[1]
    panel.set_ylim(0.0, 1.22 * top)
    for name, value in (("P90", result.npv.p90), ("P50", result.npv.p50), ("P10", result.npv.p10)):
        if value is not None:
            panel.plot([value, value], [0.0, 1.08 * top], color=BLACK, linewidth=1.2)
            panel.text(value, 1.1 * top, f"{name}\n{value:,.0f}", ha="center", va="bottom", fontsize=9)
    if values.size and values.min() < 0.0 < values.max():
        panel.axvline(0.0, color=VERMILION, linewidth=1.0, linestyle="--")
    panel.set_ylabel(f"of {result.lifetimes:,} lifetimes")
    payback = result.simple_payback_years
    at_most = ", ".join(
        f"{years_or_never(years)} ({share}%)"
        for years, share in ((payback.p90, 90), (payback.p50, 50), (payback.p10, 10))
    )
    of_payback = f"    (payback in years, at most, with confidence: {at_most})"
    panel.set_xlabel(f"NPV, {result.currency}{of_payback if result.share_paid_back is not None else ''}")


def _draw_inputs(panel: "Axes", result: Risk) -> None:
    """Draw a bar from the NPV at the medians to the NPV with each input low, and high."""
    from solarsim.views.figure import BLACK, BLUE, ORANGE

    middle = result.npv_at_medians
    known = [each for each in result.inputs if each.swing is not None]
    if middle is None or not known:
        panel.text(0.02, 0.5, "not comparable", transform=panel.transAxes)
        return
    for row, each in enumerate(known):
        low, high = each.npv_at_low or 0.0, each.npv_at_high or 0.0
        for value, color, hatch, label in ((low, ORANGE, "//", "input low"), (high, BLUE, "", "input high")):
            panel.barh(
                row, value - middle, 0.6, middle, color=color, hatch=hatch, edgecolor="black", linewidth=0.4,
                label=label if row == 0 else None,
            )  # fmt: skip
        ends = _ends(each)
        texts = ends if low <= high else ends[::-1]
        places = ((min(low, high, middle), "right", -5), (max(low, high, middle), "left", 5))
        for (place, side, shift), text in zip(places, texts, strict=True):
            panel.annotate(
                text, (place, row), xytext=(shift, 0), textcoords="offset points", ha=side, va="center", fontsize=9
            )
    panel.axvline(middle, color=BLACK, linewidth=0.9)
    panel.set_yticks(range(len(known)), [INPUT_WORDS[each.name] for each in known])
    panel.set_ylim(len(known) - 0.4, -0.6)
    panel.margins(x=0.12)
    panel.set_xlabel(f"NPV, {result.currency}    (all inputs at their medians: {middle:,.0f})")
    panel.legend(loc="lower right", frameon=False, fontsize=9)
