"""A mean day of each season, before and after: two runs of one home in; their hours by season out."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.dispatch.slots import season_groups, seasons_of, steps_on
from solarsim.ledger.flows import Flows
from solarsim.run import Run
from solarsim.scenario.strategy import Strategy

_MOST_SEASONS = 4
_FEWEST_DAYS = 7
COLUMNS = ("soc", "import_kw", "export_kw", "import_price")


@dataclass(frozen=True, eq=False)
class MeanDay:
    """The mean of the days of a season.

    Attributes
    ----------
    season : str
        Which.
    before, after : dict of str to array of float
        Each of ``COLUMNS`` by slot of the day on the wall clock.
    """

    season: str
    before: dict[str, NDArray[np.float64]]
    after: dict[str, NDArray[np.float64]]


def mean_days(strategy: Strategy, before: Run, after: Run) -> Iterator[MeanDay]:
    """Yield a mean day of each season of the strategy and of the rates, the longest at most."""
    timeline, rate_plan = after.flows.timeline, after.ledger.prices.rate_plan
    windows = (*strategy.windows, *(window for rate in rate_plan.rates for window in rate.windows))
    groups = [dates for _, dates in season_groups(windows, timeline)] if windows else [np.ones(365, np.bool_)]
    longest = sorted((each for each in groups if each.sum() >= _FEWEST_DAYS), key=lambda each: -int(each.sum()))
    for dates in sorted(longest[:_MOST_SEASONS], key=lambda each: int(np.argmax(each))):
        steps = np.flatnonzero(steps_on(dates, timeline))
        words = ", ".join(each.season() for each in seasons_of(dates)) or "All year"
        yield MeanDay(words, _mean(before.flows, steps), _mean(after.flows, steps))


def _mean(flows: Flows, steps: NDArray[np.int64]) -> dict[str, NDArray[np.float64]]:
    timeline = flows.timeline
    slots = round(24 / timeline.step_h)
    slot = timeline.minute_of_day[steps] * slots // 1440
    count = np.maximum(1, np.bincount(slot, minlength=slots))
    return {name: np.bincount(slot, flows[name][steps], slots) / count for name in COLUMNS}
