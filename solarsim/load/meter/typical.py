"""A meter's real year on the calendar of the simulated one: real hours in, load of each step out.

Weekdays stay weekdays: each simulated date takes the real date of the same weekday that is nearest
in the year, and each wall-clock hour takes the same wall-clock hour of that date. So no date moves
by more than a few days, in either hemisphere, and an evening stays an evening.
"""

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import DAY_KINDS, Timeline
from solarsim.errors import LoadError
from solarsim.load.meter.hours import MeterHours, holes_from, hour_words, wall_clock
from solarsim.load.meter.report import LEAST_KWH, MeterReport, log_doubts, meter_warnings

_LEAST_DAYS = 350
_MOST_MISSING = 0.10
MOST_KW = 200.0  #: more in an hour is no home: watts taken for kilowatts
_SUNDAY = 6
_SEASONS = ("December to February", "March to May", "June to August", "September to November")
_BILLS = "write monthly_kwh and a shape in place of the meter file"


@dataclass(frozen=True, eq=False)
class MeterLoad:
    """A home's load as its meter saw it.

    Attributes
    ----------
    load_kw : array of float
        Mean power of each step of the timeline [kW].
    report : MeterReport
        What was read, filled and laid where.
    """

    load_kw: NDArray[np.float64]
    report: MeterReport


@dataclass(frozen=True, eq=False)
class _Year:
    """The meter's latest year by the wall clock: consecutive ``days``, and for each hour its place in them."""

    days: NDArray[np.datetime64]
    inside: NDArray[np.bool_]  # which hours of the meter
    day: NDArray[np.int64]
    hour: NDArray[np.int64]

    @property
    def words(self) -> str:
        return f"{self.days[0]} to {self.days[-1]}"


def load_from_meter(
    hours: MeterHours,
    timeline: Timeline,
    production_kw: NDArray[np.float64] | None = None,
    until: date | None = None,
) -> MeterLoad:
    """Lay a meter's latest year onto the simulated calendar year.

    Parameters
    ----------
    hours : MeterHours
        At least 350 days with readings; of more than a year the latest year of whole days counts.
    timeline : Timeline
        The simulated year. Its zone's wall clock is the one that the house lives by.
    production_kw : array of float, optional
        AC production of a home that already has solar, one mean for each hour of the meter [kW];
        NaN where it is not known. The load is import - export + production.
    until : datetime.date, optional
        The last day that counts, where the latest year is not the one that is wanted.

    Returns
    -------
    MeterLoad
        Load of each step. Where steps are shorter than hours, an hour that was read keeps its half or quarter hours
        if the meter has them (``import_share``) and the home no solar of its own; any other is constant.

    Raises
    ------
    LoadError
        Fewer than 350 days were read; more than a tenth of the hours is missing, or missing and
        impossible together; the like hours of a missing one were never read; an hour holds more
        than 200 kWh; energy was sent to the grid and no production is given; production has
        another length than the meter, or is infinite.

    Notes
    -----
    A year of the meter is a calendar year (366 days where it holds 29 February), so that a year
    laid onto its own calendar is itself. Holidays of the simulated year take the nearest Sunday,
    unless the meter saw that very date. Which of the real dates were holidays is not known: they
    are laid out as the weekdays they were. A missing hour takes the median of its like: same three
    months (December to February, ...), weekday or weekend, and wall-clock hour. Clock changes of
    the two calendars may fall on different dates: an hour that only the simulated clock shows
    twice is taken twice, of one that only the real clock showed twice the first is taken, and one
    that the real clock skipped is filled as if missing.
    """
    year = _latest_year(hours, timeline.zone, until)
    load_kwh, too_low, raised_kwh = _real_load(hours, year, production_kw)
    start_utc = hours.start_utc[year.inside]
    holes = holes_from(np.isnan(load_kwh) & ~too_low, start_utc, timeline.zone)
    impossible = holes_from(too_low, start_utc, timeline.zone)
    impossible_h = sum(hole.hours for hole in impossible)
    untold = None if production_kw is None else np.isnan(production_kw) & ~np.isnan(hours.import_kwh)
    _refuse_gaps(
        year,
        sum(hole.hours for hole in holes),
        impossible_h,
        unlogged_h=0 if untold is None else int(untold[year.inside].sum()),
    )

    day, stand_ins = _source_days(year.days, timeline)
    hour = timeline.minute_of_day // 60
    second = (~_first_of(timeline.wall)).astype(np.int64)
    value, missing = _by_wall_clock(year, load_kwh)
    load_kw, filled = value[day, hour, second], missing[day, hour, second]
    _refuse_unfilled(year, load_kw, day, hour, impossible_h)
    keeps_parts = hours.import_share is not None and production_kw is None
    if hours.import_share is not None and keeps_parts:
        share = hours.import_share[year.inside][_places(year)[day, hour, second], _part_of(timeline)]
        load_kw = np.where(filled, load_kw, load_kw * share * hours.import_share.shape[1])

    read = ~np.isnan(load_kwh)
    peak = int(np.nanargmax(load_kwh))
    estimated = float(hours.estimated_share[year.inside][read].mean())
    laid_kwh = float(load_kw.sum() * timeline.step_h)
    report = MeterReport(
        first_day=_date(year.days[0]),
        last_day=_date(year.days[-1]),
        hours=load_kwh.size,
        hours_read=int(read.sum()),
        estimated_share=estimated,
        holes=holes,
        impossible=impossible,
        raised_kwh=raised_kwh,
        read_kwh=float(np.nansum(load_kwh)),
        laid_kwh=laid_kwh,
        filled_hours=float(filled.sum() * timeline.step_h),
        filled_kwh=float(load_kw[filled].sum() * timeline.step_h),
        base_load_kw=float(np.nanpercentile(load_kwh, 5)),
        peak_kw=float(load_kwh[peak]),
        peak_hour=hour_words(start_utc[peak : peak + 1], timeline.zone)[0],
        warnings=meter_warnings(load_kwh, start_utc, timeline.zone, laid_kwh, estimated)
        + _log_doubts(hours, year, production_kw),
        notes=hours.notes,
    )
    return MeterLoad(
        load_kw, replace(report, notes=report.notes + _notes(report, hours, timeline, stand_ins, keeps_parts))
    )


