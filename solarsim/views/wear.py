"""How each strategy wears the battery, for a person: results in; a table, sentences and a figure out."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from rich.table import Table

from solarsim.scenario.battery.chemistry import BUILDS
from solarsim.studies.wear import MOST_YEARS, StrategyWear, Wear
from solarsim.views.tables import plain_table
from solarsim.views.texts import heading

if TYPE_CHECKING:
    import numpy as np
    from matplotlib.figure import Figure
    from numpy.typing import NDArray

DECIDES = "These are estimates of one model: the cell manufacturer's datasheet and the warranty terms decide."

_SAME_PERCENT = 0.5  # of capacity: less than a line is wide


def page(result: Wear) -> list[Any]:
    """Return what a person sees of a battery's life: each strategy, how to read it, what is dangerous.

    Parameters
    ----------
    result : Wear
        Every strategy.

    Returns
    -------
    list
        Text and a table.
    """
    build = BUILDS[result.chemistry]
    return [heading(result.home), _table(result), *_sentences(result, build.title), build.caution, DECIDES]


def _table(result: Wear) -> Table:
    """Return the strategies side by side."""
    priced, warranted = result.battery_price is not None, result.battery.warranty is not None
    table = plain_table(
        "Strategy",
        "Full\ncycles\n/yr",
        "Mean\nSoC",
        "Calendar\naging",
        "Cycle\naging",
        f"Years\nto {result.end_of_life:.0%}",
        *(["Within\nwarranty"] if warranted else []),
        *(["LCOS\nper kWh"] if priced else []),
        "Savings\nper kWh",
        name_width=11,  # 80 columns in all
    )
    for each in result.strategies:
        table.add_row(
            each.name,
            f"{each.equivalent_full_cycles:,.0f}",
            f"{each.mean_soc:.0%}",
            f"{each.calendar_aging_10_years:.1%}",
            f"{each.cycle_aging_10_years:.1%}",
            f"over {MOST_YEARS}" if each.years_to_end is None else f"{each.years_to_end:.1f}",
            *([_within(each)] if warranted else []),
            *([_price(each.lcos)] if priced else []),
            _price(each.savings_per_kwh),
        )
    return table


def _price(value: float | None) -> str:
    """Return a price per kWh."""
    return "-" if value is None else f"{value:.3f}"


def _within(each: StrategyWear) -> str:
    """Return whether the model expects what the warranty promises."""
    return "" if each.warranty is None else "yes" if each.warranty.kept else "no"


def _sentences(result: Wear, chemistry: str) -> list[str]:
    """Return how to read the table."""
    battery, currency = result.battery, result.currency
    told = [f"Battery: {result.capacity_kwh:.2f} kWh nameplate, {chemistry}, {battery.place}. Model: {result.model}."]
    if result.presets:
        values = ", ".join(f"{key} {value:g}" for key, value in result.presets.items())
        told.append(f"Defaults from typical datasheets, not in the scenario: {values}.")
    if len(result.strategies) > 1:
        left = {each.name: _left(each) for each in result.strategies}
        most, least = max(left, key=lambda name: left[name]), min(left, key=lambda name: left[name])
        told.append(
            f"Capacity after 10 years: {left[most]:.1%} with every strategy."
            if f"{left[most]:.1%}" == f"{left[least]:.1%}"
            else f"Capacity after 10 years: highest with {most!r}, {left[most]:.1%}; lowest with {least!r},"
            f" {left[least]:.1%}."
        )
    told.append(
        "Calendar aging, Cycle aging: share of capacity lost to each after 10 years."
        f" Savings: relative to solar without a battery, {currency} per kWh that the battery delivers."
    )
    if not result.home.stays_connected:
        told.append("No savings: off the grid there is no solar without a battery to compare with.")
    if result.battery_price is None:
        told.append("No LCOS: no part of [costs] is marked of = 'cells' or of = 'battery'.")
    else:
        told.append(
            f"LCOS: levelized cost of storage: the battery's parts ({result.battery_price:,.0f} {currency}) over the"
            f" energy it delivers until {result.end_of_life:.0%} of capacity is left, in {currency} per kWh, without"
            " interest or the cost of charging. A battery pays back only where savings are higher than that."
        )
    if battery.warranty is not None:
        promise = battery.warranty
        or_mwh = "" if promise.throughput_mwh is None else f" or {promise.throughput_mwh:g} MWh"
        told.append(f"Warranty: {promise.remaining:.0%} of capacity after {promise.years:g} years{or_mwh}.")
    unserved = [f"{each.name!r} {each.unserved_kwh:,.1f}" for each in result.strategies if each.unserved_kwh >= 0.05]
    if unserved:
        told.append(f"Unserved demand, kWh a year: {', '.join(unserved)}. Unserved demand is not a saving.")
    return [*told, *_outside(result), *_blocked(result)]


def _left(each: StrategyWear) -> float:
    """Return the share of capacity that is left after 10 years."""
    return max(0.0, 1.0 - each.calendar_aging_10_years - each.cycle_aging_10_years)


def _outside(result: Wear) -> list[str]:
    """Return where strategies left the model's range."""
    told = []
    for sentence in dict.fromkeys(sentence for each in result.strategies for sentence in each.outside_range):
        whose = [each.name for each in result.strategies if sentence in each.outside_range]
        names = "" if len(whose) == len(result.strategies) else f"{', '.join(map(repr, whose))}: "
        told.append(f"Outside the model's range: {names}{sentence}.")
    return told


