"""Tables of how sure a system's money is, for a person at a terminal: risk in, rich tables and sentences out."""

from rich.table import Table

from solarsim.scenario.life import Spread
from solarsim.studies.risk.draws import WEATHER
from solarsim.studies.risk.risk import Moved, Risk, percentiles
from solarsim.views.life_tables import NOT_IN_IT, aging_notes, assumption_notes, percent, years_or_never
from solarsim.views.tables import plain_table, whole

#: How a person reads the keys of ``[life]`` that may be uncertain.
INPUT_WORDS = {
    "panel_degradation_per_year": "panels lose each year",
    "battery_fade_per_year": "battery loses each year",
    "load_growth_per_year": "load grows each year",
    "price_growth.energy": "energy price grows each year",
    "price_growth.customer_charge": "customer charge grows each year",
    "price_growth.demand": "demand charge grows each year",
    "price_growth.export": "export pay grows each year",
    WEATHER: "sun of all years / typical year",
}


def risk_table(risk: Risk) -> Table:
    """Show what one lifetime in ten, in two, and nine in ten stay below.

    Parameters
    ----------
    risk : Risk
        Many lifetimes.

    Returns
    -------
    rich.table.Table
        P10, P50 and P90 of savings, payback and net present value.
    """
    currency = risk.home.scenario.rate_plan.currency
    table = plain_table(f"{risk.npv.size:,} lifetimes", "P10", "P50", "P90")
    rows = {
        f"saves, {currency} a year": (risk.average_savings, whole),
        f"worth (net present value), {currency}": (risk.npv, whole),
    }
    for name, (values, write) in rows.items():
        table.add_row(name, *("" if each is None else write(each) for each in percentiles(values)))
    table.add_row("simple payback, years", *map(years_or_never, percentiles(risk.payback)))
    return table


def moved_table(risk: Risk) -> Table:
    """Show what each uncertain input does, the strongest first.

    Parameters
    ----------
    risk : Risk
        Many lifetimes.

    Returns
    -------
    rich.table.Table
        The input at its P10 and P90, and the net present value there.
    """
    currency = risk.home.scenario.rate_plan.currency
    table = plain_table("What moves it", "P10", "P90", "Worth\nat P10", "at P90", f"Swing\n{currency}")
    for each in risk.moved:
        low, high = input_values(each)
        table.add_row(INPUT_WORDS[each.name], low, high, whole(each.at_low), whole(each.at_high), whole(each.swing))
    return table


def input_values(moved: Moved) -> tuple[str, str]:
    """Write the P10 and the P90 of an input as percent."""
    return percent(moved.low_value), percent(moved.high_value)


def risk_notes(risk: Risk) -> list[str]:
    """Say what a reader of the lifetimes must know.

    Parameters
    ----------
    risk : Risk
        Many lifetimes.

    Returns
    -------
    list of str
        Sentences: the answer, then what it assumes.
    """
    years, currency = risk.settings.years, risk.home.scenario.rate_plan.currency
    strongest = risk.moved[0]
    discount = percent(risk.settings.discount_rate)
    return [
        f"{risk.share_paid_back:.0%} of the lifetimes pay back within {years} years; {risk.share_worth_it:.0%} earn"
        f" more than the discount rate of {discount}.",
        f"The strongest input: {INPUT_WORDS[strongest.name]}; it moves what the system is worth by"
        f" {whole(strongest.swing)} {currency}.",
        "P10, P50, P90: a tenth, half, nine tenths of the lifetimes stay at or below: P10 is the poor end of savings"
        " and worth, but the good end of payback. (Yield reports often count the other way.)"
        " What moves it: one input at its P10 or P90, all others at their medians; with all at their medians it is"
        f" worth {whole(risk.middle_value)} {currency}.",
        "Spreads: "
        + "; ".join(
            f"{INPUT_WORDS[name]} {_spread_words(spread, value)}" for name, value, spread in risk.settings.spreads()
        )
        + _weather_words(risk)
        + ".",
        *assumption_notes(risk.settings, risk.costs),
        *aging_notes(risk.home, risk.costs, risk.strategy, risk.cells_left),
        "Inputs are drawn apart from each other, and a rate holds through its lifetime: no forecast.",
        NOT_IN_IT,
        f"Seed {risk.seed}: the same seed gives the same lifetimes.",
    ]


def _spread_words(spread: Spread, stated: float | None) -> str:
    if spread.standard_deviation is not None:
        return f"normal, {percent(stated or 0.0)} give or take {percent(spread.standard_deviation)}"
    return f"{spread.distribution}, {percent(spread.low or 0.0)} to {percent(spread.high or 0.0)}"


def _weather_words(risk: Risk) -> str:
    unsure = risk.settings.uncertainty
    lead = "; " if risk.settings.spreads() else ""
    if unsure is not None and unsure.weather_standard_deviation is not None:
        return f"{lead}sun of one year normal, give or take {percent(unsure.weather_standard_deviation)}"
    if unsure is not None and unsure.weather_files is not None:
        return f"{lead}weather of each year one of {len(unsure.weather_files)} files"
    return ""
