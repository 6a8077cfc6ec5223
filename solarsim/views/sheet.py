"""A settings sheet for a person: what to program, what it needs and what it does; a page and a figure out."""

from collections.abc import Iterator
from datetime import date
from io import StringIO
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from solarsim.studies.sheet._days import SheetDay, SheetWeek
from solarsim.studies.sheet.sheet import Sheet, SheetSlot
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
_HIGHEST = 110.0  # of the axis of the state of charge, in percent
_MOVED = 0.02  # of the state of charge
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
        *_orders(result),
        *(["\n" + " ".join(result.clock)] if result.clock else []),
        _days(result),
        _day_words(result),
        _KEY_IN,
        CAUTION,
    ]


def _orders(result: Sheet) -> Iterator[Any]:
    """Yield what is programmed and what the inverter must support; what a missing battery would do is left out."""
    if not result.has_orders:
        yield "No battery, and no export limit that the inverter could exceed: there is nothing to program."
        return
    if not result.has_battery:
        yield "No battery: only the export limit has an effect.\n"
    yield f"Base settings{'; a slot changes only what it names' if _slots(result) else ''}:"
    yield _indented(result.base)
    yield from _seasons(result)
    yield "\nThe inverter must support:"
    yield from (_bullet(need) for need in result.needs or ("nothing beyond the base settings",))
    yield from _checked(result)


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


def _bullet(words: str) -> "Table":
    """Return a paragraph behind a dash."""
    from rich.table import Table

    row = Table.grid(padding=(0, 1, 0, 0))
    row.add_row("  -", words)
    return row


def _slots(result: Sheet) -> list[SheetSlot]:
    """Return the slots that are not those of the base."""
    return [slot for season in result.seasons for slot in season.slots if not slot.is_base]


def _seasons(result: Sheet) -> Iterator[Any]:
    """Yield the slots of each season, those of the base only where slots must fill the day."""
    for season in result.seasons:
        shown = [slot.sentence for slot in season.slots if result.fills_day or not slot.is_base]
        yield f"\n{season.season}"
        yield from map(_indented, shown or ["No slots: the base settings apply all day."])


def _checked(result: Sheet) -> Iterator[Any]:
    if result.misfits is None:
        yield "\nThe limits of your inverter were not given, so this was not checked (inverter.programmable)."
    elif result.misfits:
        yield "\nIt cannot be programmed into this inverter:"
        yield from (_bullet(reason) for reason in result.misfits)
    else:
        yield "\nIt can be programmed into this inverter (inverter.programmable)."


def _days(result: Sheet) -> "Table":
    """Return what the battery does on a sunny and a cloudy day of each season."""
    battery = ("From\ngrid\nkWh", "Discharge\nkWh", "Lowest\nlevel", "Highest\nlevel") if result.has_battery else ()
    table = plain_table("Day", "Solar\nkWh", "Load\nkWh", "Import\nkWh", "Export\nkWh", *battery, name_width=15)
    table.padding = (0, 0, 0, 0)  # 80 columns in all
    for number, day in enumerate(result.days):
        if number % 2 == 0:
            table.add_row(day.season)
        when = date.fromisoformat(day.date)
        amounts = [day.pv_available_kwh, day.load_kwh, day.import_kwh, day.export_kwh]
        amounts += [day.grid_to_battery_kwh, day.battery_out_kwh] if result.has_battery else []
        shown = [f"{round(amount, 1) + 0.0:.1f}" for amount in amounts]
        table.add_row(f" {day.sky}, {MONTHS[when.month - 1]} {when.day}", *shown, *_levels(day))
    return table


def _levels(day: SheetDay) -> list[str]:
    """Return the lowest and the highest level of a day; when they are reached only where the level moves."""
    if day.soc_lowest is None or day.soc_highest is None:
        return []
    moves = day.soc_highest - day.soc_lowest >= _MOVED
    levels = ((day.soc_lowest, day.soc_lowest_at), (day.soc_highest, day.soc_highest_at))
    return [f" {100 * level:.0f}% {at if moves else '':5}" for level, at in levels]


