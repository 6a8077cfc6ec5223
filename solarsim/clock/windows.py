"""Wall-clock windows: months, day kinds and hours in, one truth value for every step out.

A rate plan and a strategy say "when" in the same words. An hour belongs to a window by what the
clock and the calendar on the wall show when the hour begins (so does a half or a quarter hour, in
a run with such steps): a window that crosses midnight
(22:00 to 06:00) takes the late and the early hours of each matching day, as rate sheets do.
"""

from collections.abc import Iterator, Sequence
from typing import Annotated, Literal, Self

import numpy as np
from numpy.typing import NDArray
from pydantic import AfterValidator, BaseModel, Field, model_validator

from solarsim.clock.timeline import DAY_KINDS, DAY_NAMES, Timeline
from solarsim.errors import ScenarioError
from solarsim.fields import Frozen, no_repeats

Place = tuple[int | str, ...]
_TOO_FINE = {
    60: "must be a full hour, since the run has hourly steps (site.step_minutes = 30 or 15 makes them finer)",
    30: "must be a full or half hour, since the run has half-hourly steps (site.step_minutes = 15 makes them finer)",
}
Day = Literal["weekday", "weekend", "holiday", "mon", "tue", "wed", "thu", "fri", "sat", "sun"]
Month = Annotated[int, Field(ge=1, le=12)]


def _time_of_day(text: str) -> str:
    hour, colon, minute = text.partition(":")
    if not (colon and len(hour) == 2 and len(minute) == 2 and (hour + minute).isdecimal()):
        raise ValueError("must be a time of day written as HH:MM, for example '16:00'")
    if int(hour) > 24 or int(minute) > 59 or text > "24:00":
        raise ValueError("must be a time of day between 00:00 and 24:00")
    if int(minute) % 15:
        raise ValueError("must be a full, half or quarter hour: no run has finer steps")
    return text


ClockTime = Annotated[str, AfterValidator(_time_of_day)]


class Window(Frozen):
    """When: all that is left out means "always".

    Attributes
    ----------
    months : tuple of int, optional
        Calendar months, 1 to 12.
    days : tuple of str, optional
        Day kinds (``weekday`` is Monday to Friday without holidays, ``weekend`` is Saturday and
        Sunday without holidays, ``holiday``) or names of weekdays (``mon`` ... ``sun``, holidays
        included, as an inverter's own clock knows no holidays).
    start, end : str, optional
        Wall-clock HH:MM, written ``from`` and ``to``; the start is in the window, the end is not.
    """

    months: Annotated[tuple[Month, ...], AfterValidator(no_repeats)] | None = None
    days: Annotated[tuple[Day, ...], AfterValidator(no_repeats)] | None = None
    start: ClockTime | None = Field(default=None, alias="from")
    end: ClockTime | None = Field(default=None, alias="to")

    @model_validator(mode="after")
    def _both_ends(self) -> Self:
        if (self.start is None) != (self.end is None):
            missing = "from" if self.start is None else "to"
            raise ValueError(f"has only one end: '{missing}' is missing")
        if self.start is not None and self.start == self.end:
            raise ValueError(f"the window from {self.start} to {self.end} is empty; leave both out for the whole day")
        return self

    def words(self) -> str:
        """Say the window in a few words for a table or a message."""
        parts = []
        if self.months is not None:
            parts.append("months " + ",".join(str(month) for month in self.months))
        if self.days is not None:
            parts.append(",".join(self.days))
        if self.start is not None:
            parts.append(f"{self.start}-{self.end}")
        return " ".join(parts) or "always"


def off_step(table: object, step_minutes: int, where: tuple[int | str, ...] = ()) -> Iterator[tuple[Place, str]]:
    """Find the ends of windows that fall within a step.

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
    if isinstance(table, BaseModel):
        for name, inner in table:
            yield from off_step(inner, step_minutes, (*where, name))
    elif isinstance(table, tuple):
        for number, inner in enumerate(table):
            yield from off_step(inner, step_minutes, (*where, number))


def _minute(clock: str) -> int:
    return int(clock[:2]) * 60 + int(clock[3:])


def steps_in_window(window: Window, timeline: Timeline) -> NDArray[np.bool_]:
    """Mark the steps that lie in a window.

    Parameters
    ----------
    window : Window
        Months, days and hours, wall clock.
    timeline : Timeline
        The year.

    Returns
    -------
    array of bool
        One entry for each step.
    """
    inside = np.ones(len(timeline), np.bool_)
    if window.months is not None:
        inside &= np.isin(timeline.month, window.months)
    if window.days is not None:
        kinds = [DAY_KINDS.index(day) for day in window.days if day in DAY_KINDS]
        names = [DAY_NAMES.index(day) for day in window.days if day in DAY_NAMES]
        inside &= np.isin(timeline.day_kind, kinds) | np.isin(timeline.weekday, names)
    if window.start is not None and window.end is not None:
        start, end = _minute(window.start), _minute(window.end)
        after, before = timeline.minute_of_day >= start, timeline.minute_of_day < end
        inside &= (after & before) if start < end else (after | before)
    return inside


def steps_in_any(windows: Sequence[Window], timeline: Timeline, key: str) -> NDArray[np.bool_]:
    """Mark the steps that lie in at least one window; without any window, all of them.

    Parameters
    ----------
    windows : sequence of Window
        When.
    timeline : Timeline
        The year.
    key : str
        What the windows are called, for the message.

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
            problems.append(f"{key}: window {number} ({window.words()}) holds in no hour of {timeline.year}")
    if problems:
        raise ScenarioError(*problems)
    return inside


def governing(windows: Sequence[Window], timeline: Timeline, key: str) -> NDArray[np.int64]:
    """Tell which window governs each step: the first that holds.

    Parameters
    ----------
    windows : sequence of Window
        When.
    timeline : Timeline
        The year.
    key : str
        What the windows are called, for the message.

    Returns
    -------
    array of int
        Index into ``windows`` for each step; ``len(windows)`` where none holds.

    Raises
    ------
    ScenarioError
        A window never governs: the year has no such hour (no holidays, say), or earlier windows hold in all of
        them; one line for each.
    """
    first = np.full(len(timeline), len(windows), np.int64)
    for number, window in reversed(list(enumerate(windows))):
        first[steps_in_window(window, timeline)] = number
    problems = []
    for number, window in enumerate(windows):
        if not (first == number).any():
            no_such = not steps_in_window(window, timeline).any()
            why = f"{timeline.year} has no such hour" if no_such else "earlier windows cover all of its hours"
            problems.append(f"{key}: window {number + 1} ({window.words()}) never holds: {why}")
    if problems:
        raise ScenarioError(*problems)
    return first
