"""What a part of the house needs, gets, and does not get: the books, and the store that puts needs off.

A car's battery, a tank of hot water and a cistern have one thing in common: what is taken from
them is missing until power may be drawn and suffices to bring it back.
"""

from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.load.when import DAYS

_CRUMB_KWH = 1e-9  # less than this is rounding


@dataclass(frozen=True, eq=False)
class PartLoad:
    """One part's year.

    Attributes
    ----------
    load_kw : array of float
        Electricity, mean power of each step [kW].
    counted_as : str
        What the needs below are counted in: ``electricity``, or the ``heat`` or ``cooling`` of the house.
    need_kwh, delivered_kwh : float
        Wanted and given in the year [kWh]: need = delivered + unmet.
    unmet_kwh : array of float
        Given up in each step for want of hours or power [kWh].
    backup_kwh : float
        Resistance heat that stood in for a heat pump, within ``load_kw`` [kWh].
    """

    load_kw: NDArray[np.float64]
    counted_as: Literal["electricity", "heat", "cooling"]
    need_kwh: float
    delivered_kwh: float
    unmet_kwh: NDArray[np.float64]
    backup_kwh: float = 0.0

    @property
    def unmet_year_kwh(self) -> float:
        """Sum of what was given up [kWh]."""
        return float(self.unmet_kwh.sum())

    def unmet_days(self, day: NDArray[np.int64]) -> int:
        """Count the days on which something was given up, by the day number of each step."""
        return int((np.bincount(day, self.unmet_kwh, minlength=DAYS) > _CRUMB_KWH).sum())


class Refill(NamedTuple):
    """What came back into a store, and what it could not put off: arrays with one entry a step [kWh]."""

    delivered_kwh: NDArray[np.float64]
    unmet_kwh: NDArray[np.float64]


def refill(taken_kwh: NDArray[np.float64], most_kwh: NDArray[np.float64], room_kwh: NDArray[np.float64]) -> Refill:
    """Bring back what is taken from a store, as soon as it may be.

    In each step, what is taken is missing; then as much as ``most_kwh`` of what is missing is
    brought back; then what is missing beyond ``room_kwh`` is given up. The year is a circle: it
    begins with what is missing at its end.

    Parameters
    ----------
    taken_kwh : array of float
        Taken in each step, at least 0 [kWh].
    most_kwh : array of float
        Most that may be brought back in the step, 0 where nothing may [kWh].
    room_kwh : array of float
        Most that may stay missing at the end of the step [kWh].

    Returns
    -------
    Refill
        ``taken = delivered + unmet`` over the year.

    Notes
    -----
    A year turns what is missing at its start, m, into min(max(m + D, low), high) at its end, where D
    is all that is taken less all that may be brought back: each step is of that form, and so is any chain
    of them. The circle therefore closes with what a year leaves that starts with nothing missing if D <= 0,
    and else with what a year leaves that starts with everything missing.
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
