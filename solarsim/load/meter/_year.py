"""A meter's real year on the calendar of the simulated one: real hours in, load of each step out.

Weekdays stay weekdays: each simulated date takes the real date of the same weekday that is nearest in the year, and
each wall-clock hour takes the same wall-clock hour of that date. So no date moves by more than a few days, in either
hemisphere, and an evening stays an evening.

A year of the meter is a calendar year (366 days where it has 29 February), so that a year laid onto its own calendar is
itself. Holidays of the simulated year take the nearest Sunday, unless the meter read that very date; which of the real
dates were holidays is not known. A missing hour takes the median of like hours: same three months (December to
February, ...), weekday or weekend, and wall-clock hour. Clock changes of the two calendars may be on different dates:
an hour that only the simulated clock shows twice is taken twice, of one that only the real clock showed twice the first
is taken, and one that the real clock skipped is filled as if missing.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from solarsim.clock.timeline import DAY_KINDS, Timeline, wall_clock
from solarsim.errors import LoadError
from solarsim.load._limits import MOST_KW
from solarsim.load.meter._hours import MeterHours, holes_from, hour_words
from solarsim.load.meter._warnings import LEAST_KWH, log_warnings, meter_warnings
from solarsim.load.meter.report import MeterReport

_LEAST_DAYS = 350
_MOST_MISSING = 0.10
_SUNDAY = 6
_SEASONS = ("December to February", "March to May", "June to August", "September to November")
_BILLS = "write monthly_kwh and a shape in place of the meter file"
_RIGHT_HOURS = "check that production is of this home, in kW, and in the right hours"

_Floats = NDArray[np.float64]
_Integers = NDArray[np.int64]
_Days = NDArray[np.datetime64]


@dataclass(frozen=True, eq=False)
class MeterLoad:
    """A home's load by its meter: mean power of each step [kW], and what was read and filled."""

    load_kw: _Floats
    report: MeterReport


@dataclass(frozen=True, eq=False)
class _Year:
    """The meter's latest year by the wall clock: consecutive ``days``, and for each hour its place in them."""

    days: _Days
    inside: NDArray[np.bool_]  # which hours of the meter
    day: _Integers
    hour: _Integers

    @property
    def words(self) -> str:
        return f"{self.days[0]} to {self.days[-1]}"


def load_from_meter(
    hours: MeterHours, timeline: Timeline, production_kw: _Floats | None = None, until: date | None = None
) -> MeterLoad:
    """Lay a meter's latest year of whole days, up to ``until``, onto the simulated calendar year.

    ``production_kw`` is the AC production of a home with solar, one mean for each hour of the meter, NaN where it is
    not known: the load is import - export + production. Where steps are shorter than hours, an hour that was read keeps
    its parts if the meter has them (``import_share``) and the home no solar of its own; any other is constant.
    """
    year = _latest_year(hours, timeline.zone, until)
    load_kwh, too_low, raised_kwh = _real_load(hours, year, production_kw)
    start_utc = hours.start_utc[year.inside]
    holes = holes_from(np.isnan(load_kwh) & ~too_low, start_utc, timeline.zone)
    impossible = holes_from(too_low, start_utc, timeline.zone)
    impossible_h = sum(hole.hours for hole in impossible)
    unlogged = np.zeros(hours.start_utc.size, np.bool_)
    if production_kw is not None:
        unlogged = np.isnan(production_kw) & ~np.isnan(hours.import_kwh)
    _refuse_gaps(year, sum(hole.hours for hole in holes), impossible_h, int(unlogged[year.inside].sum()))

    day, sundays = _source_days(year.days, timeline)
    hour = timeline.minute_of_day // 60
    place = _places(year)[day, hour, (~_first_of(timeline.wall)).astype(np.int64)]
    load_kw = np.where(place < 0, np.nan, load_kwh[place])
    filled = np.isnan(load_kw)
    load_kw = np.where(filled, _medians(year, load_kwh)[day, hour], load_kw)
    _refuse_unfilled(year, load_kw, day, hour, impossible_h)
    keeps_parts = hours.import_share is not None and production_kw is None
    if hours.import_share is not None and keeps_parts:
        part_of_hour = np.arange(len(timeline)) % round(1.0 / timeline.step_h)  # of standard time, as the meter's
        share = hours.import_share[year.inside][place, part_of_hour]
        load_kw = np.where(filled, load_kw, load_kw * share * hours.import_share.shape[1])

    read = ~np.isnan(load_kwh)
    peak = int(np.nanargmax(load_kwh))
    estimated = float(hours.estimated_share[year.inside][read].mean())
    read_kwh, laid_kwh = float(np.nansum(load_kwh)), float(load_kw.sum() * timeline.step_h)
    filled_hours, filled_kwh = (float(each.sum() * timeline.step_h) for each in (filled, load_kw[filled]))
    warnings = meter_warnings(load_kwh, start_utc, timeline.zone, laid_kwh, estimated)
    if production_kw is not None:
        warnings += log_warnings((hours.import_kwh - hours.export_kwh)[year.inside], production_kw[year.inside])
    notes = [*hours.notes, *_notes(hours, timeline, year, keeps_parts, sundays)]
    calendar_kwh = round(laid_kwh - filled_kwh - read_kwh, 1) + 0.0  # no "-0.0"
    of_filled = f" {filled_kwh:,.1f} kWh fill {filled_hours:g} hours, and" if filled_hours else ""
    part = abs(calendar_kwh) / max(read_kwh, 1e-9)
    notes.append(
        f"{read_kwh:,.1f} kWh were read; {timeline.year} has {laid_kwh:,.1f} kWh:{of_filled} {calendar_kwh:+,.1f} kWh"
        f" ({part:.1%}) come from days that its calendar uses twice or not at all."
    )
    report = MeterReport(
        first_day=_date(year.days[0]),
        last_day=_date(year.days[-1]),
        hours=load_kwh.size,
        hours_read=int(read.sum()),
        read_kwh=read_kwh,
        filled_hours=filled_hours,
        filled_kwh=filled_kwh,
        estimated_share=estimated,
        holes=holes,
        impossible=impossible,
        warnings=warnings,
        raised_kwh=raised_kwh,
        laid_kwh=laid_kwh,
        base_load_kw=float(np.nanpercentile(load_kwh, 5)),
        peak_kw=float(load_kwh[peak]),
        peak_hour=hour_words(start_utc[peak : peak + 1], timeline.zone)[0],
        notes=tuple(notes),
    )
    return MeterLoad(load_kw, report)


