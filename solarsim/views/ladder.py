"""The ladder for a person: what each smarter way to control the battery costs and earns; a table, words, a figure."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from solarsim.studies.ladder.ladder import Ladder, Rung
from solarsim.views.figure import BLUE, VERMILION, new_figure, plain_panel
from solarsim.views.money import percent
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import CAUTION, heading

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from rich.table import Table

#: The nearest rung below that can be programmed, from the best on.
_PROGRAMMED = ("tuned", "best_written", "plainest")


def page(result: Ladder) -> list[Any]:
    """Return what a person sees.

    Parameters
    ----------
    result : Ladder
        Ways to control one battery.

    Returns
    -------
    list
        Text and a table.
    """
    return [heading(result.home), "", *section(result), CAUTION]


def section(result: Ladder) -> list[Any]:
    """Return the table and its words, without heading and caution.

    Parameters
    ----------
    result : Ladder
        Ways to control one battery.

    Returns
    -------
    list
        Text and a table.
    """
    return [_table(result), *_worth(result), *_words(result)]


def _name(rung: Rung, result: Ladder) -> str:
    """Return what a rung is called."""
    names = {
        "solar_only": "solar, no battery",
        "plainest": "serve the home first",
        "best_written": "best as written",
        "tuned": "tuned settings",
        "plans_from_past_days": "plans from past days",
        "plans_with_forecast": f"forecast, error {percent(result.forecast_error)}",
        "plans_with_known_hours": "knows the next 48 h",
        "optimum": f"optimum, reserve {percent(result.reserve)}",
    }
    return names[rung.kind]


def _table(result: Ladder) -> "Table":
    """Return one row for each way."""
    unit = f"{result.currency}/yr"
    others = [f"Other\nyears\n{unit}", "Other\nyears\nshare", "Lowest\nto highest\nshare"] if result.others else []
    table = plain_table(
        "Control of the battery",
        f"Cost\n{unit}",
        "Share of\npossible\nbattery\nsavings",
        "Full\ncycles",
        *others,
        name_width=22,
    )
    for rung in result.rungs:
        cycles = "" if rung.equivalent_full_cycles is None else whole(rung.equivalent_full_cycles)
        cells = [_money(rung.cost), _share(rung.battery_savings_share), cycles]
        if result.others:
            low, high = rung.other_share_lowest, rung.other_share_highest
            spread = "" if low is None or high is None or low == high else f"{100 * low:.0f} to {100 * high:.0f}%"
            cells += [_money(rung.other_cost), _share(rung.other_share), spread]
        table.add_row(_name(rung, result), *cells)
        if rung.kind in ("solar_only", _last_programmed(result), "plans_with_known_hours"):
            table.add_section()
    return table


def _money(cost: float | None) -> str:
    return "" if cost is None else whole(cost)


def _share(share: float | None) -> str:
    return "" if share is None else f"{100 * share:.1f}%"


def _last_programmed(result: Ladder) -> str:
    """Return the kind of the best way that needs no planning."""
    return next(kind for kind in _PROGRAMMED if result.rung(kind) is not None)


def _worth(result: Ladder) -> Iterator[str]:
    """Yield what planning saves beyond what can be programmed, in other years where they were computed."""
    best = result.rung(_last_programmed(result))
    where = "On average over other years" if result.others else "In this year"
    for kind, words in (
        ("plans_from_past_days", "a controller that plans from past days"),
        ("plans_with_forecast", f"one with a forecast that is off by {percent(result.forecast_error)}"),
    ):
        rung = result.rung(kind)
        if best is None or rung is None:
            continue
        costs = (best.other_cost, rung.other_cost) if result.others else (best.cost, rung.cost)
        if costs[0] is None or costs[1] is None:
            continue
        saved = costs[0] - costs[1]
        effect = "costs" if saved <= -0.5 else "saves"
        amount = f"{whole(abs(saved))} {result.currency} a year more"
        yield f"{where}, {words} {effect} {amount} than {_name(best, result)!r}."


def _words(result: Ladder) -> Iterator[str]:
    """Yield what the rows mean."""
    written = result.rung("best_written")
    wear = f" plus battery wear, {result.wear_price:.3g} {result.currency} per kWh discharged"
    cost = f"energy cost{wear if result.wear_price > 0.0 else ''}"
    yield f"Cost: {cost}. All keep a reserve of {percent(result.reserve)}."
    if written is not None:
        yield f"Best as written: {written.strategy!r}, its reserve raised where it is lower."
    yield (
        "The three controllers plan the next 48 h at midnight and choose the settings of each hour. Past days: any of"
        " the last 14 days may repeat. Forecast: of each day's sun and load. Not included: what a controller costs and"
        " consumes, and its faults."
    )
    if result.why_no_optimum:
        yield f"No optimum, and so no shares: {result.why_no_optimum}."


def figure(result: Ladder) -> "Figure":
    """Draw the share of the possible battery savings of each way.

    Parameters
    ----------
    result : Ladder
        Ways to control one battery.

    Returns
    -------
    matplotlib.figure.Figure
        One panel, 10 inches wide: a bar for the given year, a line from lowest to highest for the others.
    """
    rungs = [each for each in result.rungs if each.battery_savings_share is not None and each.kind != "solar_only"]
    drawn = new_figure(10, 1.8 + 0.45 * len(rungs), f"{result.scenario}: ways to control the battery")
    panel = drawn.subplots()
    for row, rung in enumerate(rungs):
        share, low, high = rung.battery_savings_share or 0.0, rung.other_share_lowest, rung.other_share_highest
        panel.barh(row, 100 * share, height=0.55, color=BLUE, alpha=0.45)
        if low is not None and high is not None and rung.kind != "optimum":
            panel.plot([100 * low, 100 * high], [row, row], color=VERMILION, linewidth=1.5, marker="|", markersize=12)
        panel.annotate(
            f"{100 * share:.1f}%", (0, row), xytext=(4, 0), textcoords="offset points", va="center", fontsize=9
        )
    panel.set_yticks(range(len(rungs)), [_name(each, result) for each in rungs])
    panel.invert_yaxis()
    panel.set_xlim(left=min(0.0, *(100 * (each.battery_savings_share or 0.0) for each in rungs)))
    line = "; line: lowest to highest of other years" if result.others else ""
    panel.set_xlabel(f"share of possible battery savings, %{line}")
    plain_panel(panel, "x")
    return drawn
