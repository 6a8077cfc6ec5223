"""Measured beside expected production, for a person: a calibration in; a table, sentences and a figure out."""

from typing import TYPE_CHECKING, Any

from rich.table import Table

from solarsim.scenario.roof.roof import SEASONS
from solarsim.studies.calibrate.calibrate import ONE_SIDED, Calibration, LoggedMonth
from solarsim.views.tables import plain_table
from solarsim.views.texts import CAUTION, MONTHS, month_span

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from solarsim.studies.calibrate._clock_check import ClockCheck

_LOW_SENSITIVITY = 0.8
_SIDES = {"ac": "AC, at the inverter's output", "dc": "DC, at the inverter's inputs"}


def page(result: Calibration) -> list[Any]:
    """Return what a person sees of a calibration: the factor, months, what may explain them, the clock.

    Parameters
    ----------
    result : Calibration
        A log and its model.

    Returns
    -------
    list
        Text and a table.
    """
    return [
        _heading(result),
        _headline(result),
        _month_table(result),
        *_single_months(result),
        *_sentences(result),
        *_clock(result.clock),
        "Copy into the scenario, replacing any system factor there:\n\n" + factor_lines(result),
        CAUTION,
    ]


def factor_lines(result: Calibration) -> str:
    """Return the factor as the scenario's table ``production``.

    Parameters
    ----------
    result : Calibration
        With one factor, or one for each season.

    Returns
    -------
    str
        Two lines of TOML.
    """
    if result.system_factor is not None:
        return f"[production]\nsystem_factor = {result.system_factor:.3f}"
    each = ", ".join(f"{name} = {factor:.3f}" for name, factor in zip(SEASONS, result.factors, strict=True))
    return f"[production]\nsystem_factor_by_season = {{ {each} }}"


def _heading(result: Calibration) -> str:
    """Return in three lines what was compared with what."""
    source = result.log.file or "monthly totals"
    limited = "" if result.strategy is None else f", limited by strategy {result.strategy!r}"
    weather = "of the log's own years" if result.real_weather else f"a typical year, {result.home.weather.place}"
    return (
        f"{result.scenario}: {source} compared with the model{limited}\nMeasured: {_SIDES[result.side]}\n"
        f"Weather: {weather}"
    )


def _headline(result: Calibration) -> str:
    """Return in a sentence what the system produces, as a share of the model."""
    total = result.fitted_sum
    share = f"The system produces {total.ratio:.0%} of the model" if total.ratio is not None else ""
    if result.system_factor is not None:
        return f"{share}: system factor {result.system_factor:.3f}."
    each = (
        f"{month_span(months)} {factor:.3f}" for months, factor in zip(SEASONS.values(), result.factors, strict=True)
    )
    return f"{share}: system factor {', '.join(each)}."


def _month_table(result: Calibration) -> Table:
    """Return measured and expected energy of each month, and their ratio without and with the factor."""
    table = plain_table(
        "Month", "Measured\nkWh", "Expected\nkWh", "Ratio", "Ratio with\nfactor", "P95", "Logged", ""
    )  # fmt: skip
    for month in result.logged_months:
        table.add_row(
            _name(month),
            f"{month.logged_kwh:,.1f}",
            f"{month.expected_kwh:,.1f}",
            _percent(month.ratio),
            _percent(month.ratio_to_calibrated),
            f"{1 - ONE_SIDED * month.spread:.0%}",
            f"{month.covered:.0%}",
            "low" if month.below else "",
        )
    table.add_section()
    for words, total in (("fitted", result.fitted_sum), ("predicted", result.predicted_sum)):
        to_calibrated = "" if words == "fitted" else _percent(total.ratio_to_calibrated)  # the fit makes it 100%
        if total.expected_kwh > 0:
            table.add_row(
                words,
                f"{total.logged_kwh:,.1f}",
                f"{total.expected_kwh:,.1f}",
                _percent(total.ratio),
                to_calibrated,
            )
    return table


def _percent(ratio: float | None) -> str:
    """Return a ratio in percent; nothing where there is none."""
    return "" if ratio is None else f"{ratio:.0%}"


def _name(month: LoggedMonth) -> str:
    """Return the name of a month of a year."""
    return f"{MONTHS[month.month - 1]} {month.year}"