def _notes(hours: MeterHours, timeline: Timeline, year: _Year, keeps_parts: bool, sundays: int) -> list[str]:
    """Return notes on what the simulated year takes from the meter's."""
    notes = []
    if timeline.step_h < 1.0 and not keeps_parts:
        why = "the meter has longer readings" if hours.import_share is None else "two logs are subtracted by the hour"
        notes.append(f"The load is constant within each hour, in steps of {60 * timeline.step_h:g} minutes: {why}.")
    if hours.start_utc.size > year.day.size + 48:
        notes.append(
            f"The meter has {hours.start_utc.size / 24:,.0f} days; the latest year of whole days is used, {year.words}."
        )
    if sundays:
        notes.append(f"{sundays} holidays of {timeline.year} use the readings of the nearest Sunday.")
    return notes


def _latest_year(hours: MeterHours, zone: str, until: date | None) -> _Year:
    """Return the latest calendar year of whole days."""
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
            f" use a file of twelve months, or {_BILLS}"
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
    hours: MeterHours, year: _Year, production_kw: _Floats | None
) -> tuple[_Floats, NDArray[np.bool_], float]:
    """Return the load of the meter's year, NaN where unusable; impossible hours; energy added by raising to 0."""
    load, sent = hours.import_kwh[year.inside], hours.export_kwh[year.inside]
    if production_kw is None:
        if np.nansum(sent) > 0:
            raise LoadError(
                f"the meter recorded an export of {np.nansum(sent):,.1f} kWh from {year.words}: a home with solar of"
                " its own needs its hourly AC production for the same hours (load = import - export + production): name"
                " the log of its inverter in load.meter.production"
            )
    else:
        if production_kw.shape != hours.start_utc.shape:
            raise LoadError(
                f"production has {production_kw.size} hours, the meter has {hours.start_utc.size} from"
                f" {hours.start_utc[0]} UTC on; it must have one mean for each"
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
            f"the hour of {when} has {load[over[0]]:,.0f} kWh, must be at most {MOST_KW:,.0f}: check that the"
            " readings are kWh, not Wh; if this one is a fault of the meter, leave its cell empty"
        )
    return load, too_low, raised_kwh