def _blocked(result: Wear) -> list[str]:
    """Return how much solar energy the cells' temperature blocked from the battery."""
    blocked = [
        f"{each.temperature_blocked_kwh:,.0f} kWh in {each.temperature_blocked_h:,.0f} hours ({each.name!r})"
        for each in result.strategies
        if each.temperature_blocked_kwh >= 0.5
    ]
    return [f"Charging blocked by temperature: {', '.join(blocked)}."] if blocked else []


def figure(result: Wear) -> "Figure":
    """Draw the capacity by year under each strategy, and what aging by age and by cycling makes of it.

    Parameters
    ----------
    result : Wear
        Every strategy.

    Returns
    -------
    matplotlib.figure.Figure
        Two panels side by side, 14 x 6 inches.
    """
    import numpy as np

    from solarsim.views.figure import BLACK, LINE_COLORS, LINE_STYLES, ORANGE, SKY, new_figure, plain_panel

    title = f"{result.scenario}: capacity of {result.capacity_kwh:.1f} kWh, {BUILDS[result.chemistry].title}"
    drawn = new_figure(14, 6, title)
    left, right = drawn.subplots(1, 2, width_ratios=(3, 2))
    years = np.arange(result.years + 1)
    # Lines that would hide each other are one line with all of their names.
    groups = _alike([each.capacity_by_year * 100 for each in result.strategies])
    for number, group in enumerate(groups):
        color, style = LINE_COLORS[number % len(LINE_COLORS)], LINE_STYLES[number % len(LINE_STYLES)]
        names = "\n".join(result.strategies[place].name for place in group)
        alike = f"\n(within {_SAME_PERCENT:g} points)" if len(group) > 1 else ""
        first = result.strategies[group[0]].capacity_by_year * 100
        left.plot(years, first, color=color, linestyle=style, label=names + alike)
    end = result.end_of_life * 100
    left.axhline(end, color=BLACK, linewidth=0.8)
    left.annotate(
        f"end of life: {end:.0f}%", (0, end), (4, -4), textcoords="offset points", fontsize=9, va="top"
    )  # fmt: skip
    warranty = result.battery.warranty
    if warranty is not None:
        left.plot(
            warranty.years, warranty.remaining * 100, marker="D", color=BLACK, linestyle="none",
            label=f"warranty: {warranty.remaining:.0%} after {warranty.years:g} years",
        )  # fmt: skip
    left.set_xlim(0, result.years)
    left.set_ylabel("capacity, % of new")
    left.set_xlabel("years")
    left.legend(loc="upper right", frameon=False, fontsize=9)

    places = np.arange(len(result.strategies))[::-1]
    calendar = np.array([each.calendar_aging_by_year[-1] for each in result.strategies]) * 100
    cycle = np.array([each.cycle_aging_by_year[-1] for each in result.strategies]) * 100
    right.barh(places, calendar, color=SKY, edgecolor=BLACK, linewidth=0.5, label="calendar aging")
    right.barh(
        places, cycle, left=calendar, color=ORANGE, hatch="//", edgecolor=BLACK, linewidth=0.5, label="cycle aging"
    )
    right.set_yticks(places, [each.name for each in result.strategies])
    right.set_xlabel(f"capacity lost after {result.years} years, %")
    right.legend(loc="upper center", bbox_to_anchor=(0.5, -0.12), ncols=2, frameon=False, fontsize=9)
    plain_panel(left)
    plain_panel(right, "x")
    return drawn


def _alike(curves: Sequence["NDArray[np.float64]"]) -> list[list[int]]:
    """Return which curves are drawn as one: those that nowhere differ by more than what a picture shows."""
    groups: list[list[int]] = []
    for place, curve in enumerate(curves):
        group = next((each for each in groups if abs(curve - curves[each[0]]).max() <= _SAME_PERCENT), None)
        if group is None:
            groups.append([place])
        else:
            group.append(place)
    return groups
