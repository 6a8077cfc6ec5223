"""The bill by month before and after the system, its lines stacked: two bills in, a figure out."""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solarsim.scenario.rate_plan.rate_plan import Kind
from solarsim.studies.bill import BillStudy, PrintedBill
from solarsim.views.figure import (
    BLACK,
    BLUE,
    GREEN,
    ORANGE,
    PURPLE,
    SKY,
    VERMILION,
    YELLOW,
    new_figure,
    plain_panel,
)
from solarsim.views.tables import whole
from solarsim.views.texts import MONTHS, printable

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_Key = tuple[Kind, str]
ORDER: tuple[Kind, ...] = ("customer_charge", "energy", "rider", "demand", "export", "credit", "minimum", "tax")
KIND_WORDS: dict[Kind, str] = {
    "customer_charge": "customer charge",
    "energy": "energy",
    "rider": "riders",
    "demand": "demand",
    "export": "export",
    "credit": "credits",
    "minimum": "minimum bill",
    "tax": "taxes",
}
_FILLS = (
    ("#BDBDBD", ""),
    (VERMILION, "//"),
    (BLUE, ""),
    (YELLOW, "--"),
    (GREEN, "\\\\"),
    (PURPLE, "xx"),
    (ORANGE, "||"),
)
_EARNED = (SKY, "++")  # what is earned hangs below the zero line, whatever its name
_TOTAL = "total"
_MOST_LINES = len(_FILLS) + 1


def figure(result: BillStudy) -> "Figure":
    """Draw the months of each bill with their lines stacked; what is earned hangs below zero.

    Parameters
    ----------
    result : BillStudy
        Without any system, and with it.

    Returns
    -------
    matplotlib.figure.Figure
        9 inches wide: one panel for each bill, all on one scale, the total of each month above its bar.
    """
    drawn = new_figure(9, 1.0 + 2.7 * len(result.bills), f"{result.scenario}: bill by month")
    panels = drawn.subplots(len(result.bills), 1, sharex=True, sharey=True, squeeze=False)[:, 0]
    by_kind = len(_keys(result, by_kind=False)) > _MOST_LINES
    fills = _fills(_keys(result, by_kind))
    months = range(12) if result.month is None else [result.month - 1]
    for panel, bill in zip(panels, result.bills, strict=True):
        _draw(panel, bill, fills, by_kind, np.array(months))
        panel.set_title(
            f"{printable(bill.name)}: {whole(bill.total)} {result.currency} {_period(result)}", loc="left", fontsize=10
        )
        panel.set_ylabel(f"{result.currency} a month")
        plain_panel(panel, "y")
    panels[-1].set_xticks(months, [MONTHS[month] for month in months])
    panels[-1].set_xlim(months[0] - 0.7, months[-1] + 0.7)
    handles = {
        label: handle for panel in panels for handle, label in zip(*panel.get_legend_handles_labels(), strict=True)
    }
    labels = [_label(key) for key in fills if _label(key) in handles][::-1]  # from the top of a stack down
    labels += [_TOTAL] if _TOTAL in handles else []
    panels[0].legend(
        [handles[label] for label in labels], labels, loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False,
        fontsize=9,
    )  # fmt: skip
    return drawn


def _period(result: BillStudy) -> str:
    return "a year" if result.month is None else f"in {MONTHS[result.month - 1]}"


def _keys(result: BillStudy, by_kind: bool) -> list[_Key]:
    """Return kind and name of every line of both bills, in the order of a bill."""
    found = dict.fromkeys(key for bill in result.bills for key in bill.monthly_amounts(by_kind))
    return sorted(found, key=lambda key: ORDER.index(key[0]))


def _fills(keys: list[_Key]) -> dict[_Key, tuple[str, str]]:
    """Return color and hatch of each line."""
    paid = [key for key in keys if key[0] not in ("export", "credit")]
    fills = {key: _FILLS[place % len(_FILLS)] for place, key in enumerate(paid)}
    return {key: fills.get(key, _EARNED) for key in keys}


def _label(key: _Key) -> str:
    kind, what = key
    return printable(what) or KIND_WORDS[kind]


def _draw(
    panel: "Axes", bill: PrintedBill, fills: dict[_Key, tuple[str, str]], by_kind: bool, months: NDArray[np.int64]
) -> None:
    """Draw one bill: a stack for each month, and its total."""
    amounts = bill.monthly_amounts(by_kind)
    up, down = np.zeros(months.size), np.zeros(months.size)
    for key, (color, hatch) in fills.items():
        if key not in amounts:
            continue
        amount = np.array(amounts[key])[months]
        panel.bar(
            months, amount, 0.72, np.where(amount >= 0.0, up, down), color=color, hatch=hatch, edgecolor="black",
            linewidth=0.4, label=_label(key),
        )  # fmt: skip
        up, down = up + np.maximum(amount, 0.0), down + np.minimum(amount, 0.0)
    totals = np.array(bill.monthly_total)[months]
    if down.any():
        panel.hlines(totals, months - 0.42, months + 0.42, color=BLACK, linewidth=2.0, label=_TOTAL)
    for month, total, top in zip(months, totals, up, strict=True):
        panel.annotate(
            whole(total), (month, top), xytext=(0, 2), textcoords="offset points", ha="center", va="bottom", fontsize=8
        )
    panel.axhline(0.0, color=BLACK, linewidth=0.6)
    panel.margins(y=0.12)
