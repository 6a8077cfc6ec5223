"""What a person should know of a meter's year: hours and sums in, report and warnings out."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from solarsim.load.meter.hours import Hole, hour_words

# All trade: where a careful reader begins to doubt.
_MUCH_KWH = 60_000.0
_LITTLE_KWH = 200.0
_MANY_ZEROS = 0.30
_MUCH_ESTIMATED = 0.10
_STUCK_H = 48
LEAST_KWH = -0.05  #: import - export + production of an hour may round to a little below 0, not to less than this
_MOST_SHIFTED_H = 3
_LEAST_IMPOSSIBLE = 3


@dataclass(frozen=True)
class MeterReport:
    """What was read from the meter, what was filled, and what the simulated year makes of it.

    Attributes
    ----------
    first_day, last_day : datetime.date
        The meter's year by the wall clock: whole days, both included.
    hours, hours_read : int
        Hours of these days, and those with a usable reading.
    estimated_share : float
        Share of the hours read that the utility says it estimated (0-1).
    holes : tuple of Hole
        Hours without a usable reading.
    impossible : tuple of Hole
        Hours in which import - export + production is below -0.05 kWh; not used.
    raised_kwh : float
        What raising the smaller negative hours to 0 added [kWh].
    read_kwh : float
        Load of the hours read, ``raised_kwh`` included [kWh].
    laid_kwh : float
        Load of the simulated year [kWh].
    filled_hours : float
        Hours of the simulated year that hold the median of like hours [h].
    filled_kwh : float
        Load of these [kWh]; part of ``laid_kwh``.
    base_load_kw : float
        5th percentile of the hours read [kW].
    peak_kw : float
        Highest hour read [kW].
    peak_hour : str
        When it was, by the wall clock.
    warnings : tuple of str
        What makes the readings doubtful.
    notes : tuple of str
        What was found, repaired and assumed.
    """

    first_day: date
    last_day: date
    hours: int
    hours_read: int
    estimated_share: float
    holes: tuple[Hole, ...]
    impossible: tuple[Hole, ...]
    raised_kwh: float
    read_kwh: float
    laid_kwh: float
    filled_hours: float
    filled_kwh: float
    base_load_kw: float
    peak_kw: float
    peak_hour: str
    warnings: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def calendar_kwh(self) -> float:
        """What days that the simulated calendar uses twice or not at all add [kWh]."""
        return self.laid_kwh - self.filled_kwh - self.read_kwh


def meter_warnings(
    load_kwh: NDArray[np.float64],
    start_utc: NDArray[np.datetime64],
    zone: str,
    year_kwh: float,
    estimated_share: float,
) -> tuple[str, ...]:
    """Say what makes a meter's year doubtful.

    Parameters
    ----------
    load_kwh : array of float
        Load of each hour [kWh]; NaN where it was not read.
    start_utc : array of datetime64[s]
        Start of each hour, UTC.
    zone : str
        IANA time zone by whose wall clock hours are named.
    year_kwh : float
        Load of the simulated year [kWh].
    estimated_share : float
        Share of the hours read that the utility estimated (0-1).

    Returns
    -------
    tuple of str
        A sentence for each doubt: more than 60,000 or less than 200 kWh a year, more than 30 %
        zeros, one value for 48 hours or more, more than 10 % estimated.
    """
    told = []
    if year_kwh > _MUCH_KWH:
        told.append(f"{year_kwh:,.0f} kWh a year is much for a home: check that the readings are kWh, not Wh.")
    if year_kwh < _LITTLE_KWH:
        told.append(f"{year_kwh:,.0f} kWh a year is little for a home: check that the readings are kWh, not MWh.")
    zeros = float((load_kwh == 0).sum() / (~np.isnan(load_kwh)).sum())
    if zeros > _MANY_ZEROS:
        told.append(
            f"{zeros:.0%} of the hours read are 0: homes always draw something; the meter may count in whole kWh, see"
            " only a part of the house, or have stood still."
        )
    edge = np.flatnonzero(np.diff(load_kwh, prepend=np.nan, append=np.nan) != 0)  # a hole breaks a run: NaN != 0
    length = np.diff(edge)
    longest = int(length.argmax())
    if length[longest] >= _STUCK_H:
        begin = edge[longest]
        told.append(
            f"{load_kwh[begin]:g} kWh stands unchanged for {length[longest]} hours from"
            f" {hour_words(start_utc[begin : begin + 1], zone)[0]} on: the meter may have stood still."
        )
    if estimated_share > _MUCH_ESTIMATED:
        told.append(f"{estimated_share:.0%} of the hours read are the utility's estimates, not readings.")
    return tuple(told)


def log_doubts(net_kwh: NDArray[np.float64], pv_available_kwh: NDArray[np.float64]) -> tuple[str, ...]:
    """Doubt the clock of a production log where it would fit the meter better some hours away.

    Whatever the home uses, no hour sends more than was made. Common practice, no source.

    Parameters
    ----------
    net_kwh : array of float
        Import - export of each hour of the meter's year; NaN where unknown [kWh].
    pv_available_kwh : array of float
        Production of the same hours as the log has it; NaN where unknown [kWh].

    Returns
    -------
    tuple of str
        One sentence, or none.
    """
    shifts = sorted(range(-_MOST_SHIFTED_H, _MOST_SHIFTED_H + 1), key=abs)
    impossible = [int((net_kwh + np.roll(pv_available_kwh, shift) < LEAST_KWH).sum()) for shift in shifts]
    best = int(np.argmin(impossible))
    if impossible[0] < _LEAST_IMPOSSIBLE or 2 * impossible[best] >= impossible[0]:
        return ()
    return (
        f"the log of production seems to keep another clock: in {impossible[0]} hours the meter sent more than was"
        f" made, with the log {abs(shifts[best])} h {'later' if shifts[best] > 0 else 'earlier'} in"
        f" {impossible[best]}; check its keys clock and labels",
    )