def _refuse_gaps(year: _Year, holes_h: int, impossible_h: int, unlogged_h: int) -> None:
    count = year.day.size
    if unlogged_h > _MOST_MISSING * count:
        raise LoadError(
            f"{unlogged_h} of the {count} hours from {year.words} are in the meter's file but not in the production"
            " log, at most a tenth can be filled: if the log leaves out hours without sun, write them as 0"
        )
    if holes_h > _MOST_MISSING * count:
        raise LoadError(
            f"{holes_h} of the {count} hours from {year.words} have no usable reading, at most a tenth can be filled:"
            f" use a file with fewer gaps, or {_BILLS}"
        )
    if holes_h + impossible_h > _MOST_MISSING * count:
        raise LoadError(
            f"import - export + production is below {LEAST_KWH} kWh in {impossible_h} of the {count} hours from"
            f" {year.words}, and {holes_h} have no reading; at most a tenth can be filled: {_RIGHT_HOURS}"
        )


def _refuse_unfilled(year: _Year, load_kw: _Floats, day: _Integers, hour: _Integers, impossible_h: int) -> None:
    empty = np.flatnonzero(np.isnan(load_kw))
    if empty.size:
        at = year.days[day[empty[0]]]
        like = f"{'weekends' if _weekday(at) >= 5 else 'weekdays'} from {_SEASONS[_season(at)]}"
        if impossible_h:
            raise LoadError(
                f"import - export + production is below {LEAST_KWH} kWh in {impossible_h} hours from {year.words},"
                f" and the hour of {hour[empty[0]]:02d}:00 is never usable on {like}: {_RIGHT_HOURS}"
            )
        raise LoadError(
            f"the hour of {hour[empty[0]]:02d}:00 was never read on {like}, so {empty.size} hours cannot be filled from"
            f" like hours: use a file that includes such hours, or {_BILLS}"
        )


def _places(year: _Year) -> _Integers:
    """Return the place among the year's hours [day, hour, first or second pass]; -1 where the clock skips it."""
    first = _first_of(year.day * 24 + year.hour)
    place = np.full((year.days.size, 24, 2), -1)
    for each in (first, ~first):  # an hour without a second pass has its first one twice
        place[year.day[each], year.hour[each], 1] = np.flatnonzero(each)
    place[year.day[first], year.hour[first], 0] = np.flatnonzero(first)
    return place


def _medians(year: _Year, load_kwh: _Floats) -> _Floats:
    """Return the median of like hours [day, hour]; NaN where none was read."""
    import pandas as pd

    like = (_season(year.days) * 2 + (_weekday(year.days) >= 5)) * 24
    median = pd.Series(load_kwh).groupby(like[year.day] + year.hour).median().reindex(range(len(_SEASONS) * 48))
    return np.asarray(median.to_numpy()[like[:, None] + np.arange(24)], np.float64)


def _source_days(real: _Days, timeline: Timeline) -> tuple[_Integers, int]:
    """Return the place of each step's date among the real ones, and for how many holidays it is a Sunday."""
    simulated, at, which = np.unique(timeline.wall.astype("datetime64[D]"), return_index=True, return_inverse=True)
    holiday = timeline.day_kind[at] == DAY_KINDS.index("holiday")
    weekday = np.where(holiday, _SUNDAY, timeline.weekday[at])
    apart = np.abs(_place_in_year(simulated)[:, None] - _place_in_year(real))
    apart = np.where(weekday[:, None] == _weekday(real), np.minimum(apart, 365 - apart), np.inf)
    itself = simulated[:, None] == real
    source = np.where(itself, -1.0, apart).argmin(axis=1)
    return source[which], int((holiday & ~itself.any(axis=1)).sum())


def _place_in_year(day: _Days) -> _Floats:
    """Return the day on a circle of 365 from 1 January; 29 February is halfway between its neighbors."""
    year = day.astype("datetime64[Y]")
    start = year.astype("datetime64[D]")
    leap = ((year + 1).astype("datetime64[D]") - start).astype(np.int64) == 366
    count = (day - start).astype(np.int64)
    return np.asarray(count - 0.5 * (leap & (count >= 59)) - 0.5 * (leap & (count > 59)), np.float64)


def _weekday(day: _Days) -> _Integers:
    return (day.astype(np.int64) + 3) % 7  # day 0 of the epoch was a Thursday


def _season(day: _Days) -> _Integers:
    return (day.astype("datetime64[M]").astype(np.int64) % 12 + 1) % 12 // 3


def _first_of(key: NDArray[np.generic]) -> NDArray[np.bool_]:
    """Return which entries are the first of equal ones."""
    first = np.zeros(key.size, np.bool_)
    first[np.unique(key, return_index=True)[1]] = True
    return first


def _date(day: np.datetime64) -> date:
    return date.fromisoformat(str(day.astype("datetime64[D]")))
