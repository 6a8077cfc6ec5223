"""A picture of the check against a log: a calibration in, months and clock out."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from solarsim.studies.calibrate.calibrate import ONE_SIDED, Calibration
from solarsim.studies.calibrate.clock_check import ClockCheck
from solarsim.views.calibrate_tables import factor_lines, month_name
from solarsim.views.month_plot import BLACK, BLUE, ORANGE, SKY, VERMILION


def calibrate_figure(found: Calibration) -> Figure:
    """Draw measured and expected months, and under them how well each clock fits.

    Above: measured energy as columns, those that lie below what is usual in another color; expected energy as marks
    with the span in which 18 of 20 months lie. Below, where the log tells hours: the share of energy that stands in
    another hour than expected, over how far the log's clock would run ahead.

    Parameters
    ----------
    found : Calibration
        A log and its model.

    Returns
    -------
    matplotlib.figure.Figure
        12 inches wide.
    """
    figure = Figure(figsize=(12, 6 if found.clock is None else 9), layout="constrained")
    FigureCanvasAgg(figure)
    factor = factor_lines(found).partition("\n")[2]
    figure.suptitle(f"{found.scenario.name}: measured and expected production, {factor}", fontsize=12)
    if found.clock is None:
        _months(figure.subplots(), found)
    else:
        above, below = figure.subplots(2, 1, height_ratios=(3, 2))
        _months(above, found)
        _clocks(below, found.clock)
    return figure


def _months(panel: Axes, found: Calibration) -> None:
    place = np.arange(len(found.months))
    logged = np.array([month.logged_kwh for month in found.months])
    expected = np.array([month.expected_kwh for month in found.months])
    spread = np.array([month.spread for month in found.months])
    below = np.array([month.is_below for month in found.months])
    panel.bar(place[~below], logged[~below], color=SKY, label="measured")
    if below.any():
        panel.bar(place[below], logged[below], color=VERMILION, label="measured, below what is usual")
    panel.errorbar(
        place, expected, yerr=ONE_SIDED * spread * expected, color=BLACK, fmt="o", markersize=4, capsize=3,
        label="expected in the same hours, and where 18 of 20 months lie",
    )  # fmt: skip
    foretold = [number for number, month in enumerate(found.months) if not month.fitted]
    for number in foretold:
        panel.axvspan(number - 0.5, number + 0.5, color=BLACK, alpha=0.06, linewidth=0, zorder=0)
    if foretold:
        panel.bar([0], [0], color=BLACK, alpha=0.06, label="not in the fit: foretold")
    panel.set_xticks(place, [month_name(month) for month in found.months], rotation=60, ha="right", fontsize=8)
    panel.set_xlim(-0.6, len(found.months) - 0.4)
    panel.set_ylabel("energy of the month, kWh")
    panel.set_ylim(0, 1.25 * float(max(logged.max(), (expected * (1 + ONE_SIDED * spread)).max(), 1e-9)))
    panel.legend(loc="upper left", ncols=2, frameon=False, fontsize=9)
    panel.grid(axis="y", linewidth=0.3, alpha=0.5)
    panel.spines[["top", "right"]].set_visible(False)


def _clocks(panel: Axes, clock: ClockCheck) -> None:
    for follows, color, words in ((False, BLUE, "fixed clock"), (True, ORANGE, "clock with daylight saving")):
        chosen = [each for each in clock.tried if each.follows_saving == follows]
        if chosen:
            minutes, misfit = [each.ahead_min for each in chosen], [each.misfit * 100 for each in chosen]
            panel.plot(minutes, misfit, color=color, marker="o", markersize=3, label=words)
    for each, marker, words in ((clock.as_read, "s", "as read"), (clock.best, "D", "fits best")):
        panel.plot(
            each.ahead_min, each.misfit * 100, marker=marker, markersize=9, color=BLACK, fillstyle="none",
            linestyle="none", label=words,
        )  # fmt: skip
    panel.set_xlabel("the log's clock would run ahead by, min")
    panel.set_ylabel("energy in another hour\nthan expected, %")
    panel.set_ylim(bottom=0)
    panel.set_xticks(range(-180, 181, 30))
    panel.legend(loc="upper center", ncols=4, frameon=False, fontsize=9)
    panel.grid(linewidth=0.3, alpha=0.5)
    panel.spines[["top", "right"]].set_visible(False)
