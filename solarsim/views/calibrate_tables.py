"""The check against a log for a person: a calibration in, a table by month and sentences out."""

from rich.table import Table

from solarsim.scenario.roof.roof import SEASONS
from solarsim.studies.calibrate.calibrate import ONE_SIDED, Calibration, LoggedMonth, tilt_hint
from solarsim.studies.calibrate.clock_check import ClockCheck
from solarsim.views.tables import MONTHS, plain_table

_WEAK = 0.8
_SIDES = {"ac": "AC, at the inverter's output", "dc": "DC, at the inverter's inputs"}


def calibrate_heading(found: Calibration) -> str:
    """Say what was compared with what.

    Parameters
    ----------
    found : Calibration
        A log and its model.

    Returns
    -------
    str
        Three lines.
    """
    log = found.scenario.production_log
    source = "monthly_kwh" if log is None or log.file is None else log.file
    side = "" if log is None else _SIDES[log.side]
    cut = "" if log is None or log.strategy is None else f", as {log.strategy!r} would have used it"
    sky = "its own years" if found.real_weather else f"a typical year, {found.home.weather.place}"
    return f"{found.scenario.name}: {source} beside the model{cut}\nMeasured: {side}\nWeather: {sky}"


def logged_table(found: Calibration) -> Table:
    """Show measured and expected energy of each month.

    Parameters
    ----------
    found : Calibration
        With its months.

    Returns
    -------
    rich.table.Table
        At most 80 columns wide.
    """
    table = plain_table("Month", "Measured\nkWh", "Expected\nkWh", "Of\nexpected", "Usual\nfrom", "Logged", "")
    for month in found.months:
        ratio = month.ratio
        table.add_row(
            month_name(month),
            f"{month.logged_kwh:,.1f}",
            f"{month.expected_kwh:,.1f}",
            "" if ratio is None else f"{ratio:.0%}",
            f"{1 - ONE_SIDED * month.spread:.0%}",
            f"{month.covered:.0%}",
            "below" if month.is_below else "",
        )
    table.add_section()
    for fitted, words in ((True, "fitted"), (False, "foretold")):
        logged, expected = found.sums(fitted)
        if expected > 0:
            table.add_row(words, f"{logged:,.1f}", f"{expected:,.1f}", f"{logged / expected:.1%}", "", "", "")
    return table


def month_name(month: LoggedMonth) -> str:
    """Name a month of a year."""
    return f"{MONTHS[month.month - 1]} {month.year}"


def months_below(found: Calibration) -> list[str]:
    """Give what may explain single months.

    Parameters
    ----------
    found : Calibration
        With its months.

    Returns
    -------
    list of str
        One line for each month that is below or has a remark.
    """
    lines = []
    for month in found.months:
        words = list(month.remarks)
        if month.is_below and not words:
            words = ["nothing in log or weather explains it: look for shade, dirt, a dead string, a standstill"]
        if words:
            lines.append(f"{month_name(month)}: {'; '.join(words)}.")
    return lines


def calibrate_lines(found: Calibration) -> list[str]:
    """Say what the comparison means, and what to write into the scenario.

    Parameters
    ----------
    found : Calibration
        A log and its model.

    Returns
    -------
    list of str
        Sentences, then the lines for the scenario.
    """
    lines = [
        "Expected: the model times the factor, in the hours of the log. Logged: share of the month's expected energy in"
        " those hours. Usual from: 19 of 20 months lie above it, " + _of_spread(found) + "."
    ]
    if not found.real_weather:
        lines.append(
            "The factor holds the weather of its months too: one year commonly differs by 5 % from a typical one (one"
            " standard deviation; common practice, no source). The log's own weather, or more years, tell more."
        )
    lowered = [month_name(month) for month in found.months if month.is_below and month.fitted]
    if lowered:
        lines.append(
            f"{', '.join(lowered)} lowers the factor: if that fault is mended, leave it out (without, in"
            " production_log.fit)."
        )
    if found.follows < _WEAK:
        lines.append(
            "What the arrays could make was often cut, by the program or by a limit: 1 % more measured would be"
            f" {1 / found.follows:.1f} % more factor. Months in which nothing was cut tell more (fit)."
        )
    hint = tilt_hint(found.months, found.home.weather.latitude_deg > 0) if len(found.factors) == 1 else None
    if hint is not None:
        steeper = "steeper" if hint > 1 else "flatter"
        against = "shade or snow in winter" if hint < 1 else "shade or heat in summer"
        lines.append(
            f"Of what is expected, the low sun's months make {hint:.2f} times the high sun's: the arrays may stand"
            f" {steeper} than written, or there is {against}."
        )
    lines += [] if found.clock is None else clock_lines(found.clock, found)
    return [*lines, "For the scenario, in place of any factor there:\n\n" + factor_lines(found)]


