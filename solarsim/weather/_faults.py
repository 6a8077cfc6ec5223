"""What no sky does: a year as read in, a note or a refusal for each fault out, with its first and last hour.

A fault that leaves the year usable is a note; one that would decide the result is refused. The limits are common
practice, with room for what good files hold: wind constant for 206 h, temperature for 32 h, direct irradiance of
1 W/m2 for 7 h, months without sun beyond the polar circle.
"""

from calendar import month_name
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import WeatherError
from solarsim.scenario.site import MONTH_DAYS
from solarsim.weather.label_check import WARN_ABOVE_MIN
from solarsim.weather.sun import elevation_deg
from solarsim.weather.typical_year import HOURS, Weather

Floats = NDArray[np.float64]
_Mask = NDArray[np.bool_]

_IRRADIANCE = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2")
_NIGHT_DEG, _NIGHT_W_M2, _NIGHT_MOST = -6.0, 10.0, 0.02  # civil twilight; more than an instrument's offset
_DAY_DEG, _DARK_SHARE, _DARK_LEAST_H, _DARK_MOST_H = 5.0, 0.01, 24, 100
_STUCK_W_M2, _STUCK_LEAST_H, _STUCK_MOST_H = 10.0, 6, 72
_SAME_TEMP_LEAST_H, _SAME_TEMP_MOST_H = 72, 720
_SAME_WIND_LEAST_H = 14 * 24
# Share of the irradiation above the air: months of real files lie from 0.27 to 0.71.
_CLEARNESS_DOUBTED, _CLEARNESS_POSSIBLE, _LEAST_ABOVE_KWH = (0.15, 0.80), (0.05, 0.85), 5.0
_APART_DOUBTED, _APART_MOST, _EXCHANGED = 0.25, 0.30, 0.5
_NAMED_STRETCHES = 3
_MONTH = np.repeat(np.arange(12), np.array(MONTH_DAYS) * 24)
_SOLAR_CONSTANT_W_M2 = 1361.0  # Kopp & Lean, Geophysical Research Letters 38 (2011)


class Fault(NamedTuple):
    """One fault in words, and whether a year with it can be used."""

    words: str
    usable: bool


class _Sun(NamedTuple):
    """The sun of each hour of the file."""

    highest_deg: Floats  # at the hour's start or end
    middle_deg: Floats
    above_w_m2: Floats  # on level ground above the air


def check_year(weather: Weather, offset_min: int | None, file: str) -> tuple[str, ...]:
    """Return a note for each fault of a year that can be used; refuse one that cannot, with all its reasons.

    ``offset_min`` is where the labels fit the sun best (``label_check``).
    """
    found = list(faults_of(weather, offset_min or 0))
    refused = [fault for fault in found if not fault.usable]
    if refused:
        raise WeatherError(*(f"{file}: {fault.words}" for fault in refused))
    return tuple(f"{file}: {fault.words}" for fault in found)


def faults_of(weather: Weather, offset_min: int) -> Iterator[Fault]:
    """Yield what no sky does; exchanged columns alone where there are any, since they upset all other checks."""
    sun = _sun_of(weather)
    labeled = sun.middle_deg if offset_min == 0 else elevation_deg(weather, _middles(weather, offset_min))
    apart_w_m2 = _apart(weather.ghi_w_m2, weather.dni_w_m2, weather.dhi_w_m2, labeled)
    exchanged = list(_exchanged(weather, apart_w_m2, (sun.middle_deg, labeled)))
    if exchanged:
        yield from exchanged
        return
    yield from _sun_at_night(weather, sun)
    dark = list(_dark_in_daylight(weather, sun))
    yield from dark
    yield from _stuck(weather)
    yield from _months(weather, sun, dark=bool(dark))
    if abs(offset_min) <= WARN_ABOVE_MIN:  # the label check has named the reason otherwise
        yield from _columns_apart(weather, apart_w_m2)


def _sun_of(weather: Weather) -> _Sun:
    halves = elevation_deg(weather, _half_hours(weather))
    middle = halves[1::2]
    day = np.repeat(np.arange(365), 24)
    above = _SOLAR_CONSTANT_W_M2 * (1 + 0.033 * np.cos(2 * np.pi * day / 365)) * _sine(middle)
    return _Sun(np.maximum(halves[:-1:2], halves[2::2]), middle, above)