def _single_months(result: Calibration) -> list[str]:
    """Return a line for each month that is low or has a remark."""
    lines = []
    for month in result.logged_months:
        words = month.remarks
        if month.below and not words:
            words = (
                "low, and neither log nor weather explains it; check for shading, soiling, a failed string or downtime",
            )
        if words:
            lines.append(f"{_name(month)}: {'; '.join(words)}.")
    return lines


def _sentences(result: Calibration) -> list[str]:
    """Return how to read the table and how far to trust the factor."""
    lines = [
        "Expected: the model without any system factor, in the hours of the log. Ratio: measured / expected; with"
        f" factor: measured / (model with the factor). P95: the ratio with factor that 95% of months reach or exceed"
        f" {_of_spread(result)}. Logged: share of the month's expected energy in the hours of the log."
    ]
    if not result.real_weather:
        lines.append(
            "The factor includes the weather of its months: a single year commonly differs from a typical one by 5%"
            " (one standard deviation; common practice, no source). Weather files of the same years, or a longer log,"
            " would make it more certain."
        )
    lowered = [_name(month) for month in result.logged_months if month.below and month.fitted]
    if lowered:
        lines.append(
            f"{', '.join(lowered)} {'lowers' if len(lowered) == 1 else 'lower'} the factor. If a fault was the reason"
            " and was repaired, exclude these months with production_log.fit.without."
        )
    if result.sensitivity < _LOW_SENSITIVITY:
        lines.append(
            "Production was often limited, by the strategy or the inverter: 1% more measured energy would mean a"
            f" factor {1 / result.sensitivity:.1f}% higher. Fit only months without such limits (production_log.fit)."
        )
    ratio = result.winter_to_summer
    if ratio is not None:
        tilt, reason = (
            ("steeper", "shading or heat in summer") if ratio > 1 else ("less steep", "shading or snow in winter")
        )
        lines.append(
            f"The ratio with factor is {ratio:.2f} times as high in winter as in summer: the arrays may be {tilt} than"
            f" in the scenario, or there is {reason}."
        )
    return lines


def _of_spread(result: Calibration) -> str:
    """Return where the spread of a month comes from."""
    if result.real_weather:
        return "(5% standard deviation of model and measured weather; common practice, no source)"
    if result.years_of_spread:
        return (
            f"(from the spread of {result.years_of_spread} years of weather and 5% of the model; common practice, no"
            " source)"
        )
    return (
        "(standard deviation of a month against a typical year: 8% in the brighter half of the year, 13% in the"
        " darker; common practice, no source)"
    )


def _clock(clock: "ClockCheck | None") -> list[str]:
    """Return whether the logger's clock is right, and the setting that corrects it; the table uses it as read."""
    if clock is None:
        return []
    misfit = f"{clock.as_read.misfit:.1%} of the energy is not in the expected hour"
    if not clock.other_daylight_saving and not clock.moved_min:
        return [f"Clock: correct, to the length of the log's intervals ({misfit})."]
    lines = []
    if clock.other_daylight_saving:
        how = (
            "follows daylight saving, but its times do not show it"
            if clock.best_clock.daylight_saving
            else "does not follow daylight saving, but was read as wall-clock time"
        )
        lines.append(
            f"Clock: the log {how}. As read, {misfit}; otherwise {clock.unmoved.misfit:.1%}, at best"
            f" {clock.best_clock.misfit:.1%}. Setting: {clock.daylight_saving_setting}"
        )
    if clock.moved_min:
        lines += _moved(clock, misfit, "Clock" if not lines else "In addition")
    return lines


def _moved(clock: "ClockCheck", misfit: str, start: str) -> list[str]:
    """Return what moves the days of a log, and the setting that corrects it."""
    minutes = abs(clock.moved_min)
    when, side = ("earlier", "east") if clock.moved_min < 0 else ("later", "west")
    moved = f"{start}: the days of the log are about {minutes} min {when} than expected"
    facing = f"the arrays face further {side} than in the scenario"
    if clock.reason == "azimuth":
        return [f"{moved}, but sunrise and sunset are where they should be: the clock is right, but {facing}."]
    saving = (
        "" if clock.both_kinds or minutes != 60 else " It may also be daylight saving: log months with and without it."
    )
    if clock.reason == "labels":
        end = "start" if clock.labeled_by_end else "end"
        return [
            f"{moved} ({misfit}), which is one interval of the log: its times seem to be the {end} of each interval."
            f" Setting: {clock.labels_setting}.{saving}"
        ]
    either = "" if clock.reason == "clock" else f" Either {facing}, or the clock is wrong."
    return [f"{moved} ({misfit}).{either} Setting for the clock: {clock.moved_setting}.{saving}"]