def _of_spread(found: Calibration) -> str:
    if found.real_weather:
        return "as model and measured weather commonly allow (one standard deviation 5 %; common practice, no source)"
    if found.years_of_spread:
        return (
            f"by the spread of {found.years_of_spread} years of weather and 5 % of the model (common practice, no"
            " source)"
        )
    return (
        "by how single months commonly differ from a typical year (one standard deviation 8 % in the brighter half of"
        " the year, 13 % in the darker; common practice, no source)"
    )


def factor_lines(found: Calibration) -> str:
    """Write the factor as the scenario's table ``production`` takes it.

    Parameters
    ----------
    found : Calibration
        With one factor, or one for each season.

    Returns
    -------
    str
        Two lines of TOML.
    """
    if len(found.factors) == 1:
        return f"[production]\nsystem_factor = {found.factors[0]:.3f}"
    each = ", ".join(f"{name} = {factor:.3f}" for name, factor in zip(SEASONS, found.factors, strict=True))
    return f"[production]\nsystem_factor_by_season = {{ {each} }}"


def clock_lines(clock: ClockCheck, found: Calibration) -> list[str]:
    """Say whether the logger's clock is right, and which key settles it where it is not.

    Parameters
    ----------
    clock : ClockCheck
        What the shape of the days says.
    found : Calibration
        Knows the keys that the log has already.

    Returns
    -------
    list of str
        Sentences. Nothing was moved: the comparison above is by the clock as read.
    """
    misfit = f"{clock.as_read.misfit:.1%} of the energy stands in another hour than expected"
    if not clock.other_saving and not clock.moved_min:
        return [f"Clock: right, as far as intervals of this length tell ({misfit})."]
    lines = []
    if clock.other_saving:
        how = (
            "follows daylight saving, which its stamps do not say"
            if clock.best.follows_saving
            else "does not follow daylight saving, though it was read as a wall clock"
        )
        lines.append(
            f"Clock: the log {how}. As read, {misfit}; otherwise {clock.unmoved.misfit:.1%}, at best"
            f" {clock.best.misfit:.1%}. What settles it: {clock_key(clock, found)}"
        )
    if clock.moved_min:
        minutes = abs(clock.moved_min)
        when, side = ("earlier", "east") if clock.moved_min < 0 else ("later", "west")
        start = f"{'Clock' if not lines else 'Beside that'}: its days come about {minutes} min {when} than expected"
        facing = f"the arrays face more to the {side} than written"
        if clock.reason == "azimuth":
            lines.append(f"{start}, but light and dark part where they should: not the clock, {facing}.")
        else:
            either = "" if clock.reason == "clock" else f"Either {facing}, or the clock is off; then: "
            saving = (
                ""
                if clock.both_kinds or minutes != 60
                else " (or it is daylight saving: months in it and out of it would tell)"
            )
            lines.append(
                f"{start} (by the clock of the weather file; {misfit}). {either}{moved_key(clock, found)} settles"
                f" it{saving}."
            )
            if minutes == clock.step_min:
                lines.append('Labels that mean the other end of the interval look the same: labels = "start" or "end".')
    return lines


def clock_key(clock: ClockCheck, found: Calibration) -> str:
    """Name the key that settles whether the log follows daylight saving."""
    if clock.best.follows_saving:
        return 'clock = "wall" in [production_log]'
    offset_min = round(found.home.timeline.utc_offset_h * 60)
    return (
        f'clock = "utc" in [production_log], and where no offset stands beside the times clock_ahead_min = {offset_min}'
    )


def moved_key(clock: ClockCheck, found: Calibration) -> str:
    """Name the key that moves the log."""
    log = found.scenario.production_log
    now = 0 if log is None else log.clock_ahead_min or 0
    return f"clock_ahead_min = {now + clock.moved_min}"