def _half_hours(weather: Weather) -> NDArray[np.datetime64]:
    """Return start, middle and end of all hours in the order of time, UTC."""
    first = np.datetime64("2001-01-01T00:00:00") - np.timedelta64(round(weather.utc_offset_h * 3600), "s")
    return first + np.arange(2 * HOURS + 1) * np.timedelta64(1800, "s")


def _sine(elevation: Floats) -> Floats:
    return np.asarray(np.sin(np.radians(np.maximum(elevation, 0.0))), np.float64)


def _middles(weather: Weather, offset_min: int) -> NDArray[np.datetime64]:
    return np.asarray(_half_hours(weather)[1::2] + np.timedelta64(60 * offset_min, "s"))


def _apart(ghi: Floats, dni: Floats, dhi: Floats, elevation: Floats) -> Floats:
    """Return how far GHI is from DHI + DNI cos(zenith) in each hour [W/m2]."""
    return np.asarray(np.abs(ghi - dhi - dni * _sine(elevation)), np.float64)


def _exchanged(weather: Weather, apart_w_m2: Floats, suns_deg: tuple[Floats, Floats]) -> Iterator[Fault]:
    """Yield two columns of irradiance that agree with the third once they are exchanged, and only then."""
    columns = {name: getattr(weather, name) for name in _IRRADIANCE}
    limit = min(_EXCHANGED * float(apart_w_m2.mean()), 0.1 * float(weather.ghi_w_m2.mean()))
    for one, other in (("ghi_w_m2", "dni_w_m2"), ("ghi_w_m2", "dhi_w_m2"), ("dni_w_m2", "dhi_w_m2")):
        swapped = {**columns, one: columns[other], other: columns[one]}
        # With wrong columns the labels fit nowhere, so the sun of the file's own labels is tried too.
        ghi, dni, dhi = (swapped[name] for name in _IRRADIANCE)
        if min(float(_apart(ghi, dni, dhi, each).mean()) for each in suns_deg) < limit:
            yield Fault(
                f"{one} and {other} seem to be exchanged {_span(0, HOURS)}: GHI equals DHI + DNI x cos(zenith) only if"
                " they are",
                usable=False,
            )
            return


def _sun_at_night(weather: Weather, sun: _Sun) -> Iterator[Fault]:
    brightest = np.maximum.reduce([getattr(weather, name) for name in _IRRADIANCE])
    wrong = (sun.highest_deg < _NIGHT_DEG) & (brightest > _NIGHT_W_M2)
    if wrong.any():
        hours = np.flatnonzero(wrong)
        share = float(brightest[wrong].sum()) / float(brightest.sum())
        yield Fault(
            f"has sun at night, up to {brightest[wrong].max():.0f} W/m2 in {_hours(hours.size)} with the sun more than"
            f" {-_NIGHT_DEG:g} degrees below the horizon, {_span(int(hours[0]), int(hours[-1]) + 1)}; check its clock"
            f" (UTC{weather.utc_offset_h:+g} h), its longitude ({weather.longitude_deg:g}) and the columns of"
            " irradiance",
            usable=share <= _NIGHT_MOST,
        )


def _dark_in_daylight(weather: Weather, sun: _Sun) -> Iterator[Fault]:
    """Yield stretches of daylight without sun; nights in between do not end one."""
    daylight = np.flatnonzero(sun.middle_deg > _DAY_DEG)
    dark = weather.ghi_w_m2[daylight] < _DARK_SHARE * sun.above_w_m2[daylight]
    runs = [(first, last) for first, last in _runs(dark) if last - first >= _DARK_LEAST_H]
    if runs:
        total = sum(last - first for first, last in runs)
        spans = [(int(daylight[first]), int(daylight[last - 1]) + 1) for first, last in runs]
        yield Fault(
            f"ghi_w_m2 has no sun in {_hours(total)} of daylight, {_spans(spans)}", usable=total <= _DARK_MOST_H
        )


def _stuck(weather: Weather) -> Iterator[Fault]:
    """Yield columns that keep one value for too long."""
    for name in _IRRADIANCE:
        values = getattr(weather, name)
        spans = _constant(values, _STUCK_LEAST_H, above=_STUCK_W_M2)
        total = sum(last - first for first, last in spans)
        if spans:
            yield Fault(
                f"{name} does not change in {_hours(total)} ({values[spans[0][0]]:g} W/m2), {_spans(spans)}",
                usable=total <= _STUCK_MOST_H,
            )
    spans = _constant(weather.temp_air_c, _SAME_TEMP_LEAST_H)
    if spans:
        longest = max(last - first for first, last in spans)
        yield Fault(
            f"temp_air_c does not change for up to {_hours(longest)} ({weather.temp_air_c[spans[0][0]]:g} C),"
            f" {_spans(spans)}",
            usable=longest <= _SAME_TEMP_MOST_H,
        )
    spans = _constant(weather.wind_speed_m_s, _SAME_WIND_LEAST_H)
    if spans:
        yield Fault(
            f"wind_speed_m_s does not change for {_SAME_WIND_LEAST_H // 24} days and more"
            f" ({weather.wind_speed_m_s[spans[0][0]]:g} m/s), {_spans(spans)}; wind cools modules",
            usable=True,
        )


