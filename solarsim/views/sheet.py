"""A settings sheet for a person: what to program, what it needs and what it does; a page and a figure out."""

from collections.abc import Iterator
from datetime import date
from io import StringIO
from typing import TYPE_CHECKING, Any

import numpy as np

from solarsim.studies.sheet.sheet import Sheet
from solarsim.views.figure import BLACK, BLUE, GREEN, PURPLE, VERMILION, new_figure
from solarsim.views.tables import plain_table
from solarsim.views.texts import CAUTION, MONTHS, heading

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import NDArray
    from rich.padding import Padding
    from rich.table import Table

_PRINTED_COLUMNS = 80
_GREY = "#BDBDBD"
_VISIBLE_KW = 0.01
_KEY_IN = (
    "Never set a current above what the battery, its cables and fuses are rated for. Follow the inverter's manual; its"
    " names for these settings may differ."
)


def page(result: Sheet) -> list[Any]:
    """Return what a person programs.

    Parameters
    ----------
    result : Sheet
        A strategy's.

    Returns
    -------
    list
        Text and a table.
    """
    return [
        heading(result.home),
        f"\nSettings sheet: {result.strategy}\n",
        "Base settings:" if result.fills_day else "Base settings, outside the slots:",
        _indented(result.base),
        *_seasons(result),
        "\nThe inverter must offer:",
        *(_indented(f"- {need}") for need in result.needs or ("nothing beyond the base settings",)),
        *_checked(result),
        *([] if result.home.limits.capacity_kwh else ["\nNo battery: only an export limit has an effect."]),
        "",
        " ".join(result.clock),
        _days(result),
        "Sunny: more sun than on 90% of the season's days. Cloudy: less than on 90% of them. Days are from the"
        " simulated year. From grid: into the battery. Charge: state of charge at the end of a step.",
        _KEY_IN,
        CAUTION,
    ]


def text(result: Sheet) -> str:
    """Return the page as plain text to be printed.

    Parameters
    ----------
    result : Sheet
        A strategy's.

    Returns
    -------
    str
        Lines of at most 80 characters.
    """
    from rich.console import Console

    out = StringIO()
    console = Console(file=out, width=_PRINTED_COLUMNS, highlight=False, markup=False, force_terminal=False)
    for part in page(result):
        console.print(part)
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


def _indented(words: str) -> "Padding":
    """Return a paragraph whose further lines are indented, too."""
    from rich.padding import Padding

    return Padding(words, (0, 0, 0, 2))


def _seasons(result: Sheet) -> Iterator[Any]:
    """Yield the slots of each season, those of the base only where slots must fill the day."""
    for season in result.seasons:
        shown = [slot.sentence for slot in season.slots if result.fills_day or not slot.is_base]
        yield f"\n{season.season}"
        yield from map(_indented, shown or ["No slots: the base settings apply all day."])


def _checked(result: Sheet) -> Iterator[Any]:
    if result.misfits is None:
        yield "\nNot checked against an inverter's menu: the scenario has no inverter.programmable."
    elif result.misfits:
        yield "\nIt cannot be programmed into this inverter:"
        yield from (_indented(f"- {reason}") for reason in result.misfits)
    else:
        yield "\nIt can be programmed into this inverter (inverter.programmable)."


def _days(result: Sheet) -> "Table":
    """Return what the battery does on a sunny and a cloudy day of each season."""
    table = plain_table(
        "Day", "Solar\nkWh", "Load\nkWh", "Im-\nport\nkWh", "Ex-\nport\nkWh", "From\ngrid\nkWh", "Dis-\ncharge\nkWh",
        "Lowest\ncharge", "Highest\ncharge", name_width=14,
    )  # fmt: skip
    for number, day in enumerate(result.days):
        if number % 2 == 0:
            table.add_row(day.season)
        when = date.fromisoformat(day.date)
        amounts = (
            day.pv_available_kwh, day.load_kwh, day.import_kwh, day.export_kwh, day.grid_to_battery_kwh,
            day.battery_out_kwh,
        )  # fmt: skip
        levels = ((day.soc_lowest, day.soc_lowest_at), (day.soc_highest, day.soc_highest_at))
        charge = ["" if level is None else f"{100 * level:.0f}% {at}" for level, at in levels]
        shown = [f"{round(amount, 1) + 0.0:.1f}" for amount in amounts]
        table.add_row(f" {day.sky}, {MONTHS[when.month - 1]} {when.day}", *shown, *charge)
    return table


