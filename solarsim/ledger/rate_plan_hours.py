"""When a rate plan's parts hold: its windows and a timeline in, the rate, bill and charges of every step out.

Nothing here knows a price: the same hours serve a plan whose prices have grown.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import Timeline, with_holidays
from solarsim.clock.windows import Window, steps_in_season, steps_in_window
from solarsim.errors import ScenarioError, ordinal
from solarsim.scenario.rate_plan.rate_plan import RatePlan


@dataclass(frozen=True, eq=False)
class RatePlanHours:
    """A rate plan's windows on a timeline.

    A bill is named by the month in which the meter is read, and numbered from 0: with
    ``reading_day`` 15 the bill of January (0) takes in 16 to 31 December, of the same calendar year
    since the year is a circle, and 1 to 15 January.

    Attributes
    ----------
    timeline : Timeline
        The year, with the rate plan's own holidays.
    bill : array of int
        Which bill each step belongs to, 0 to 11.
    rate : array of int
        Index into the rate plan's rates, one entry for each step.
    rate_slot : array of int
        Bill x number of rates + rate, one entry for each step.
    bill_days : array of float
        Days of each of the twelve bills.
    rate_days : array of float
        Twelve bills x rates: on how many days of a bill the season of a rate holds. The season of
        a rate is that of its windows (months or dates; the year where one names none); of a rate
        without windows, the days on which it holds at all.
    allowance_days : array of float
        Twelve bills x allowances: on how many days of a bill an allowance is given.
    riders : tuple of (array of bool or None)
        In which steps each rider holds; None for all.
    demand : tuple of tuple of array of int
        For each demand charge and bill the steps that count.
    export_window : array of int
        Index into the windows of export prices, their number where none holds.
    """

    timeline: Timeline
    bill: NDArray[np.int64]
    rate: NDArray[np.int64]
    rate_slot: NDArray[np.int64]
    bill_days: NDArray[np.float64]
    rate_days: NDArray[np.float64]
    allowance_days: NDArray[np.float64]
    riders: tuple[NDArray[np.bool_] | None, ...]
    demand: tuple[tuple[NDArray[np.int64], ...], ...]
    export_window: NDArray[np.int64]


def hours_from(rate_plan: RatePlan, timeline: Timeline) -> RatePlanHours:
    """Return when a rate plan's windows hold on the timeline.

    Parameters
    ----------
    rate_plan : RatePlan
        Rates, charges and export pay with their windows.
    timeline : Timeline
        The year.

    Returns
    -------
    RatePlanHours
        Computed once for a rate plan and a timeline.

    Raises
    ------
    ScenarioError
        Two rates or two export prices hold in one hour, or no rate does; or the rate plan's holidays
        are not known.
    """
    if rate_plan.holidays is not None:
        try:
            timeline = with_holidays(timeline, rate_plan.holidays)
        except ValueError as error:
            raise ScenarioError(f"rate plan {rate_plan.name!r}: {error}") from None
    rate = _rates(rate_plan, timeline)
    day = timeline.wall.astype("datetime64[D]")
    bill = timeline.month - 1
    if rate_plan.reading_day is not None:
        bill = (bill + (timeline.day_of_month > rate_plan.reading_day)) % 12

    _, first = np.unique(day, return_index=True)
    count = len(rate_plan.rates)

    def days_of_bills(chosen: NDArray[np.bool_]) -> NDArray[np.float64]:
        return np.bincount(bill[first][chosen], minlength=12).astype(np.float64)

    def in_season(number: int) -> NDArray[np.bool_]:
        windows = rate_plan.rates[number].windows
        if not windows:
            return np.isin(day[first], np.unique(day[rate == number]))
        return np.asarray(np.any([steps_in_season(window, timeline)[first] for window in windows], axis=0), np.bool_)

    def steps(windows: tuple[Window, ...]) -> NDArray[np.bool_]:
        if not windows:
            return np.ones(len(timeline), np.bool_)
        return np.asarray(np.any([steps_in_window(window, timeline) for window in windows], axis=0), np.bool_)

    demand_steps = [steps(charge.windows) for charge in rate_plan.demand]
    return RatePlanHours(
        timeline=timeline,
        bill=bill,
        rate=rate,
        rate_slot=bill * count + rate,
        bill_days=days_of_bills(np.ones(first.size, np.bool_)),
        rate_days=np.column_stack([days_of_bills(in_season(number)) for number in range(count)]),
        allowance_days=np.array(
            [days_of_bills(steps_in_season(each, timeline)[first]) for each in rate_plan.allowances]
        ).T.reshape(12, len(rate_plan.allowances)),
        riders=tuple(steps(rider.windows) if rider.windows else None for rider in rate_plan.riders),
        demand=tuple(
            tuple(np.flatnonzero(inside & (bill == number)) for number in range(12)) for inside in demand_steps
        ),
        export_window=_export_windows(rate_plan, timeline),
    )


def _rates(rate_plan: RatePlan, timeline: Timeline) -> NDArray[np.int64]:
    rate = np.full(len(timeline), -1)
    for number, each in enumerate(rate_plan.rates):
        for window in each.windows:
            inside = steps_in_window(window, timeline)
            both = np.flatnonzero(inside & (rate >= 0) & (rate != number))
            if both.size:
                raise ScenarioError(
                    f"rate plan {rate_plan.name!r}: rates {rate_plan.rates[rate[both[0]]].name!r} and {each.name!r}"
                    " overlap"
                    f" in {both.size * timeline.step_h:g} hours, first at {_when(timeline, int(both[0]))}"
                )
            rate[inside] = number
    others = [number for number, each in enumerate(rate_plan.rates) if not each.windows]
    bare = np.flatnonzero(rate < 0)
    if bare.size and not others:
        raise ScenarioError(
            f"rate plan {rate_plan.name!r}: no rate applies in {bare.size * timeline.step_h:g} hours, first at"
            f" {_when(timeline, int(bare[0]))};"
            " a rate without windows applies in all other hours"
        )
    if bare.size:
        rate[bare] = others[0]
    return rate


def _export_windows(rate_plan: RatePlan, timeline: Timeline) -> NDArray[np.int64]:
    windows = rate_plan.export.windows or ()
    found = np.full(len(timeline), len(windows))
    for number, window in enumerate(windows):
        inside = steps_in_window(window, timeline)
        both = np.flatnonzero(inside & (found < len(windows)))
        if both.size:
            raise ScenarioError(
                f"rate plan {rate_plan.name!r}: the {ordinal(int(found[both[0]]) + 1)} and the"
                f" {ordinal(number + 1)} export window ({window.words()})"
                f" overlap in {both.size * timeline.step_h:g} hours, first at {_when(timeline, int(both[0]))}"
            )
        found[inside] = number
    return found


def _when(timeline: Timeline, place: int) -> str:
    return str(timeline.wall[place].astype("datetime64[m]")).replace("T", " ")
