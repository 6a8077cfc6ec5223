"""The year of one part of the house, and the store that lets it wait: needs in, what was delivered out.

A car's battery, a tank of hot water and a cistern have one thing in common: what is taken from them is missing until
power may be drawn and suffices to bring it back.
"""

from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.load._days import DAYS

_ROUNDING_KWH = 1e-9  # less than this is rounding


@dataclass(frozen=True, eq=False)
class PartLoad:
    """One part's year: electricity [kW], and its need in ``counted_as``: need = delivered + unmet [kWh].

    ``unmet_kwh`` is given up in each step for want of hours or power; ``backup_kwh`` is resistance heat in place of a
    heat pump's, within ``load_kw``.
    """

    load_kw: NDArray[np.float64]
    counted_as: Literal["electricity", "heat", "cooling"]
    need_kwh: float
    delivered_kwh: float
    unmet_kwh: NDArray[np.float64]
    backup_kwh: float = 0.0

    @property
    def unmet_year_kwh(self) -> float:
        """The year's sum of what was given up [kWh]."""
        return float(self.unmet_kwh.sum())

    def unmet_days(self, day: NDArray[np.int64]) -> int:
        """Return on how many days something was given up, by the day of each step."""
        return int((np.bincount(day, self.unmet_kwh, minlength=DAYS) > _ROUNDING_KWH).sum())


class Refill(NamedTuple):
    """What came back into a store, and what could not wait, in each step [kWh]."""

    delivered_kwh: NDArray[np.float64]
    unmet_kwh: NDArray[np.float64]


def refill(taken_kwh: NDArray[np.float64], most_kwh: NDArray[np.float64], room_kwh: NDArray[np.float64]) -> Refill:
    """Compute how a store is refilled as soon as its windows allow: ``taken = delivered + unmet`` over the year.

    In each step, what is taken is missing; then as much of it as ``most_kwh`` is brought back; then what is missing
    beyond ``room_kwh`` is given up. The year is a circle: it begins with what is missing at its end.

    A year turns what is missing at its start, m, into min(max(m + D, low), high) at its end, where D is all that is
    taken less all that may be brought back: each step is of that form, and so is any chain of them. The circle
    therefore closes with the end of a year that starts with nothing missing if D <= 0, else with that of a year that
    starts with everything missing.
    """
    short = float(taken_kwh.sum() - most_kwh.sum())
    start_kwh = _pass(0.0 if short <= 0 else float(room_kwh[-1]), taken_kwh, most_kwh, room_kwh)[0]
    _, delivered, unmet = _pass(start_kwh, taken_kwh, most_kwh, room_kwh)
    return Refill(np.array(delivered), np.array(unmet))


def _pass(
    missing: float, taken_kwh: NDArray[np.float64], most_kwh: NDArray[np.float64], room_kwh: NDArray[np.float64]
) -> tuple[float, list[float], list[float]]:
    delivered, unmet = [], []
    for taken, most, room in zip(taken_kwh.tolist(), most_kwh.tolist(), room_kwh.tolist(), strict=True):
        missing += taken
        back = most if missing > most else missing
        missing -= back
        over = missing - room if missing > room else 0.0
        missing -= over
        delivered.append(back)
        unmet.append(over)
    return missing, delivered, unmet