def _day_words(result: Sheet) -> str:
    """Return how to read the table of days."""
    picked = " to which most of its slots apply" if _slots(result) else ""
    words = f"Days are from the simulated year. Sunny: more sun than on 90% of the season's days{picked}. Cloudy: less"
    words += " than on 90% of them."
    words += " Solar: PV available, before clipping and curtailment."
    levels = " From grid: into the battery. Level: state of charge at the end of a step."
    return words + (levels if result.has_battery else "")


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
    marks = [mark for mark in _MARKS if any(_active(result, week, mark).any() for week in result.weeks)]
    lowest = -4.0 - _MARK_SPACE * len(marks)
    count = max(1, len(result.weeks))
    drawn = new_figure(10, 1.5 + (2.0 + 0.15 * len(marks)) * count, f"{result.scenario}: {result.strategy}")
    panels = drawn.subplots(count, 1, squeeze=False)[:, 0]
    highest = float(result.run.flows["import_price"].max())
    for panel, week in zip(panels, result.weeks, strict=False):
        _week(panel, result, week, highest, lowest)
        for place, mark in enumerate(marks):
            _draw_mark(panel, result, week, mark, -4.0 - _MARK_SPACE * (place + 0.5))
        levels = [0.0, 50.0, 100.0] if result.has_battery else []
        rows = [-4.0 - _MARK_SPACE * (place + 0.5) for place in range(len(marks))]
        panel.set_yticks([*levels, *rows], [*(f"{level:.0f}%" for level in levels), *(mark.words for mark in marks)])
        panel.tick_params(axis="y", labelsize=8)
        first = date.fromisoformat(week.first_day)
        panel.set_title(
            f"{week.season}: week of Monday, {MONTHS[first.month - 1]} {first.day}", loc="left", fontsize=10
        )
    lines, _ = panels[0].get_legend_handles_labels()
    if lines:
        drawn.legend(handles=lines, loc="outside lower center", ncols=len(lines), frameon=False, fontsize=9)
    return drawn


class _Mark(NamedTuple):
    """A row below the state of charge that shows when something happens."""

    words: str
    column: str  # of the flows; empty for the slots that forbid discharging
    color: str
    hatch: str


_MARKS = (
    _Mark("charges from grid", "grid_to_battery_kw", GREEN, "////"),
    _Mark("sells from battery", "battery_to_grid_kw", VERMILION, "xxxx"),
    _Mark("must not discharge", "", BLACK, "...."),
)
_MARK_SPACE = 15.0  # in percent of the state of charge


def _active(result: Sheet, week: SheetWeek, mark: _Mark) -> "NDArray[np.bool_]":
    """Return in which steps of a week a mark is drawn."""
    if not result.has_battery:
        return np.zeros(week.steps.size, np.bool_)
    if not mark.column:
        return week.idle
    return np.asarray(result.run.flows[mark.column][week.steps] > _VISIBLE_KW)


def _draw_mark(panel: "Axes", result: Sheet, week: SheetWeek, mark: _Mark, height: float) -> None:
    """Draw when something happens, each stretch as one bar."""
    step_h, active = result.home.timeline.step_h, _active(result, week, mark)
    starts = np.flatnonzero(active & ~np.append(False, active[:-1]))
    ends = np.flatnonzero(active & ~np.append(active[1:], False)) + 1
    bars = [(start * step_h, (end - start) * step_h) for start, end in zip(starts.tolist(), ends.tolist(), strict=True)]
    panel.broken_barh(
        bars, (height - 5.0, 10.0), facecolor="white", edgecolor=mark.color, hatch=mark.hatch, linewidth=0.6
    )


def _week(panel: "Axes", result: Sheet, week: SheetWeek, highest_price: float, lowest: float) -> None:
    """Draw one week's prices, state of charge and discharge floor."""
    flows, step_h, steps = result.run.flows, result.home.timeline.step_h, week.steps
    hours = np.arange(steps.size + 1) * step_h
    prices = panel.twinx()
    panel.set_zorder(prices.get_zorder() + 1)
    panel.patch.set_visible(False)
    prices.stairs(flows["import_price"][steps], hours, fill=True, color=_GREY, alpha=0.5)
    top = 1.05 * highest_price if highest_price > 0.0 else 1.0
    prices.set_ylim(top * lowest / _HIGHEST, top)  # its 0 is at the 0% of the state of charge
    prices.set_yticks([each for each in prices.get_yticks() if 0.0 <= each <= top])
    prices.tick_params(axis="y", labelsize=8)
    prices.set_ylabel(f"import price (gray),\n{result.home.rate_plan.currency}/kWh", fontsize=8)
    prices.spines[["top"]].set_visible(False)
    if result.has_battery:
        panel.plot(hours[1:], 100 * flows["soc"][steps], color=BLUE, linewidth=1.6, label="state of charge")
        floor = 100 * flows["discharge_floor"][steps]
        panel.stairs(floor, hours, baseline=None, color=PURPLE, linewidth=1.3, linestyle="--", label="discharge floor")
    panel.axhline(0.0, color=BLACK, linewidth=0.5)
    panel.set_ylim(lowest, _HIGHEST)
    panel.set_xlim(0, hours[-1])
    panel.set_xticks(np.arange(7) * 24 + 12, ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"])
    panel.set_xticks(np.arange(8) * 24, minor=True)
    panel.tick_params(axis="x", which="major", length=0)
    panel.grid(axis="x", which="minor", linewidth=0.4, alpha=0.7)
    panel.spines[["top"]].set_visible(False)
