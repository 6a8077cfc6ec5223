"""A mean day of each season, before and after: seasons and two runs of one home in; their hours by season out."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.dispatch.slots import SeasonTable, steps_on
from solarsim.ledger.flows import Flows

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


def mean_days(seasons: Iterable[SeasonTable], before: Flows, after: Flows) -> Iterator[MeanDay]:
    """Yield a mean day of each of some seasons."""
    for season in seasons:
        steps = np.flatnonzero(steps_on(season.dates, after.timeline))
        yield MeanDay(season.words, _mean(before, steps), _mean(after, steps))


def _mean(flows: Flows, steps: NDArray[np.int64]) -> dict[str, NDArray[np.float64]]:
    timeline = flows.timeline
    slots = round(24 / timeline.step_h)
    slot = timeline.minute_of_day[steps] * slots // 1440
    count = np.maximum(1, np.bincount(slot, minlength=slots))
    return {name: np.bincount(slot, flows[name][steps], slots) / count for name in COLUMNS}