def _months(weather: Weather, sun: _Sun, dark: bool) -> Iterator[Fault]:
    """Yield months with more or less sun than the latitude allows; months that are dark in daylight are named there."""
    above = np.bincount(_MONTH, sun.above_w_m2) / 1000
    kwh = np.bincount(_MONTH, weather.ghi_w_m2) / 1000
    judged = above >= _LEAST_ABOVE_KWH
    clearness = np.divide(kwh, above, out=np.full(12, 0.5), where=judged)
    low, high = clearness < _CLEARNESS_DOUBTED[0], clearness > _CLEARNESS_DOUBTED[1]
    odd = np.flatnonzero(high if dark else high | low)
    if odd.size:
        least, most = _CLEARNESS_POSSIBLE
        month = int(odd[np.argmax(np.abs(clearness[odd] - 0.5))])
        few = "1 month has" if odd.size == 1 else f"{odd.size} months have"
        yield Fault(
            f"{few} more or less sun than is likely at a latitude of {weather.latitude_deg:g},"
            f" {_spans(_runs(np.isin(_MONTH, odd)))}:"
            f" month {month + 1} has {kwh[month]:.1f} kWh/m2 of global irradiation, {above[month]:.0f} arrive above the"
            " air; check the unit (mean W/m2 of each hour), the sign of the latitude and the order of the months",
            usable=bool(((clearness[odd] >= least) & (clearness[odd] <= most)).all()),
        )


def _columns_apart(weather: Weather, apart_w_m2: Floats) -> Iterator[Fault]:
    """Yield months in which GHI is not DHI + DNI cos(zenith)."""
    error, ghi = np.bincount(_MONTH, apart_w_m2), np.bincount(_MONTH, weather.ghi_w_m2)
    odd = np.flatnonzero(error > _APART_DOUBTED * np.maximum(ghi, 1000 * _LEAST_ABOVE_KWH))
    if odd.size:
        share = float(error.sum() / max(ghi.sum(), 1.0))
        yield Fault(
            f"ghi_w_m2 is not dhi_w_m2 + dni_w_m2 x cos(zenith): {share:.0%} apart over the year, most"
            f" {_spans(_runs(np.isin(_MONTH, odd)))}; a column of irradiance is wrong",
            usable=share <= _APART_MOST,
        )


def _runs(mask: _Mask) -> list[tuple[int, int]]:
    """Return first and one past the last place of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(np.int8), [0]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _constant(values: Floats, least_h: int, above: float = -np.inf) -> list[tuple[int, int]]:
    """Return the stretches of at least so many hours in which a value at or above a limit does not change."""
    same = np.concatenate([[False], (np.diff(values) == 0) & (values[1:] >= above)])
    return [(first - 1, last) for first, last in _runs(same) if last - first + 1 >= least_h]


def _spans(spans: list[tuple[int, int]]) -> str:
    named = ", ".join(_span(*each) for each in spans[:_NAMED_STRETCHES])
    rest = len(spans) - _NAMED_STRETCHES
    return named if rest <= 0 else f"{named}, and {rest} more up to {_moment(spans[-1][1], ends=True)}"


def _span(first: int, last: int) -> str:
    """Return from when to when, by the file's own clock: ``from 1 October 00:00 to 31 December 24:00``."""
    return f"from {_moment(first)} to {_moment(last, ends=True)}"


def _moment(hour: int, ends: bool = False) -> str:
    """Return an hour of the year as day, month and time; 24:00 where a day ends."""
    day_of_year, hour_of_day = divmod(hour - ends, 24)
    month = int(_MONTH[day_of_year * 24])
    return f"{day_of_year - sum(MONTH_DAYS[:month]) + 1} {month_name[month + 1]} {hour_of_day + ends:02d}:00"


def _hours(count: int) -> str:
    return f"{count} hour" if count == 1 else f"{count:,} hours"