def figure(result: Calibration) -> "Figure":
    """Draw measured and expected months, and below them how well each clock fits.

    Parameters
    ----------
    result : Calibration
        A log and its model.

    Returns
    -------
    matplotlib.figure.Figure
        12 inches wide; the lower panel only where the log has hours.
    """
    from solarsim.views.figure import new_figure

    factor = factor_lines(result).partition("\n")[2]
    title = f"{result.scenario}: measured and expected production, {factor}"
    drawn = new_figure(12, 6 if result.clock is None else 9, title)
    if result.clock is None:
        _draw_months(drawn.subplots(), result)
    else:
        above, below = drawn.subplots(2, 1, height_ratios=(3, 2))
        _draw_months(above, result)
        _draw_clocks(below, result.clock)
    return drawn


def _draw_months(panel: "Axes", result: Calibration) -> None:
    """Draw measured energy as columns, the model's as marks: with the factor and the range of 90% of months."""
    import numpy as np

    from solarsim.views.figure import BLACK, SKY, VERMILION, plain_panel

    months = result.logged_months
    place = np.arange(len(months))
    logged, expected, calibrated, spread = (
        np.array([getattr(month, key) for month in months])
        for key in ("logged_kwh", "expected_kwh", "calibrated_kwh", "spread")
    )
    low = np.array([month.below for month in months])
    panel.bar(place[~low], logged[~low], color=SKY, edgecolor=BLACK, linewidth=0.5, label="measured")
    if low.any():
        panel.bar(
            place[low], logged[low], color=VERMILION, hatch="//", edgecolor=BLACK, linewidth=0.5, label="measured, low"
        )  # fmt: skip
    panel.hlines(
        expected, place - 0.4, place + 0.4, color=BLACK, linestyle="--", linewidth=1, label="expected: the model"
    )
    panel.errorbar(
        place, calibrated, yerr=ONE_SIDED * spread * calibrated, color=BLACK, fmt="o", markersize=4, capsize=3,
        label="model with factor, and the range of 90% of months",
    )  # fmt: skip
    predicted = [number for number, month in enumerate(months) if not month.fitted]
    for number in predicted:
        panel.axvspan(number - 0.5, number + 0.5, color=BLACK, alpha=0.08, linewidth=0, zorder=0)
    if predicted:
        panel.bar([0], [0], color=BLACK, alpha=0.08, label="not fitted: predicted")
    panel.set_xticks(place, [_name(month) for month in months], rotation=60, ha="right", fontsize=8)
    panel.set_xlim(-0.6, len(months) - 0.4)
    panel.set_ylabel("monthly energy, kWh")
    panel.set_ylim(
        0, 1.25 * float(max(logged.max(), expected.max(), (calibrated * (1 + ONE_SIDED * spread)).max(), 1e-9))
    )
    panel.legend(loc="upper left", ncols=2, frameon=False, fontsize=9)
    plain_panel(panel, "y")


def _draw_clocks(panel: "Axes", clock: "ClockCheck") -> None:
    """Draw the share of energy in another hour than expected, over how far the log's clock would run ahead."""
    from solarsim.views.figure import BLACK, BLUE, ORANGE, plain_panel

    kinds = ((False, BLUE, "-", "standard time"), (True, ORANGE, "--", "with daylight saving"))
    for daylight_saving, color, style, words in kinds:
        chosen = [each for each in clock.tried if each.daylight_saving == daylight_saving]
        if chosen:
            minutes, misfit = [each.ahead_min for each in chosen], [each.misfit * 100 for each in chosen]
            panel.plot(minutes, misfit, color=color, linestyle=style, marker="o", markersize=3, label=words)
    for each, marker, words in ((clock.as_read, "s", "as read"), (clock.best_clock, "D", "best fit")):
        panel.plot(
            each.ahead_min, each.misfit * 100, marker=marker, markersize=9, color=BLACK, fillstyle="none",
            linestyle="none", label=words,
        )  # fmt: skip
    panel.set_xlabel("clock of the log ahead by, min")
    panel.set_ylabel("energy in another hour\nthan expected, %")
    panel.set_ylim(0, 1.2 * 100 * max(each.misfit for each in clock.tried))
    panel.set_xticks(range(-180, 181, 30))
    panel.legend(loc="upper center", ncols=4, frameon=False, fontsize=9)
    plain_panel(panel)
