"""Real hours from a meter's readings: intervals by the file's clock in, whole hours in UTC out.

Hours are hours of the zone's standard time, as the steps of the timeline are: where the standard
offset is not a whole hour (Kolkata, UTC+5:30), they begin at the half hour of UTC.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError
from solarsim.load.meter.readings import Readings

_HOUR_S = 3600
_SECOND = np.timedelta64(1, "s")


class Hole(NamedTuple):
    """Hours in a row without a usable reading: when they begin by the wall clock, how many [h]."""

    start: str
    hours: int


@dataclass(frozen=True, eq=False)
class MeterHours:
    """Energy through one meter, hour by hour, without a break from the first hour to the last.

    Every array has one entry for each hour.

    Attributes
    ----------
    zone : str
        IANA time zone whose wall clock and standard time were used.
    start_utc : array of datetime64[s]
        Start of each hour, UTC.
    import_kwh, export_kwh : arrays of float
        Delivered to the home and received from it [kWh]; NaN in holes.
    estimated_share : array of float
        Share of the hour's time that the utility says it estimated (0-1); 0 in holes.
    holes : tuple of Hole
        Hours that lack all or a part of their readings.
    import_share : array of float, optional
        Of each hour (rows) the share of its import in each half or quarter of it (columns), where that was asked
        for and every reading used is at least so fine; None otherwise.
    dropped_import_kwh, dropped_export_kwh : float
        Energy of all readings that stand in no hour [kWh]: the known part of incomplete hours,
        readings whose hour cannot be told, and rows that repeat another.
    notes : tuple of str
        What was found, repaired or is doubtful, the reader's own notes first.
    """

    zone: str
    start_utc: NDArray[np.datetime64]
    import_kwh: NDArray[np.float64]
    export_kwh: NDArray[np.float64]
    estimated_share: NDArray[np.float64]
    holes: tuple[Hole, ...]
    dropped_import_kwh: float
    dropped_export_kwh: float
    notes: tuple[str, ...] = ()
    import_share: NDArray[np.float64] | None = None


def hours_from(readings: Readings, zone: str, parts: int = 1) -> MeterHours:
    """Add a meter's readings up to whole hours.

    Parameters
    ----------
    readings : Readings
        Intervals of 1 hour or of whole parts of it, also mixed, in the order of time.
    zone : str
        IANA time zone of the meter.
    parts : int
        Of an hour, for ``import_share``: 2 or 4; 1 asks for none.

    Returns
    -------
    MeterHours
        The energy in its hours and the energy dropped are together that of the readings.

    Raises
    ------
    LoadError
        There is no reading, or no complete hour; an interval is longer than an hour, does not
        divide it, or reaches over its end; a value is negative or infinite; readings run
        backwards, overlap, or stand at the same time with different values; the wall clock never
        shows the time of a reading, or shows it less often than it stands there.

    Notes
    -----
    A wall-clock reading in the doubled hour of autumn belongs to the first pass when it stands
    there first, to the second when it stands there again. One that stands there once may be the
    sum of both, or the other may be missing: it is used for neither. A reading in the missing
    hour of spring is refused unless it is zero; some files keep an empty row there.

    Two habits of labelling ends by the wall clock differ beside a clock change only: 15 minutes
    that end as clocks go from 02:00 to 03:00 are labelled 03:00, what the clock shows then, or
    02:00, the start and 15 minutes. The one that the zone's clock contradicts less is taken.
    """
    _refuse_what_no_meter_reads(readings)
    utc, placed, notes = _placed(readings, zone)
    known = placed & ~np.isnan(readings.import_kwh + readings.export_kwh)
    empty = int((placed & ~known).sum())
    if empty:
        notes.append(f"Readings without a value: {empty}.")
    repeated = _repeated(readings, utc, known)
    if repeated.any():
        notes.append(f"Rows that repeat another with the same time and value: {int(repeated.sum())}; each counts once.")

    offset_s = _standard_offset_s(readings.start, zone)
    local_s = utc.astype(np.int64) + offset_s
    across = np.flatnonzero(placed & (local_s % readings.duration_s != 0))
    if across.size:
        raise LoadError(
            f"the reading of {_words(readings, across[0])} lasts {readings.duration_s[across[0]] / 60:g} min and does"
            f" not stand on whole parts of an hour of standard time in {zone}; give shorter intervals, which do"
        )
    if not placed.any():
        raise LoadError("no reading has a place in time: each stands once where the clock shows its time twice")
    hour = local_s // _HOUR_S
    first, last = int(hour[placed].min()), int(hour[placed].max())
    count, place = last - first + 1, hour - first

    used = known & ~repeated
    covered_s = np.bincount(place[used], readings.duration_s[used], minlength=count)
    complete = covered_s == _HOUR_S
    if not complete.any():
        raise LoadError(f"none of the {count} hours from {_words(readings, 0)} on is complete; give all readings")
    partial = int(((covered_s > 0) & ~complete).sum())
    if partial:
        notes.append(f"Hours that lack a part of their readings: {partial}; the part that is there is not used.")
    used[used] = complete[place[used]]

    def summed(weights: NDArray[np.float64]) -> NDArray[np.float64]:
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
    readings: Readings,
    used: NDArray[np.bool_],
    local_s: NDArray[np.int64],
    place: NDArray[np.int64],
    shape: tuple[int, int],
) -> NDArray[np.float64] | None:
    """Share out each hour's import among its parts; None where a reading is longer than a part."""
    count, parts = shape
    if parts == 1 or (readings.duration_s[used] > _HOUR_S // parts).any():
        return None
    part = place[used] * parts + local_s[used] % _HOUR_S * parts // _HOUR_S
    kwh = np.bincount(part, readings.import_kwh[used], minlength=count * parts).reshape(shape)
    whole = kwh.sum(axis=1, keepdims=True)
    return np.asarray(np.divide(kwh, whole, out=np.full(shape, 1.0 / parts), where=whole > 0), np.float64)


def wall_clock(utc: NDArray[np.datetime64], zone: str) -> NDArray[np.datetime64]:
    """Tell what a clock on the wall shows.

    Parameters
    ----------
    utc : array of datetime64[s]
        Instants.
    zone : str
        IANA time zone.

    Returns
    -------
    array of datetime64[s]
        Date and time of the same instants, daylight saving included.
    """
    import pandas as pd

    wall = pd.DatetimeIndex(utc, tz="UTC").tz_convert(zone).tz_localize(None).to_numpy()
    return wall.astype("datetime64[s]")


def holes_from(missing: NDArray[np.bool_], start_utc: NDArray[np.datetime64], zone: str) -> tuple[Hole, ...]:
    """Gather missing hours that follow each other.

    Parameters
    ----------
    missing : array of bool
        One entry for each hour.
    start_utc : array of datetime64[s]
        Start of each hour, UTC.
    zone : str
        IANA time zone by whose wall clock they are named.

    Returns
    -------
    tuple of Hole
        In the order of time.
    """
    edge = np.diff(missing.astype(np.int8), prepend=0, append=0)
    begin, end = np.flatnonzero(edge > 0), np.flatnonzero(edge < 0)
    words = hour_words(start_utc[begin], zone)
    return tuple(Hole(start, int(hours)) for start, hours in zip(words, end - begin, strict=True))


def hour_words(utc: NDArray[np.datetime64], zone: str) -> list[str]:
    """Name instants by the wall clock, such as ``2025-11-02 01:00 EST``."""
    import pandas as pd

    return list(pd.DatetimeIndex(utc, tz="UTC").tz_convert(zone).strftime("%Y-%m-%d %H:%M %Z"))


def _refuse_what_no_meter_reads(readings: Readings) -> None:
    if not readings.start.size:
        raise LoadError("the meter file holds no reading")
    minutes = readings.duration_s / 60
    longer = np.flatnonzero(readings.duration_s > _HOUR_S)
    if longer.size:
        raise LoadError(
            f"the reading of {_words(readings, longer[0])} lasts {minutes[longer[0]]:g} min: readings of at most an"
            " hour are needed; where there are none, write monthly_kwh and a shape in place of the file"
        )
    uneven = np.flatnonzero((readings.duration_s <= 0) | (_HOUR_S % np.maximum(readings.duration_s, 1) != 0))
    if uneven.size:
        raise LoadError(
            f"the reading of {_words(readings, uneven[0])} lasts {minutes[uneven[0]]:g} min: must be a whole part of"
            " an hour, such as 15, 30 or 60 min"
        )
    for way, kwh in (("import", readings.import_kwh), ("export", readings.export_kwh)):
        wrong = np.flatnonzero((kwh < 0) | np.isinf(kwh))
        if wrong.size:
            raise LoadError(
                f"the reading of {_words(readings, wrong[0])} has an {way} of {kwh[wrong[0]]:g} kWh: must be 0 or more;"
                " energy sent to the grid belongs to the export"
            )


def _placed(readings: Readings, zone: str) -> tuple[NDArray[np.datetime64], NDArray[np.bool_], list[str]]:
    """Give each reading its start in UTC, whether that is certain, and what was found."""
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
        full = np.flatnonzero(skipped & (np.nan_to_num(readings.import_kwh + readings.export_kwh) > 0))
        if full.size:
            kwh = readings.import_kwh[full[0]] + readings.export_kwh[full[0]]
            raise LoadError(
                f"the reading of {_words(readings, full[0])} holds {kwh:g} kWh, but the wall clock of {zone} skips that"
                " time: the file keeps another clock, such as standard time all year; give its readings in UTC"
            )
        notes.append(f"Empty rows in the hour that the clock skips ({_days(start[skipped])}) are left out.")

    index = np.flatnonzero(doubled)
    _, begin, which, often = np.unique(shown[index], return_index=True, return_inverse=True, return_counts=True)
    many = np.flatnonzero(often > 2)
    if many.size:
        at = index[begin[many[0]]]
        raise LoadError(
            f"the reading of {_words(readings, at)} stands {often[many[0]]} times, the wall clock of {zone} shows that"
            " time twice; leave out what is repeated"
        )
    second = np.ones(index.size, np.bool_)
    second[begin] = False
    utc = np.where(skipped, shown, early)
    utc[index[second]] = late[index[second]]
    utc -= shown - start
    once = index[often[which] == 1]
    twice = index[often[which] == 2]
    if twice.size:
        notes.append(f"The doubled hour of {_days(start[twice])} stands twice and is read in the order of the file.")
    if once.size:
        notes.append(
            f"Readings of the doubled hour of {_days(start[once])} that stand once: {once.size}"
            f" ({np.nansum(readings.import_kwh[once]):.3f} kWh). Whether that is the sum of both passes or the other is"
            " missing cannot be told, so that both passes are holes."
        )
    placed = ~skipped
    placed[once] = False
    return utc, placed, notes


def _shown(readings: Readings, zone: str) -> NDArray[np.datetime64]:
    """Choose what of each reading the wall clock showed: its start, or the end by which the file labels it."""
    ends = readings.start + readings.duration_s * _SECOND
    if readings.ends_told and _contradictions(ends, readings, zone) < _contradictions(readings.start, readings, zone):
        return ends
    return readings.start.astype("datetime64[s]")


def _contradictions(shown: NDArray[np.datetime64], readings: Readings, zone: str) -> int:
    """Count readings at times that the clock skips, that stand twice where it shows them once, or once where twice."""
    early, late = _utc_from_wall(shown, zone, True), _utc_from_wall(shown, zone, False)
    skipped = np.isnat(early) & (np.nan_to_num(readings.import_kwh + readings.export_kwh) > 0)
    _, which, often = np.unique(shown, return_inverse=True, return_counts=True)
    once_more = (often[which] > 1) != (early != late)
    return int(np.count_nonzero(skipped | (~np.isnat(early) & once_more)))


def _utc_from_wall(wall: NDArray[np.datetime64], zone: str, early: bool) -> NDArray[np.datetime64]:
    """Take the first or the second pass where the clock shows a time twice; NaT where it shows it never."""
    import pandas as pd

    passes = np.full(wall.size, early)
    utc = pd.DatetimeIndex(wall).tz_localize(zone, ambiguous=passes, nonexistent="NaT").tz_convert("UTC")
    return utc.tz_localize(None).to_numpy().astype("datetime64[s]")


def _refuse_backwards(readings: Readings, doubled: NDArray[np.bool_]) -> None:
    """Let the clock jump back into a doubled hour only."""
    back = np.flatnonzero((np.diff(readings.start) < 0 * _SECOND) & ~doubled[1:])
    if back.size:
        raise LoadError(
            f"the reading of {_words(readings, back[0] + 1)} follows that of {_words(readings, back[0])}: readings must"
            " stand in the order of time"
        )


def _repeated(readings: Readings, utc: NDArray[np.datetime64], known: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Mark rows that say again what another says; refuse those that say something else of the same time."""
    order = np.flatnonzero(known)
    order = order[np.argsort(utc[order], kind="stable")]
    one, other = order[:-1], order[1:]
    columns = (utc, readings.duration_s, readings.import_kwh, readings.export_kwh)
    same = np.logical_and.reduce([column[one] == column[other] for column in columns])
    over = np.flatnonzero(~same & (utc[one] + readings.duration_s[one] * _SECOND > utc[other]))
    if over.size:
        first, second = one[over[0]], other[over[0]]
        raise LoadError(
            f"the reading of {_words(readings, second)} ({readings.import_kwh[second]:g} kWh in"
            f" {readings.duration_s[second] / 60:g} min) covers time that the one of {_words(readings, first)}"
            f" ({readings.import_kwh[first]:g} kWh in {readings.duration_s[first] / 60:g} min) covers too: keep one of"
            " them, and the readings of one meter only"
        )
    repeated = np.zeros(utc.size, np.bool_)
    repeated[other[same]] = True
    return repeated


def _standard_offset_s(start: NDArray[np.datetime64], zone: str) -> int:
    """Find the smallest offset from UTC [s] in the calendar years of the readings."""
    years = start.astype("datetime64[Y]").astype(np.int64)
    first = years.min().astype("datetime64[Y]").astype("datetime64[s]")
    noon = first + (np.arange(366 * (np.ptp(years) + 1)) * 24 + 12) * _HOUR_S * _SECOND
    return int((wall_clock(noon, zone) - noon).min().astype(np.int64))


def _words(readings: Readings, index: int | np.intp) -> str:
    text = str(readings.start[index].astype("datetime64[s]")).replace("T", " ").removesuffix(":00")
    return f"{text} UTC" if readings.clock == "utc" else text


def _days(start: NDArray[np.datetime64]) -> str:
    return ", ".join(str(day) for day in np.unique(start.astype("datetime64[D]")))
