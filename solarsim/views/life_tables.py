"""Tables of a system's life for a person at a terminal: life and risk in, rich tables and sentences out."""

from rich.table import Table

from solarsim.ledger.cash_flow import below_zero_again
from solarsim.ledger.payments import replacement_years
from solarsim.run import Home
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime, Spread
from solarsim.studies.draws import WEATHER
from solarsim.studies.life import LifeStudy, StrategyLife
from solarsim.studies.risk import Moved, Risk, percentiles
from solarsim.views.tables import plain_table, whole

#: How a person reads the keys of ``[life]`` that may be uncertain.
INPUT_WORDS = {
    "panel_degradation_per_year": "panels lose each year",
    "battery_fade_per_year": "battery loses each year",
    "load_growth_per_year": "load grows each year",
    "price_growth.energy": "energy price grows each year",
    "price_growth.fixed": "fixed charge grows each year",
    "price_growth.demand": "demand charge grows each year",
    "price_growth.export": "export pay grows each year",
    WEATHER: "sun of all years / typical year",
}
TYPICAL = "Every year has the typical year's weather, and rates hold through all years: no forecast."
NOT_IN_IT = "Not in it: taxes on income, deductions, depreciation, what a house gains in value."


def percent(share: float) -> str:
    """Write a share as percent, with the digits it needs, at most two."""
    return f"{round(100 * share, 2) + 0:g} %"


def years_or_never(years: float | None) -> str:
    """Write a payback [years]."""
    return "never" if years is None else f"{years:.1f}"


def life_table(study: LifeStudy) -> Table:
    """Set every strategy's life beside the others.

    Parameters
    ----------
    study : LifeStudy
        Every strategy.

    Returns
    -------
    rich.table.Table
        With amounts of up to six digits at most 80 columns wide.
    """
    currency = study.home.scenario.tariff.currency
    table = plain_table(
        "Strategy",
        f"Saves\n{currency}/yr",
        "Payback\nyears",
        "dis-\ncounted",
        f"Worth\n{currency}",
        "Return\na year",
        "Energy\n/kWh",
        "Store\n/kWh",
    )
    for each in study.lives:
        returns = each.rates_of_return
        energy, storage = (
            "" if cost is None else f"{cost:.3f}"
            for cost in (each.levelised_cost_of_energy, each.levelised_cost_of_storage)
        )
        table.add_row(
            each.strategy,
            whole(each.average_savings),
            years_or_never(each.simple_payback_years),
            years_or_never(each.discounted_payback_years),
            whole(each.net_present_value),
            f"{returns[0]:.1%}" if len(returns) == 1 else "none",
            energy,
            storage,
        )
    return table


def years_table(life: StrategyLife, currency: str) -> Table:
    """Show one strategy's cash year by year.

    Parameters
    ----------
    life : StrategyLife
        Its years.
    currency : str
        ISO 4217 code.

    Returns
    -------
    rich.table.Table
        Whole units; with amounts of up to six digits at most 80 columns wide.
    """
    table = plain_table(
        f"Year, {currency}",
        "Bill\nwithout",
        "Bill\nwith",
        "Saves",
        "Upkeep,\nparts",
        "Buying,\nothers",
        "Cash",
        "Balance",
        "dis-\ncounted",
    )
    table.columns[0].min_width = None
    for row in life.records():
        bills = [whole(row[key]) if key in row else "" for key in ("baseline_bill", "annual_bill")]
        kept = row["upkeep"] + row["replacements"]
        other = row["purchase"] + row["incentives"] + row["loan"] + row["loan_payments"] + row["salvage"]
        amounts = (row["savings"], kept, other, row["cash"], row["balance"], row["discounted_balance"])
        table.add_row(f"{row['year']:.0f}", *bills, *map(whole, amounts))
    return table


def life_notes(study: LifeStudy) -> list[str]:
    """Say what a reader of the lives must know.

    Parameters
    ----------
    study : LifeStudy
        Every strategy.

    Returns
    -------
    list of str
        Sentences: the answer, then what it assumes.
    """
    currency, best = study.home.scenario.tariff.currency, study.best
    value = best.net_present_value
    worth = f"over {study.settings.years} years it is worth {whole(abs(value))} {currency}"
    worth += f" {'more' if value >= 0.0 else 'less'} today than no system at all"
    notes = [f"{best.strategy!r} {_pays_back(best, study.settings)}; {worth}."]
    again = below_zero_again(best.cash)
    if again is not None:
        notes.append(f"Its balance falls below zero again in year {again}.")
    if any(len(each.rates_of_return) > 1 for each in study.lives):
        notes.append("Return: none where the cash changes its sign so often that several rates would do.")
    notes.append(
        "Saves: mean of all years. Discounted: payback with the discount rate. Worth: net present value. Return:"
        " internal rate of return. Energy: levelised cost of the system for each kWh of sun served or sold. Store: of"
        " the battery for each kWh it gives, without what charged it."
    )
    if not best.payments.storage.any() and study.home.limits.capacity_kwh > 0.0:
        notes.append("No cost of storage: no part of the list is marked of = 'cells' or of = 'battery'.")
    ageing = study.home.scenario.losses.ageing
    if ageing > 0.0 and study.settings.panel_degradation_per_year > 0.0:
        notes.append(f"losses.ageing takes off another {percent(ageing)} in every year: the panels age twice.")
    notes += assumption_notes(study.settings, study.costs)
    if study.costs.loan is not None:
        # Or a loan would seem to make a system pay back sooner, which costs more with it.
        notes.append(
            "Payback and Return are of your own money, while the loan is still being paid; paid at the purchase,"
            f" payback would be {_or_never(best.payback_without_loan_years)}."
        )
    notes += [*ageing_notes(study.home, study.costs, best.strategy, best.cells_left), TYPICAL, NOT_IN_IT]
    worst = max(each.worst_residual_kwh for each in study.lives)
    notes.append(f"Books: every year closes to {worst:.0e} kWh or better.")
    return notes


