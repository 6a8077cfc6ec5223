"""Tables of a system's life for a person at a terminal: lives in, rich tables and sentences out."""

from rich.table import Table

from solarsim.home import Home
from solarsim.ledger.cash_flow import below_zero_again
from solarsim.ledger.payments import replacement_years
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime
from solarsim.studies.life.life import LifeStudy, StrategyLife
from solarsim.views.tables import plain_table, whole

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
    currency = study.home.scenario.rate_plan.currency
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
        energy, storage = ("" if cost is None else f"{cost:.3f}" for cost in (each.lcoe, each.lcos))
        table.add_row(
            each.strategy,
            whole(each.average_savings),
            years_or_never(each.simple_payback_years),
            years_or_never(each.discounted_payback_years),
            whole(each.npv),
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
        "O&M,\nparts",
        "Buying,\nothers",
        "Cash",
        "Balance",
        "dis-\ncounted",
    )
    table.columns[0].min_width = None
    for row in life.records():
        bills = [whole(row[key]) if key in row else "" for key in ("baseline_bill", "annual_bill")]
        kept = row["o_and_m"] + row["replacements"]
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
    currency, best = study.home.scenario.rate_plan.currency, study.best
    value = best.npv
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
        " internal rate of return. Energy: levelized cost of the system for each kWh of sun served or sold. Store: of"
        " the battery for each kWh it gives, without what charged it."
    )
    if not best.payments.storage.any() and study.home.limits.capacity_kwh > 0.0:
        notes.append(
            "No part of the list is marked of = 'cells' or of = 'battery': there is no cost of storage, and no"
            " replacement makes the battery as new."
        )
    aging = study.home.scenario.losses.module.aging
    if aging > 0.0 and study.settings.panel_degradation_per_year > 0.0:
        notes.append(f"losses.module.aging takes off another {percent(aging)} in every year: the panels age twice.")
    notes += assumption_notes(study.settings, study.costs)
    if study.costs.loan is not None:
        # Or a loan would seem to make a system pay back sooner, which costs more with it.
        notes.append(
            "Payback and Return are of your own money, while the loan is still being paid; paid at the purchase,"
            f" payback would be {_or_never(best.payback_without_loan_years)}."
        )
    notes += [*aging_notes(study.home, study.costs, best.strategy, best.cells_left), TYPICAL, NOT_IN_IT]
    worst = max(each.balance_error_kwh for each in study.lives)
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
        "customer charges": prices.customer_charge,
        "demand charges": prices.demand,
        "export pay": prices.export,
        "o_and_m": settings.o_and_m_growth_per_year,
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


def aging_notes(home: Home, costs: Costs, strategy: str, cells_left: tuple[float, ...] | None) -> list[str]:
    """Say what the model of aging leaves of the battery, where it stands in place of a stated rate.

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