def figure(result: Sheet) -> "Figure":
    """Draw a week of each season: state of charge and discharge floor, with the import price behind.

    Parameters
    ----------
    result : Sheet
        A strategy's.

    Returns
    -------
    matplotlib.figure.Figure
        One panel for each season, 10 inches wide.
    """
    drawn = new_figure(10, 1.2 + 2.3 * max(1, len(result.weeks)), f"{result.scenario}: {result.strategy}")
    panels = drawn.subplots(max(1, len(result.weeks)), 1, squeeze=False)[:, 0]
    highest = float(result.run.flows["import_price"].max())
    for panel, week in zip(panels, result.weeks, strict=False):
        _week(panel, result, week.steps, highest)
        first = date.fromisoformat(week.first_day)
        panel.set_title(
            f"{week.season}: week of Monday, {MONTHS[first.month - 1]} {first.day}", loc="left", fontsize=10
        )
    return drawn


def _week(panel: "Axes", result: Sheet, steps: "NDArray[np.int64]", highest_price: float) -> None:
    """Draw one week."""
    flows, step_h = result.run.flows, result.home.timeline.step_h
    hours = np.arange(steps.size + 1) * step_h
    prices = panel.twinx()
    panel.set_zorder(prices.get_zorder() + 1)
    panel.patch.set_visible(False)
    prices.stairs(flows["import_price"][steps], hours, fill=True, color=_GREY, alpha=0.5)
    top = 1.05 * highest_price if highest_price > 0.0 else 1.0
    prices.set_ylim(-0.25 * top, top)  # its 0 is at the 0% of the state of charge
    prices.set_yticks([each for each in prices.get_yticks() if 0.0 <= each <= top])
    prices.set_ylabel(f"import price (gray),\n{result.home.rate_plan.currency}/kWh", fontsize=8)
    prices.spines[["top"]].set_visible(False)
    soc, floor = 100 * flows["soc"][steps], 100 * flows["discharge_floor"][steps]
    panel.plot(hours[1:], soc, color=BLUE, linewidth=1.6)
    panel.stairs(floor, hours, baseline=None, color=PURPLE, linewidth=1.3, linestyle="--")
    peak, quiet = int(np.argmax(soc)), int(np.argmax(soc - floor))
    _label(panel, float(hours[peak + 1]), float(soc[peak]), "state of charge", above=True)
    _label(panel, float(hours[quiet]), float(floor[quiet]), "discharge floor", above=False)
    for column, height, hatch, color, words in (
        ("grid_to_battery_kw", -14.0, "////", GREEN, "charges from the grid"),
        ("battery_to_grid_kw", -28.0, "xxxx", VERMILION, "sells from the battery"),
    ):
        active = np.flatnonzero(flows[column][steps] > _VISIBLE_KW)
        if active.size:
            bars = [(float(hours[i]), step_h) for i in active]
            panel.broken_barh(bars, (height, 9.0), facecolor="none", edgecolor=color, hatch=hatch, linewidth=0)
            _label(panel, float(hours[active[0] + 1]) + 1.0, height + 4.0, words)
    panel.axhline(0.0, color=BLACK, linewidth=0.5)
    panel.set_ylim(-30, 120)
    panel.set_yticks([0, 50, 100])
    panel.set_ylabel("state of charge, %", fontsize=8)
    panel.set_xlim(0, hours[-1])
    panel.set_xticks(np.arange(7) * 24 + 12, ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"])
    panel.set_xticks(np.arange(8) * 24, minor=True)
    panel.tick_params(axis="x", which="major", length=0)
    panel.grid(axis="x", which="minor", linewidth=0.4, alpha=0.7)
    panel.spines[["top"]].set_visible(False)


def _label(panel: "Axes", x: float, y: float, words: str, above: bool | None = None) -> None:
    """Write a name beside what it names, on a light ground."""
    offset = {True: 3, False: -3, None: 0}[above]
    panel.annotate(
        words, (x, y), xytext=(0, offset), textcoords="offset points", color=BLACK, fontsize=8,
        ha="right" if x > 140.0 else "left", va={True: "bottom", False: "top", None: "center"}[above],
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.7, "pad": 0.6},
    )  # fmt: skip