def _or_never(years: float | None) -> str:
    return "never" if years is None else f"{years:.1f} years"


def _pays_back(life: StrategyLife, settings: Lifetime) -> str:
    simple, discounted = life.simple_payback_years, life.discounted_payback_years
    if simple is None:
        return f"never pays back within {settings.years} years"
    if simple == 0.0:
        return "needs no money of your own at the purchase"
    at_rate = "never" if discounted is None else f"in {discounted:.1f}"
    return f"pays back in {simple:.1f} years ({at_rate} with the discount rate)"


def assumption_notes(settings: Lifetime, costs: Costs) -> list[str]:
    """Say what an answer assumes of the years to come.

    Parameters
    ----------
    settings : Lifetime
        Rates.
    costs : Costs
        Which parts are replaced, which money is borrowed.

    Returns
    -------
    list of str
        Sentences.
    """
    inflation = "inflation is in them" if settings.money == "nominal" else "on top of inflation"
    prices = settings.price_growth
    wear = f"panels lose {percent(settings.panel_degradation_per_year)}"
    if settings.battery_fade_per_year is not None:
        wear += f" and the battery {percent(settings.battery_fade_per_year)}"
    grown = {
        "load": settings.load_growth_per_year,
        "energy": prices.energy,
        "fixed charges": prices.fixed,
        "demand charges": prices.demand,
        "export pay": prices.export,
        "upkeep": settings.upkeep_growth_per_year,
        "parts": settings.replacement_growth_per_year,
    }
    growth = ", ".join(f"{name} {percent(rate)}" for name, rate in grown.items())
    notes = [
        f"Assumed: {settings.years} years, {settings.money} rates ({inflation}), discount rate"
        f" {percent(settings.discount_rate)}; each year {wear}; growth: {growth}."
    ]
    replaced = [
        f"{part.name} in year {' and '.join(map(str, years))}"
        for part in costs.parts
        if (years := replacement_years(part, settings.years))
    ]
    notes.append(f"Replaced: {', '.join(replaced) or 'nothing'}. At the end {_salvage(settings)}.")
    if costs.loan is not None:
        notes.append(
            f"Loan: {whole(costs.loan.borrowed(costs.total))} at {percent(costs.loan.rate)} for {costs.loan.years}"
            " years, paid monthly."
        )
    return notes


def ageing_notes(home: Home, costs: Costs, strategy: str, cells_left: tuple[float, ...] | None) -> list[str]:
    """Say what the model of ageing leaves of the battery, where it stands in place of a stated rate.

    Parameters
    ----------
    home : Home
        Of the first year.
    costs : Costs
        Tell when the cells are replaced.
    strategy : str
        Its name.
    cells_left : tuple of float or None
        Share of the first capacity by age.

    Returns
    -------
    list of str
        A sentence; none where a rate is stated.
    """
    battery = home.scenario.battery
    if cells_left is None or battery is None:
        return []
    last = min(costs.life_of("cells") or len(cells_left), len(cells_left)) - 1
    words = "Battery: what each strategy leaves of it, by the model of its chemistry (solarsim wear); under"
    words += f" {strategy!r} {cells_left[last]:.0%} in its year {last + 1}"
    worn = next((age for age, left in enumerate(cells_left[: last + 1]) if left <= battery.end_of_life), None)
    if worn is not None:
        words += f"; worn out (at most {battery.end_of_life:.0%}) after {worn} years, and used on"
    return [f"{words}."]


def _salvage(settings: Lifetime) -> str:
    if settings.salvage == "none":
        return "nothing is left"
    return "a part with a life is worth what is left of it"


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
    currency = risk.home.scenario.tariff.currency
    table = plain_table(f"{risk.net_present_value.size:,} lifetimes", "P10", "P50", "P90")
    rows = {
        f"saves, {currency} a year": (risk.average_savings, whole),
        f"worth (net present value), {currency}": (risk.net_present_value, whole),
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
    currency = risk.home.scenario.tariff.currency
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
    years, currency = risk.settings.years, risk.home.scenario.tariff.currency
    strongest = risk.moved[0]
    discount = percent(risk.settings.discount_rate)
    return [
        f"{risk.share_paid_back:.0%} of the lifetimes pay back within {years} years; {risk.share_worth_it:.0%} earn"
        f" more than the discount rate of {discount}.",
        f"The strongest input: {INPUT_WORDS[strongest.name]}; it moves what the system is worth by"
        f" {whole(strongest.swing)} {currency}.",
        "P10, P50, P90: a tenth, half, nine tenths of the lifetimes stay at or below: P10 is the poor end of savings"
        " and worth, but the good end of payback. (Yield reports often count the other way.)"
        " What moves it: one input at its P10 or P90, all others at their medians.",
        "Spreads: "
        + "; ".join(
            f"{INPUT_WORDS[name]} {_spread_words(spread, value)}" for name, value, spread in risk.settings.spreads()
        )
        + _weather_words(risk)
        + ".",
        *assumption_notes(risk.settings, risk.costs),
        *ageing_notes(risk.home, risk.costs, risk.strategy, risk.cells_left),
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
