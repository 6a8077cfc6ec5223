"""Why backup ends: an outage from each step of the year in; each reason, how often and when, out."""

from dataclasses import dataclass

import numpy as np

from solarsim.clock.timeline import Timeline
from solarsim.results import Result, fact
from solarsim.studies.outages._island import Backup
from solarsim.studies.outages._shortfalls import reasons


@dataclass(frozen=True, eq=False, repr=False)
class BackupEnd(Result):
    """One reason why backed-up demand is unserved for the first time in an outage."""

    why: tuple[str, ...] = fact(
        "what ran out or was too small: of battery or inverter, then of the generator where there is one", "list"
    )
    share: float = fact("share of all starts whose backup ends for this reason within 72 h", "1")
    hour: int = fact("hour of the day, by the wall clock, in which that happens most often, 0 to 23", "h")
    month: int = fact("month in which that happens most often, 1 to 12", "1")


def backup_ends(backup: Backup, timeline: Timeline) -> tuple[BackupEnd, ...]:
    """Return the reasons why backup ends, the most frequent first; empty where it never does."""
    found = []
    size = len(timeline)
    ends = (np.arange(size) + (backup.duration_h / timeline.step_h).astype(np.int64)) % size
    hour = timeline.minute_of_day // 60
    for why, count in zip(*np.unique(backup.why, return_counts=True), strict=True):
        if why:
            at = ends[backup.why == why]
            found.append(
                BackupEnd(
                    why=reasons(int(why)),
                    share=float(count) / size,
                    hour=int(np.bincount(hour[at]).argmax()),
                    month=int(np.bincount(timeline.month[at]).argmax()),
                )
            )
    return tuple(sorted(found, key=lambda each: -each.share))
