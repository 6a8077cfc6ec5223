"""One week of a rate plan as a picture: a week in; its prices by hour and its holidays drawn on a panel."""

from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from solarsim.studies._plan_weeks import PlanWeek
from solarsim.views.figure import BLACK, BLUE, plain_panel
from solarsim.views.texts import MONTHS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_GRAY = "0.85"


def draw_week(panel: "Axes", week: PlanWeek, currency: str, lowest: float, highest: float) -> None:
    """Draw the prices of one week, on a scale that all weeks of a rate plan share."""
    ends = np.append(week.hour, week.hour[-1] + week.step_h)
    for day in week.holidays:
        panel.axvspan(24 * day, 24 * day + 24, facecolor="none", edgecolor="0.6", hatch="..", linewidth=0)
    panel.stairs(week.import_price, ends, fill=True, color=_GRAY)
    panel.stairs(week.import_price, ends, color=BLACK, linewidth=1.3, label="import price")
    panel.stairs(
        week.export_price, ends, baseline=None, color=BLUE, linewidth=1.6, linestyle="--", label="export price"
    )
    low, high = min(lowest, 0.0), max(highest, 0.01)
    panel.set_ylim(low - 0.02 * (high - low), high + 0.22 * (high - low))
    for number, name in enumerate(_DAYS):
        words = f"{name}, holiday" if number in week.holidays else name
        panel.annotate(
            words, (24 * number + 12, high + 0.2 * (high - low)), ha="center", va="top", fontsize=8, color=BLACK,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.6},
        )  # fmt: skip
    panel.set_xlim(0, 168)
    panel.set_xticks(np.arange(0, 169, 6), [str(hour % 24) for hour in range(0, 169, 6)], fontsize=7)
    panel.set_ylabel(f"{currency}/kWh", fontsize=9)
    monday = date.fromisoformat(week.first_day)
    title = f"{week.season}: week of Monday, {MONTHS[monday.month - 1]} {monday.day}"
    panel.set_title(title, loc="left", fontsize=10)
    panel.set_title(", ".join(f"{name} {price:g}" for name, price in week.rates), loc="right", fontsize=8)
    panel.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=8)
    plain_panel(panel, "x")
    for midnight in range(24, 168, 24):
        panel.axvline(midnight, color="0.5", linewidth=0.7)
