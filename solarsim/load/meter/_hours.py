"""Real hours from a meter's readings: intervals by the file's clock in, whole hours in UTC out.

Hours are those of the zone's standard time, as the steps of the timeline are: where the standard offset is not a whole
hour (Kolkata, UTC+5:30), they begin at the half hour of UTC.

A wall-clock reading in the doubled hour of fall belongs to the first pass where it is first in the file, to the second
where the same time appears again. One that appears once may be the sum of both, or the other may be missing: it is
used for neither. A reading in the skipped hour of spring is refused unless it is zero; some files keep an empty row.

Two habits of labeling ends by the wall clock differ beside a clock change only: 15 minutes that end as clocks go from
02:00 to 03:00 are labeled 03:00, what the clock shows then, or 02:00, the start and 15 minutes. The one that the zone's
clock contradicts less is taken.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import wall_clock
from solarsim.errors import LoadError
from solarsim.load.meter.readings import Readings
from solarsim.load.meter.report import Hole

_HOUR_S = 3600
_SECOND = np.timedelta64(1, "s")
_Floats = NDArray[np.float64]
_Mask = NDArray[np.bool_]
_Integers = NDArray[np.int64]
_Times = NDArray[np.datetime64]


@dataclass(frozen=True, eq=False)
class MeterHours:
    """Energy through one meter, hour by hour, without a break from the first hour to the last.

    ``start_utc`` is the start of each hour; import and export [kWh] are NaN in holes. ``estimated_share`` is the share
    of each hour that the utility estimated. ``import_share`` is the share of each hour's import (rows) in each half or
    quarter of it (columns), where that was asked for and every reading is fine enough. The dropped energy [kWh] is in
    no hour: incomplete hours, readings whose hour is unclear, repeated rows.
    """

    zone: str
    start_utc: _Times
    import_kwh: _Floats
    export_kwh: _Floats
    estimated_share: _Floats
    holes: tuple[Hole, ...]
    dropped_import_kwh: float
    dropped_export_kwh: float
    notes: tuple[str, ...] = ()
    import_share: _Floats | None = None


def hours_from(readings: Readings, zone: str, parts: int = 1) -> MeterHours:
    """Add readings up to whole hours; ``parts`` of an hour, 2 or 4, are for ``import_share``."""
    _check_readings(readings)
    utc, placed, notes = _placed(readings, zone)
    known = placed & ~np.isnan(readings.import_kwh + readings.export_kwh)
    empty = int((placed & ~known).sum())
    if empty:
        notes.append(f"Readings without a value: {empty}.")
    repeated = _repeated(readings, utc, known)
    if repeated.any():
        notes.append(f"Rows that repeat the time and value of another: {int(repeated.sum())}; each counts once.")

    offset_s = _standard_offset_s(readings.start, zone)
    local_s = utc.astype(np.int64) + offset_s
    across = np.flatnonzero(placed & (local_s % readings.duration_s != 0))
    if across.size:
        raise LoadError(
            f"the reading of {_words(readings, across[0])} is {readings.duration_s[across[0]] / 60:g} min long and does"
            f" not begin on a whole part of an hour of standard time in {zone}; use a file with shorter intervals"
        )
    if not placed.any():
        raise LoadError("no reading can be placed: each appears once where the clock shows its time twice")
    hour = local_s // _HOUR_S
    first, last = int(hour[placed].min()), int(hour[placed].max())
    count, place = last - first + 1, hour - first

    used = known & ~repeated
    covered_s = np.bincount(place[used], readings.duration_s[used], minlength=count)
    complete = covered_s == _HOUR_S
    if not complete.any():
        raise LoadError(
            f"none of the {count} hours from {_words(readings, 0)} on is complete; use a file with all readings"
        )
    partial = int(((covered_s > 0) & ~complete).sum())
    if partial:
        notes.append(f"Hours that lack some of their readings: {partial}; the others are not used.")
    used[used] = complete[place[used]]

    def summed(weights: _Floats) -> _Floats:
        return np.asarray(np.bincount(place[used], weights[used], minlength=count), np.float64)

    start_utc = ((first + np.arange(count)) * _HOUR_S - offset_s).astype("datetime64[s]")
    return MeterHours(
        zone=zone,
        start_utc=start_utc,
        import_kwh=np.where(complete, summed(readings.import_kwh), np.nan),
        export_kwh=np.where(complete, summed(readings.export_kwh), np.nan),
        estimated_share=summed(np.where(readings.estimated, readings.duration_s / _HOUR_S, 0.0)),
        holes=holes_from(~complete, start_utc, zone),
        dropped_import_kwh=float(np.nansum(readings.import_kwh[~used])),
        dropped_export_kwh=float(np.nansum(readings.export_kwh[~used])),
        notes=readings.notes + tuple(notes),
        import_share=_shares(readings, used, local_s, place, (count, parts)),
    )


def _shares(
    readings: Readings, used: _Mask, local_s: _Integers, place: _Integers, shape: tuple[int, int]
) -> _Floats | None:
    """Return the shares of each hour's import in its parts; None where a reading is longer than a part."""
    count, parts = shape
    if parts == 1 or (readings.duration_s[used] > _HOUR_S // parts).any():
        return None
    part = place[used] * parts + local_s[used] % _HOUR_S * parts // _HOUR_S
    kwh = np.bincount(part, readings.import_kwh[used], minlength=count * parts).reshape(shape)
    whole = kwh.sum(axis=1, keepdims=True)
    return np.asarray(np.divide(kwh, whole, out=np.full(shape, 1.0 / parts), where=whole > 0), np.float64)


def holes_from(missing: _Mask, start_utc: _Times, zone: str) -> tuple[Hole, ...]:
    """Return missing hours that follow each other as holes, in the order of time."""
    edge = np.diff(missing.astype(np.int8), prepend=0, append=0)
    begin, end = np.flatnonzero(edge > 0), np.flatnonzero(edge < 0)
    words = hour_words(start_utc[begin], zone)
    return tuple(Hole(start, int(hours)) for start, hours in zip(words, end - begin, strict=True))


def hour_words(utc: _Times, zone: str) -> list[str]:
    """Return instants by the wall clock, such as ``2025-11-02 01:00 EST``."""
    import pandas as pd

    return list(pd.DatetimeIndex(utc, tz="UTC").tz_convert(zone).strftime("%Y-%m-%d %H:%M %Z"))


def _check_readings(readings: Readings) -> None:
    """Refuse lengths and values that no meter reads."""
    if not readings.start.size:
        raise LoadError("the meter file has no readings")
    minutes = readings.duration_s / 60
    uneven = np.flatnonzero((readings.duration_s <= 0) | (_HOUR_S % np.maximum(readings.duration_s, 1) != 0))
    if uneven.size:
        raise LoadError(
            f"the reading of {_words(readings, uneven[0])} is {minutes[uneven[0]]:g} min long, must be an hour or a"
            " whole part of it; without such readings, write monthly_kwh and a shape in place of the file"
        )
    for way, kwh in (("import", readings.import_kwh), ("export", readings.export_kwh)):
        wrong = np.flatnonzero((kwh < 0) | np.isinf(kwh))
        if wrong.size:
            raise LoadError(
                f"the reading of {_words(readings, wrong[0])} has an {way} of {kwh[wrong[0]]:g} kWh, must be 0 or more;"
                " energy to the grid belongs to the export"
            )


def _placed(readings: Readings, zone: str) -> tuple[_Times, _Mask, list[str]]:
    """Return each reading's start in UTC, whether that is certain, and notes."""
    start, none = readings.start.astype("datetime64[s]"), np.zeros(readings.start.size, np.bool_)
    if readings.clock == "utc":
        _refuse_backwards(readings, none)
        return start, ~none, []
    shown = _shown(readings, zone)
    early, late = _utc_from_wall(shown, zone, True), _utc_from_wall(shown, zone, False)
    skipped = np.isnat(early)
    doubled = ~skipped & (early != late)
    _refuse_backwards(readings, doubled)
    notes = []
    if skipped.any():
        full = np.flatnonzero(skipped & _has_energy(readings))
        if full.size:
            kwh = readings.import_kwh[full[0]] + readings.export_kwh[full[0]]
            raise LoadError(
                f"the reading of {_words(readings, full[0])} is {kwh:g} kWh, but the wall clock of {zone} skips that"
                " time: the file uses another clock, such as standard time all year; convert its times to UTC"
            )
        notes.append(f"Empty rows in the hour that the clock skips ({_days(start[skipped])}) were skipped.")

    index = np.flatnonzero(doubled)
    _, begin, which, often = np.unique(shown[index], return_index=True, return_inverse=True, return_counts=True)
    many = np.flatnonzero(often > 2)
    if many.size:
        at = index[begin[many[0]]]
        raise LoadError(
            f"the reading of {_words(readings, at)} appears {often[many[0]]} times, but the wall clock of {zone} shows"
            " that time twice; remove the repeated rows"
        )
    second = np.ones(index.size, np.bool_)
    second[begin] = False
    utc = np.where(skipped, shown, early)
    utc[index[second]] = late[index[second]]
    utc -= shown - start
    once = index[often[which] == 1]
    twice = index[often[which] == 2]
    if twice.size:
        notes.append(f"The doubled hour of {_days(start[twice])} appears twice and is read in the order of the file.")
    if once.size:
        notes.append(
            f"Readings of the doubled hour of {_days(start[once])} that appear once: {once.size}"
            f" ({np.nansum(readings.import_kwh[once]):.3f} kWh). They may be the sum of both passes, or the other pass"
            " may be missing: both passes count as missing."
        )
    placed = ~skipped
    placed[once] = False
    return utc, placed, notes


def _shown(readings: Readings, zone: str) -> _Times:
    """Return what of each reading the wall clock showed: its start, or the end by which the file labels it."""
    ends = readings.start + readings.duration_s * _SECOND
    if readings.labeled_by_end and _contradictions(ends, readings, zone) < _contradictions(
        readings.start, readings, zone
    ):
        return ends
    return readings.start.astype("datetime64[s]")


def _contradictions(shown: _Times, readings: Readings, zone: str) -> int:
    """Count readings at times that the clock skips, that appear twice where it shows them once, or the reverse."""
    early, late = _utc_from_wall(shown, zone, True), _utc_from_wall(shown, zone, False)
    _, which, often = np.unique(shown, return_inverse=True, return_counts=True)
    once_more = (often[which] > 1) != (early != late)
    return int(np.count_nonzero(np.where(np.isnat(early), _has_energy(readings), once_more)))


def _has_energy(readings: Readings) -> _Mask:
    return np.asarray(np.nan_to_num(readings.import_kwh + readings.export_kwh) > 0)


def _utc_from_wall(wall: _Times, zone: str, early: bool) -> _Times:
    """Return the first or the second pass where the clock shows a time twice; NaT where it never shows it."""
    import pandas as pd

    passes = np.full(wall.size, early)
    utc = pd.DatetimeIndex(wall).tz_localize(zone, ambiguous=passes, nonexistent="NaT").tz_convert("UTC")
    return utc.tz_localize(None).to_numpy().astype("datetime64[s]")


def _refuse_backwards(readings: Readings, doubled: _Mask) -> None:
    """Refuse a clock that jumps back, except into a doubled hour."""
    back = np.flatnonzero((np.diff(readings.start) < 0 * _SECOND) & ~doubled[1:])
    if back.size:
        raise LoadError(
            f"the reading of {_words(readings, back[0] + 1)} follows that of {_words(readings, back[0])}: readings must"
            " be in the order of time"
        )


def _repeated(readings: Readings, utc: _Times, known: _Mask) -> _Mask:
    """Return which rows repeat another; refuse those that have another value for the same time."""
    order = np.flatnonzero(known)
    order = order[np.argsort(utc[order], kind="stable")]
    one, other = order[:-1], order[1:]
    columns = (utc, readings.duration_s, readings.import_kwh, readings.export_kwh)
    same = np.logical_and.reduce([column[one] == column[other] for column in columns])
    over = np.flatnonzero(~same & (utc[one] + readings.duration_s[one] * _SECOND > utc[other]))
    if over.size:
        first, second = (
            f"that of {_words(readings, row)} ({readings.import_kwh[row]:g} kWh in"
            f" {readings.duration_s[row] / 60:g} min)"
            for row in (one[over[0]], other[over[0]])
        )
        raise LoadError(f"two readings overlap, {first} and {second}: keep one of them, and one meter only")
    repeated = np.zeros(utc.size, np.bool_)
    repeated[other[same]] = True
    return repeated


def _standard_offset_s(start: _Times, zone: str) -> int:
    """Return the smallest offset from UTC [s] in the calendar years of the readings."""
    years = start.astype("datetime64[Y]").astype(np.int64)
    first = years.min().astype("datetime64[Y]").astype("datetime64[s]")
    noon = first + (np.arange(366 * (np.ptp(years) + 1)) * 24 + 12) * _HOUR_S * _SECOND
    return int((wall_clock(noon, zone) - noon).min().astype(np.int64))


def _words(readings: Readings, index: int | np.intp) -> str:
    text = str(readings.start[index].astype("datetime64[s]")).replace("T", " ").removesuffix(":00")
    return f"{text} UTC" if readings.clock == "utc" else text


def _days(start: _Times) -> str:
    return ", ".join(str(day) for day in np.unique(start.astype("datetime64[D]")))