def _notes(
    report: MeterReport, hours: MeterHours, timeline: Timeline, stand_ins: int, keeps_parts: bool
) -> tuple[str, ...]:
    told = []
    if timeline.step_h < 1.0 and not keeps_parts:
        why = "the meter has longer readings" if hours.import_share is None else "two logs are subtracted by the hour"
        told.append(f"Each hour's load stands in all of its steps of {60 * timeline.step_h:g} minutes: {why}.")
    if hours.start_utc.size > report.hours + 48:
        told.append(
            f"The meter holds {hours.start_utc.size / 24:,.0f} days; one year of whole days is used,"
            f" {report.first_day} to {report.last_day}."
        )
    if stand_ins:
        told.append(f"Holidays of {timeline.year} that take the readings of the nearest Sunday: {stand_ins}.")
    calendar_kwh = round(report.calendar_kwh, 1) + 0.0  # no "-0.0"
    filled = f" {report.filled_kwh:,.1f} kWh fill {report.filled_hours:g} hours, and" if report.filled_hours else ""
    told.append(
        f"{report.read_kwh:,.1f} kWh were read; {timeline.year} holds {report.laid_kwh:,.1f} kWh:{filled}"
        f" {calendar_kwh:+,.1f} kWh"
        f" ({calendar_kwh / max(report.read_kwh, 1e-9):+.1%}) come of days that its calendar takes twice or not"
        " at all."
    )
    return tuple(told)


def _latest_year(hours: MeterHours, zone: str, until: date | None) -> _Year:
    """Cut out the latest calendar year of whole days."""
    start, hour = hours.start_utc, np.timedelta64(1, "h")
    around = wall_clock(np.concatenate([start[:1] - hour, start, start[-1:] + hour]), zone)
    day = around.astype("datetime64[D]")
    first = _date(day[1]) + timedelta(days=int(day[0] == day[1]))  # a day that the file begins within is not whole
    last = _date(day[-2]) - timedelta(days=int(day[-1] == day[-2]))
    last = last if until is None else min(last, until)
    first = max(first, _a_year_before(last) + timedelta(days=1))
    inside = (day[1:-1] >= np.datetime64(first)) & (day[1:-1] <= np.datetime64(last))
    touched = np.unique(day[1:-1][inside & ~np.isnan(hours.import_kwh)]).size
    if touched < _LEAST_DAYS:
        raise LoadError(
            f"the meter was read on {touched} whole days from {first} to {last}, a year needs at least {_LEAST_DAYS}:"
            f" give a file of twelve months, or {_BILLS}"
        )
    wall = around[1:-1][inside]
    days = np.arange(np.datetime64(first), np.datetime64(last) + 1)
    return _Year(
        days=days,
        inside=inside,
        day=(wall.astype("datetime64[D]") - days[0]).astype(np.int64),
        hour=wall.astype("datetime64[h]").astype(np.int64) % 24,
    )


