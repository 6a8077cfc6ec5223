"""A week for each season of a rate plan: prices on the timeline in, weeks with every window of a season out."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import DAY_KINDS, Timeline, weeks_of
from solarsim.dispatch.slots import season_groups, seasons_of, steps_on
from solarsim.ledger.prices import Prices
from solarsim.results import Result, fact

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
_HOLIDAY = DAY_KINDS.index("holiday")
_HOUR = np.timedelta64(3600, "s")


@dataclass(frozen=True, eq=False, repr=False)
class PlanWeek(Result):
    """A week from a Monday on, by the wall clock, under a rate plan."""

    hour: Floats  # start of each step, hours after the Monday's midnight
    import_price: Floats  # of each step
    export_price: Floats
    rates: tuple[tuple[str, float], ...]  # that hold in it, with their listed price, in the rate plan's order
    step_h: float
    season: str = fact("the part of the year that it stands for", "text")
    first_day: str = fact("its Monday", "date")
    holidays: tuple[int, ...] = fact("its days that are holidays of the rate plan, 0 for the Monday", "list")


def weeks_of_plan(prices: Prices) -> tuple[PlanWeek, ...]:
    """Return a week for each season of a rate plan, one with a holiday on a weekday where there is one."""
    timeline = prices.hours.timeline
    return tuple(_week(prices, timeline, dates) for dates in sorted(_seasons(prices, timeline), key=np.argmax))


def _seasons(prices: Prices, timeline: Timeline) -> Iterator[Bools]:
    """Yield the parts of the year that share windows of rates and exports, and monthly prices of exports."""
    plan = prices.rate_plan
    windows = [window for rate in plan.rates for window in rate.windows]
    for _, dates in season_groups((*windows, *(plan.export.windows or ())), timeline):
        for alike in _alike_months(prices):
            both = dates & alike
            if both.any():
                yield both


def _alike_months(prices: Prices) -> list[Bools]:
    """Return the days of months that have the same export prices by hour."""
    pay = prices.rate_plan.export
    if pay.prices is None:
        return [np.ones(365, np.bool_)]
    month = np.arange("2025-01-01", "2026-01-01", dtype="datetime64[D]").astype("datetime64[M]").astype(np.int64) % 12
    rows = list(zip(pay.prices, pay.weekend_prices or pay.prices, strict=True))
    return [np.array([rows[each] == row for each in month]) for row in dict.fromkeys(rows)]


def _week(prices: Prices, timeline: Timeline, dates: Bools) -> PlanWeek:
    """Return the week that shows the most of a season: whole, with a holiday on a weekday, near its middle."""
    inside = steps_on(dates, timeline)
    holiday = (timeline.day_kind == _HOLIDAY) & (timeline.weekday < 5)
    weeks = list(weeks_of(timeline))
    middle = np.median(np.flatnonzero([inside[steps].any() for _, steps in weeks]))

    def shown(place: int) -> tuple[float, bool, float]:
        steps = weeks[place][1]
        return float(inside[steps].mean()), bool((holiday & inside)[steps].any()), -abs(place - middle)

    monday, steps = weeks[max(range(len(weeks)), key=shown)]
    days = np.unique((timeline.wall[steps[timeline.day_kind[steps] == _HOLIDAY]] - monday) // (24 * _HOUR))
    return PlanWeek(
        hour=(timeline.wall[steps] - monday) / _HOUR,
        import_price=prices.import_price[steps],
        export_price=prices.export_price[steps],
        rates=tuple(
            (prices.rate_plan.rates[number].name, float(prices.import_price[steps][prices.rate[steps] == number][0]))
            for number in np.unique(prices.rate[steps])
        ),
        step_h=timeline.step_h,
        season=", ".join(each.season() for each in seasons_of(dates)) or "All year",
        first_day=str(monday),
        holidays=tuple(int(day) for day in days),
    )
