"""What makes a meter's readings doubtful: hours in, sentences for a person out."""

import numpy as np
from numpy.typing import NDArray

from solarsim.load.meter._hours import hour_words

# All trade: where a careful reader begins to doubt.
_HIGH_KWH = 60_000.0
_LOW_KWH = 200.0
_MANY_ZEROS = 0.30
_MANY_ESTIMATED = 0.10
_STUCK_H = 48
LEAST_KWH = -0.05  #: import - export + production of an hour may round to a little below 0, not to less than this
_MOST_SHIFTED_H = 3
_LEAST_IMPOSSIBLE = 3


def meter_warnings(
    load_kwh: NDArray[np.float64], start_utc: NDArray[np.datetime64], zone: str, year_kwh: float, estimated: float
) -> tuple[str, ...]:
    """Return a sentence for each doubt about a meter's year: its total, zeros, a value that repeats, estimates."""
    found = []
    if year_kwh > _HIGH_KWH:
        found.append(f"{year_kwh:,.0f} kWh a year is high for a home: check that the readings are kWh, not Wh.")
    if year_kwh < _LOW_KWH:
        found.append(f"{year_kwh:,.0f} kWh a year is low for a home: check that the readings are kWh, not MWh.")
    zeros = float((load_kwh == 0).sum() / (~np.isnan(load_kwh)).sum())
    if zeros > _MANY_ZEROS:
        found.append(
            f"{zeros:.0%} of the hours read are 0, but a home always draws something: the meter may count whole kWh,"
            " measure only a part of the house, or have stopped."
        )
    edge = np.flatnonzero(np.diff(load_kwh, prepend=np.nan, append=np.nan) != 0)  # a hole breaks a run: NaN != 0
    length = np.diff(edge)
    longest = int(length.argmax())
    if length[longest] >= _STUCK_H:
        begin = edge[longest]
        found.append(
            f"The load is {load_kwh[begin]:g} kWh in each of {length[longest]} hours in a row from"
            f" {hour_words(start_utc[begin : begin + 1], zone)[0]}: the meter may have stopped."
        )
    if estimated > _MANY_ESTIMATED:
        found.append(f"{estimated:.0%} of the hours read are estimates of the utility, not readings.")
    return tuple(found)


def log_warnings(net_kwh: NDArray[np.float64], made_kwh: NDArray[np.float64]) -> tuple[str, ...]:
    """Return a warning where a production log fits the meter's import - export better some hours away.

    Whatever the home uses, no hour exports more than was produced. Common practice, no source.
    """
    shifts = sorted(range(-_MOST_SHIFTED_H, _MOST_SHIFTED_H + 1), key=abs)
    impossible = [int((net_kwh + np.roll(made_kwh, shift) < LEAST_KWH).sum()) for shift in shifts]
    best = int(np.argmin(impossible))
    if impossible[0] < _LEAST_IMPOSSIBLE or 2 * impossible[best] >= impossible[0]:
        return ()
    return (
        f"The production log may use another clock: in {impossible[0]} hours more was exported than produced, but in"
        f" only {impossible[best]} with the log {abs(shifts[best])} h {'later' if shifts[best] > 0 else 'earlier'}."
        " Check its keys clock and labels.",
    )
