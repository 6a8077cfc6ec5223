"""Wall-clock windows: seasons, days and hours in, one truth value for every step out.

A rate plan and a strategy say "when" in the same words. A step belongs to a window by what the clock and the calendar
on the wall show when the step begins. A window that crosses midnight (22:00 to 06:00) has the late and the early hours
of each matching day, as rate sheets read it.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Annotated, Self

import numpy as np
from numpy.typing import NDArray
from pydantic import AfterValidator, BaseModel, Field, model_validator

from solarsim.clock.days import Day, days_named, days_on, short_day_words
from solarsim.clock.timeline import Timeline
from solarsim.clock.words import clock, date_words, month_words, spans_of
from solarsim.errors import ScenarioError, ordinal
from solarsim.fields import Frozen, field, no_repeats

Place = tuple[int | str, ...]
_TOO_FINE = {
    60: "must be a full hour, since the run has hourly steps (site.step_minutes = 30 or 15 makes them finer)",
    30: "must be a full or half hour, since the run has half-hourly steps (site.step_minutes = 15 makes them finer)",
}
_HOLDERS = (BaseModel, tuple)  # what windows may be in
_DAYS_OF_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)  # no run has a 29 February


def _time_of_day(text: str) -> str:
    hour, colon, minute = text.partition(":")
    if not (colon and len(hour) == 2 and len(minute) == 2 and (hour + minute).isdecimal()):
        raise ValueError(
            "must be a time of day written as HH:MM, for example '16:00' (dates of a season are written"
            ' dates = { from = "05-15", to = "09-30" })'
        )
    if int(hour) > 24 or int(minute) > 59 or text > "24:00":
        raise ValueError("must be a time of day from 00:00 to 24:00")
    if int(minute) % 15:
        raise ValueError("must be a full, half or quarter hour: no run has finer steps")
    return text


def _month_and_day(text: str) -> str:
    month, dash, day = text.partition("-")
    if not (dash and len(month) == 2 and len(day) == 2 and (month + day).isdecimal()):
        raise ValueError("must be a date written as MM-DD, for example '05-15'")
    if text == "02-29":
        raise ValueError("is not in a year of 365 days: write 02-28 or 03-01")
    if not 1 <= int(month) <= 12 or not 1 <= int(day) <= _DAYS_OF_MONTH[int(month) - 1]:
        raise ValueError("is not a calendar date; write MM-DD, the month first")
    return text


ClockTime = Annotated[str, AfterValidator(_time_of_day)]
MonthAndDay = Annotated[str, AfterValidator(_month_and_day)]
Month = Annotated[int, Field(ge=1, le=12)]


class Dates(Frozen):
    """A part of the year; it may cross New Year."""

    first: MonthAndDay = field("first day, MM-DD", "MM-DD", alias="from")
    last: MonthAndDay = field("last day, MM-DD, included", "MM-DD", alias="to")


class Season(Frozen):
    """A part of the year; the whole year if nothing is given."""

    months: Annotated[tuple[Month, ...], AfterValidator(no_repeats)] | None = field(
        "calendar months, 1 to 12", "month", default=None
    )
    dates: Dates | None = field(
        "in place of months: where a season begins or ends within a month", "table", default=None
    )

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if self.months is not None and self.dates is not None:
            raise ValueError("has both 'months' and 'dates': each names a season, keep one of them")
        return self

    def season(self) -> str:
        """Return the season in a few words, as in ``Jun-Sep``; empty for the whole year."""
        if self.dates is not None:
            return f"{date_words(self.dates.first)} to {date_words(self.dates.last)}"
        return "" if self.months is None else month_words(self.months)


class Window(Season):
    """When: all that is left out means always."""

    days: Annotated[tuple[Day, ...], AfterValidator(no_repeats)] | None = field(
        "weekday (Monday to Friday without holidays), weekend (without holidays), holiday; or mon to sun and ranges"
        " such as mon-fri (holidays included, as an inverter's own clock knows none)",
        "text",
        default=None,
    )
    start: ClockTime | None = field("wall-clock time HH:MM at which it begins", "HH:MM", default=None, alias="from")
    end: ClockTime | None = field("wall-clock time HH:MM at which it ends", "HH:MM", default=None, alias="to")

    @model_validator(mode="after")
    def _both_ends(self) -> Self:
        if (self.start is None) != (self.end is None):
            missing = "from" if self.start is None else "to"
            raise ValueError(f"has only one end: '{missing}' is missing")
        if self.start is not None and self.start == self.end:
            raise ValueError(f"the window from {self.start} to {self.end} is empty; leave both out for the whole day")
        return self

    def words(self) -> str:
        """Return the window in a few words for a table or a message; midnight as its end is 24:00."""
        days = "" if self.days is None else short_day_words(self.days)
        spans = [] if self.start is None else spans_of(*minutes_of(self), every_day=self.days is None)
        hours = ", ".join(f"{clock(start)}-{clock(end)}" for start, end in spans)
        return " ".join(part for part in (self.season(), days, hours) if part) or "always"


def off_step(table: object, step_minutes: int, where: tuple[int | str, ...] = ()) -> Iterator[tuple[Place, str]]:
    """Yield the ends of windows that fall within a step.

    Parameters
    ----------
    table : object
        A table of a scenario, or tables in a list, with windows anywhere in it.
    step_minutes : int
        Length of a step [min].
    where : tuple of str and int
        The table's own place in the scenario.

    Yields
    ------
    tuple
        The place of an end, and what is wrong with it.
    """
    if isinstance(table, Window):
        for key, clock in (("from", table.start), ("to", table.end)):
            if clock is not None and _minute(clock) % step_minutes:
                yield (*where, key), f"{clock!r} {_TOO_FINE[step_minutes]}"
    parts: Iterable[tuple[int | str, object]] = ()
    if isinstance(table, _HOLDERS):
        parts = enumerate(table) if isinstance(table, tuple) else vars(table).items()
    for part, inner in parts:
        if isinstance(inner, _HOLDERS):  # of all other values there are many, and no window is in them
            yield from off_step(inner, step_minutes, (*where, part))


def _minute(clock: str) -> int:
    return int(clock[:2]) * 60 + int(clock[3:])


def steps_in_season(season: Season, timeline: Timeline) -> NDArray[np.bool_]:
    """Return which steps lie in a season.

    Parameters
    ----------
    season : Season
        Months or dates.
    timeline : Timeline
        The year.

    Returns
    -------
    array of bool
        One entry for each step.
    """
    if season.dates is not None:
        first, last = _ordinal(season.dates.first), _ordinal(season.dates.last)
        day = 100 * timeline.month + timeline.day_of_month
        after, before = day >= first, day <= last
        return (after & before) if first <= last else (after | before)
    if season.months is not None:
        return np.isin(timeline.month, season.months)
    return np.ones(len(timeline), np.bool_)


def _ordinal(text: str) -> int:
    return 100 * int(text[:2]) + int(text[3:])


def minutes_of(window: Window) -> tuple[int, int]:
    """Return from and to of a window.

    Parameters
    ----------
    window : Window
        Any.

    Returns
    -------
    tuple of int
        Minutes since midnight; the whole day is 0 to 1440.
    """
    return (0, 1440) if window.start is None or window.end is None else (_minute(window.start), _minute(window.end))


def steps_in_window(window: Window, timeline: Timeline) -> NDArray[np.bool_]:
    """Return which steps lie in a window.

    Parameters
    ----------
    window : Window
        Season, days and hours, wall clock.
    timeline : Timeline
        The year.

    Returns
    -------
    array of bool
        One entry for each step.
    """
    inside = steps_in_season(window, timeline)
    if window.days is not None:
        inside &= np.isin(days_on(timeline), list(days_named(window.days)))
    if window.start is not None:
        start, end = minutes_of(window)
        after, before = timeline.minute_of_day >= start, timeline.minute_of_day < end
        inside &= (after & before) if start < end else (after | before)
    return inside


def steps_in_any(windows: Sequence[Window], timeline: Timeline, key: str) -> NDArray[np.bool_]:
    """Return which steps lie in at least one window; without any window, all of them.

    Parameters
    ----------
    windows : sequence of Window
        When.
    timeline : Timeline
        The year.
    key : str
        Name of the windows, for the message.

    Returns
    -------
    array of bool
        One entry for each step.

    Raises
    ------
    ScenarioError
        A window holds in no step of the year.
    """
    inside = np.full(len(timeline), not windows)
    problems = []
    for number, window in enumerate(windows, start=1):
        steps = steps_in_window(window, timeline)
        inside |= steps
        if not steps.any():
            problems.append(
                f"{key}: the {ordinal(number)} window ({window.words()}) holds in no hour of {timeline.year}"
            )
    if problems:
        raise ScenarioError(*problems)
    return inside


def governing(windows: Sequence[Window], timeline: Timeline, key: str) -> NDArray[np.int64]:
    """Return which window governs each step: the first that holds.

    Parameters
    ----------
    windows : sequence of Window
        When.
    timeline : Timeline
        The year.
    key : str
        Name of the windows, for the message.

    Returns
    -------
    array of int
        Index into ``windows`` for each step; ``len(windows)`` where none holds.

    Raises
    ------
    ScenarioError
        A window never governs: the year has no such hour (no holidays, for example), or earlier windows hold in all
        of them; one line for each.
    """
    first = np.full(len(timeline), len(windows), np.int64)
    for number, window in reversed(list(enumerate(windows))):
        first[steps_in_window(window, timeline)] = number
    problems = []
    for number, window in enumerate(windows):
        if not (first == number).any():
            no_such = not steps_in_window(window, timeline).any()
            why = f"{timeline.year} has no such hour" if no_such else "earlier windows cover all of its hours"
            problems.append(f"{key}: the {ordinal(number + 1)} window ({window.words()}) never holds: {why}")
    if problems:
        raise ScenarioError(*problems)
    return first