def _a_year_before(day: date) -> date:
    return day.replace(year=day.year - 1, day=min(day.day, 28 if day.month == 2 else 31))


def _real_load(
    hours: MeterHours, year: _Year, production_kw: NDArray[np.float64] | None
) -> tuple[NDArray[np.float64], NDArray[np.bool_], float]:
    """Give the load of the meter's year, NaN where unusable; which hours are impossible; what was raised to 0."""
    load, sent = hours.import_kwh[year.inside], hours.export_kwh[year.inside]
    if production_kw is None:
        if np.nansum(sent) > 0:
            raise LoadError(
                f"the meter sent {np.nansum(sent):,.1f} kWh to the grid from {year.words}: a home with solar of its own"
                " needs its hourly AC production for the same hours (load = import - export + production): name the"
                " log of its inverter in load.meter.production"
            )
    else:
        if production_kw.shape != hours.start_utc.shape:
            raise LoadError(
                f"production has {production_kw.size} hours, the meter has {hours.start_utc.size} from"
                f" {hours.start_utc[0]} UTC on; it must give one mean for each"
            )
        endless = np.flatnonzero(np.isinf(production_kw))
        if endless.size:
            raise LoadError(f"production is infinite in hour {endless[0] + 1}, must be a number of kW")
        load = load - sent + production_kw[year.inside]
    too_low = load < LEAST_KWH
    raised_kwh = float(np.abs(load[(load < 0) & ~too_low]).sum())
    load = np.where(too_low, np.nan, np.maximum(load, 0.0))
    over = np.flatnonzero(load > MOST_KW)
    if over.size:
        when = hour_words(hours.start_utc[year.inside][over[:1]], hours.zone)[0]
        raise LoadError(
            f"the hour of {when} holds {load[over[0]]:,.0f} kWh, must be at most {MOST_KW:,.0f}: check that the"
            " readings are kWh, not Wh; if this one is a fault of the meter, empty it"
        )
    return load, too_low, raised_kwh


def _log_doubts(hours: MeterHours, year: _Year, production_kw: NDArray[np.float64] | None) -> tuple[str, ...]:
    if production_kw is None:
        return ()
    return log_doubts((hours.import_kwh - hours.export_kwh)[year.inside], production_kw[year.inside])


_RIGHT_HOURS = "check that production is of this home, in kW, and stands in the right hours"


def _refuse_gaps(year: _Year, holes_h: int, impossible_h: int, unlogged_h: int) -> None:
    count = year.day.size
    if unlogged_h > _MOST_MISSING * count:
        raise LoadError(
            f"{unlogged_h} of the {count} hours from {year.words} stand in the meter's file and not in the log of"
            " production, at most a tenth can be filled: if the log leaves out hours without sun, write them as 0"
        )
    if holes_h > _MOST_MISSING * count:
        raise LoadError(
            f"{holes_h} of the {count} hours from {year.words} have no usable reading, at most a tenth can be filled:"
            f" give a file with fewer holes, or {_BILLS}"
        )
    if holes_h + impossible_h > _MOST_MISSING * count:
        raise LoadError(
            f"import - export + production is below {LEAST_KWH} kWh in {impossible_h} of the {count} hours from"
            f" {year.words}, and {holes_h} have no reading; at most a tenth can be filled: {_RIGHT_HOURS}"
        )


