"""Rate plans for a person: every strategy under every rate plan in; tables, sentences and a figure out."""

from typing import TYPE_CHECKING

from rich.table import Table

from solarsim.studies.plans import Pair, PlanCosts, Plans
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import CAUTION, heading

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_ACROSS = 5  # strategies beside each other in 80 columns
_NOTICED_KWH = 0.05
_SPREAD = 0.5  # of the distance of two rows: how far the marks of one row stand apart


def page(result: Plans) -> list[object]:
    """Return what a person sees of the rate plans: a table, and the effect of changing plan, strategy or both.

    Parameters
    ----------
    result : Plans
        Every pair.

    Returns
    -------
    list of object
        Text and tables.
    """
    return [heading(result.home), *_tables(result), *_sentences(result), CAUTION]


def _tables(result: Plans) -> list[Table]:
    """Return rate plans down and strategies across, five in each table."""
    count = len(result.plans[0].strategies)
    least, title = result.cheapest if result.home.has_grid else None, _title(result)

    def cell(pair: Pair) -> str:
        shown = "-" if pair.energy_cost is None else whole(pair.energy_cost)
        return shown + ("*" if pair is least else " ")

    def across(plan: PlanCosts, first: int) -> list[Pair]:
        return [plan.baseline, *plan.strategies[first : first + _ACROSS]]

    tables = []
    for first in range(0, count, _ACROSS):
        shown = across(result.plans[0], first)
        table = plain_table(
            f"{title}, {result.currency}/yr", *(_stacked(each.strategy or "no system") for each in shown)
        )
        for plan in result.plans:
            table.add_row(plan.rate_plan, *map(cell, across(plan, first)))
        if any((each.unserved_kwh or 0.0) >= _NOTICED_KWH for each in shown):
            table.add_section()
            table.add_row("Unserved, kWh", *(f"{each.unserved_kwh or 0.0:,.1f} " for each in shown))
            table.add_row("Unserved, h", *(f"{each.unserved_h or 0.0:,.0f} " for each in shown))
        tables.append(table)
    return tables


def _title(result: Plans) -> str:
    """Return the word for what is compared: the bill alone where no fuel is burned."""
    return "Energy cost" if any(each.fuel_cost for each in result.pairs) else "Bill"


def _stacked(name: str) -> str:
    """Break a heading so that it is no wider than a number needs, if its words allow."""
    lines = [""]
    for word in name.split():
        joined = f"{lines[-1]} {word}".strip()
        lines = [*lines[:-1], joined] if len(joined) <= 8 else [*lines, word]
    return "\n".join(line for line in lines if line)


def _sentences(result: Plans) -> list[str]:
    """Return which pair costs least, and what changing the rate plan, the strategy or both saves."""
    if not result.home.has_grid:
        return ["Rate plans are not comparable: the home has no grid connection, and so no bill."]
    now, plan, strategy, both = result.present, result.only_rate_plan, result.only_strategy, result.cheapest
    told = [
        f"Now: {now.rate_plan!r} with {now.strategy!r}, {_cost(now, result)}.",
        f"Changing only the rate plan {_effect(plan, result)}: to {plan.rate_plan!r}."
        if plan.rate_plan != now.rate_plan
        else "Changing only the rate plan saves nothing.",
        f"Changing only the strategy {_effect(strategy, result)}: to {strategy.strategy!r}."
        if strategy.strategy != now.strategy
        else "Changing only the strategy saves nothing.",
        f"Changing both {_effect(both, result)}: to {both.rate_plan!r} with {both.strategy!r}."
        if both.rate_plan != now.rate_plan and both.strategy != now.strategy
        else "Changing both saves nothing more.",
        f"* Lowest energy cost: {both.rate_plan!r} with {both.strategy!r}, {_cost(both, result)}.",
    ]
    if _title(result) == "Energy cost":
        told.append("Energy cost: bill plus generator fuel.")
    if any((each.unserved_kwh or 0.0) >= _NOTICED_KWH for each in result.pairs) and now.outage_cost is None:
        told.append("Lowest energy cost: among pairs whose unserved energy is at most 0.1% of demand above the lowest.")
    reasons = dict.fromkeys(f"{each.strategy!r} {each.why_none}" for each in result.pairs if each.why_none)
    return told + [f"-: {reason}." for reason in reasons]


def _cost(pair: Pair, result: Plans) -> str:
    """Return what a pair costs in a year, outages at the value of lost load included in words."""
    words = f"{pair.energy_cost or 0.0:,.0f} {result.currency} a year"
    return words + (f" and an outage cost of {pair.outage_cost:,.0f} {result.currency}" if pair.outage_cost else "")


def _effect(pair: Pair, result: Plans) -> str:
    """Return what a change to a pair saves or costs."""
    saved = pair.annual_savings
    if saved is None:
        return f"not comparable, {pair.unserved_kwh:,.0f} kWh unserved"
    if saved >= 0.0:
        return f"saves {saved:,.0f} {result.currency} a year"
    return f"costs {-saved:,.0f} {result.currency} a year more, with {pair.unserved_kwh:,.0f} kWh unserved"


def figure(result: Plans, weeks: str | None = None) -> "Figure":
    """Draw the energy cost of every strategy under every rate plan, and a week for each season of one of the plans.

    Parameters
    ----------
    result : Plans
        Every pair.
    weeks : str, optional
        Name of the rate plan whose weeks are drawn; the scenario's own if left out.

    Returns
    -------
    matplotlib.figure.Figure
        11 inches wide: a row for each rate plan with a mark for each strategy; below it a panel for each week.
    """
    from solarsim.views.figure import new_figure
    from solarsim.views.plan_weeks import draw_week

    shown = result.weeks(weeks)
    name = weeks or result.plans[0].rate_plan
    heights = [1.2 + 0.6 * len(result.plans), *[2.3] * len(shown)]
    drawn = new_figure(11, 0.8 + sum(heights), f"{result.scenario}: rate plans, and the weeks of {name!r}")
    panels = drawn.subplots(len(heights), 1, height_ratios=heights, squeeze=False)[:, 0]
    _costs(panels[0], result)
    prices = [float(price) for week in shown for price in (*week.import_price, *week.export_price)]
    for panel, week in zip(panels[1:], shown, strict=True):
        draw_week(panel, week, result.currency, min(prices), max(prices))
    return drawn


def _costs(panel: "Axes", result: Plans) -> None:
    """Draw the energy cost of each strategy under each rate plan."""
    from solarsim.views.figure import BLACK, LINE_COLORS, plain_panel

    rows = range(len(result.plans))
    baseline = [plan.baseline.energy_cost for plan in result.plans]
    panel.plot(baseline, rows, color=BLACK, marker="|", markersize=18, linestyle="none", label="no system")
    count = len(result.plans[0].strategies)
    for place, first in enumerate(result.plans[0].strategies):
        shift = _SPREAD * (place / (count - 1) - 0.5) if count > 1 else 0.0  # equal costs do not hide each other
        costs = [plan.strategies[place].energy_cost for plan in result.plans]
        points = [(cost, row) for row, cost in enumerate(costs) if cost is not None]
        panel.plot(
            [cost for cost, _ in points], [row + shift for _, row in points], linestyle="none", label=first.strategy,
            color=LINE_COLORS[place % len(LINE_COLORS)], marker="os^Dv<>P*X"[place % 10],
        )  # fmt: skip
    panel.set_yticks(rows, [plan.rate_plan for plan in result.plans])
    panel.invert_yaxis()
    panel.set_xlabel(f"{_title(result).lower()}, {result.currency} a year")
    panel.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=9)
    plain_panel(panel)