def _refuse_unfilled(
    year: _Year, load_kw: NDArray[np.float64], day: NDArray[np.int64], hour: NDArray[np.int64], impossible_h: int
) -> None:
    empty = np.flatnonzero(np.isnan(load_kw))
    if empty.size:
        at = year.days[day[empty[0]]]
        free = "weekends" if _weekday(at) >= 5 else "weekdays"
        if impossible_h:
            raise LoadError(
                f"import - export + production is below {LEAST_KWH} kWh in {impossible_h} hours from {year.words},"
                f" and the hour of {hour[empty[0]]:02d}:00 is never usable on {free} of {_SEASONS[_season(at)]}:"
                f" {_RIGHT_HOURS}"
            )
        raise LoadError(
            f"the hour of {hour[empty[0]]:02d}:00 was never read on {free} of {_SEASONS[_season(at)]}, so that"
            f" {empty.size} hours have no like to be filled from: give a file that holds some, or {_BILLS}"
        )


def _by_wall_clock(year: _Year, load_kwh: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Give the load [day, hour, first or second pass] with missing hours filled, and which those are."""
    import pandas as pd

    first = _first_of(year.day * 24 + year.hour)
    second = ~first
    value = np.full((year.days.size, 24, 2), np.nan)
    for each in (first, second):  # an hour without a second pass has its first one twice
        value[year.day[each], year.hour[each], 1] = load_kwh[each]
    value[year.day[first], year.hour[first], 0] = load_kwh[first]
    missing = np.isnan(value)

    like = (_season(year.days) * 2 + (_weekday(year.days) >= 5)) * 24
    median = pd.Series(load_kwh).groupby(like[year.day] + year.hour).median().reindex(range(len(_SEASONS) * 48))
    filling = median.to_numpy()[like[:, None] + np.arange(24)]
    return np.where(missing, filling[:, :, None], value), missing


def _places(year: _Year) -> NDArray[np.int64]:
    """Give the place among the year's hours [day, hour, first or second pass]; 0 where there is none."""
    first = _first_of(year.day * 24 + year.hour)
    place = np.zeros((year.days.size, 24, 2), np.int64)
    for each in (first, ~first):
        place[year.day[each], year.hour[each], 1] = np.flatnonzero(each)
    place[year.day[first], year.hour[first], 0] = np.flatnonzero(first)
    return place


def _part_of(timeline: Timeline) -> NDArray[np.int64]:
    """Tell which part of its hour each step is; hours are those of standard time, as the meter's are."""
    return np.arange(len(timeline)) % round(1.0 / timeline.step_h)


def _source_days(real: NDArray[np.datetime64], timeline: Timeline) -> tuple[NDArray[np.int64], int]:
    """Give the place of each step's date among the real ones, and for how many holidays a Sunday stands in."""
    simulated, at, which = np.unique(timeline.wall.astype("datetime64[D]"), return_index=True, return_inverse=True)
    holiday = timeline.day_kind[at] == DAY_KINDS.index("holiday")
    weekday = np.where(holiday, _SUNDAY, timeline.weekday[at])
    apart = np.abs(_place_in_year(simulated)[:, None] - _place_in_year(real))
    apart = np.where(weekday[:, None] == _weekday(real), np.minimum(apart, 365 - apart), np.inf)
    itself = simulated[:, None] == real
    source = np.where(itself, -1.0, apart).argmin(axis=1)
    return source[which], int((holiday & ~itself.any(axis=1)).sum())


def _place_in_year(day: NDArray[np.datetime64]) -> NDArray[np.float64]:
    """Count days from 1 January on a circle of 365; 29 February stands between its neighbors."""
    year = day.astype("datetime64[Y]")
    start = year.astype("datetime64[D]")
    leap = ((year + 1).astype("datetime64[D]") - start).astype(np.int64) == 366
    count = (day - start).astype(np.int64)
    return np.asarray(count - 0.5 * (leap & (count >= 59)) - 0.5 * (leap & (count > 59)), np.float64)


def _weekday(day: NDArray[np.datetime64]) -> NDArray[np.int64]:
    return (day.astype(np.int64) + 3) % 7  # day 0 of the epoch was a Thursday


def _season(day: NDArray[np.datetime64]) -> NDArray[np.int64]:
    return (day.astype("datetime64[M]").astype(np.int64) % 12 + 1) % 12 // 3


def _first_of(key: NDArray[np.generic]) -> NDArray[np.bool_]:
    """Mark the first of equal entries."""
    first = np.zeros(key.size, np.bool_)
    first[np.unique(key, return_index=True)[1]] = True
    return first


def _date(day: np.datetime64) -> date:
    return date.fromisoformat(str(day.astype("datetime64[D]")))
