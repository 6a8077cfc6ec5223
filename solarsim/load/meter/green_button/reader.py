"""Read a Green Button file (NAESB ESPI): a feed in, the electricity of one home, delivered and received, out.

The codes are those of the standard: ``uom`` 72 watt-hours and 38 watts; ``flowDirection`` 1 delivered, 19
received; ``accumulationBehaviour`` 4 the amount of each interval, 1 and 3 a running register;
``ServiceCategory`` 0 electricity, 1 gas; value times ten to the ``powerOfTenMultiplier``; starts in UTC.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import numpy as np

from solarsim.errors import LoadError, open_file
from solarsim.load.meter.green_button._feed import ESTIMATED, NOT_STATED, SUMMARIES, TOTALS, Feed, RawReadings, Resource
from solarsim.load.meter.green_button._intervals import (
    HOUR_S,
    Intervals,
    amounts_from_register,
    each_once,
    joined,
    refuse_long,
    refuse_overlap,
    scaled,
    utc_text,
    without_gaps,
)
from solarsim.load.meter.readings import Readings

_WH, _W = 72, 38
_FLOWS = {0: "delivered", 1: "delivered", 19: "received"}  # 0: none stated
_AMOUNTS, _REGISTERS, _SAMPLES = (0, 4), (1, 2, 3, 9), (6, 12)  # 0: none stated
_ELECTRICITY, _GAS = 0, 1
_ELECTRIC_COMMODITIES, _GAS_COMMODITY = (0, 1, 2), 7  # 0: none stated
_SUMMARY_TOLERANCE = 0.005


class _Series(NamedTuple):
    """The readings of one reading type, and the usage point they belong to where the feed has one."""

    point: Resource | None
    kind: Resource
    columns: RawReadings

    def code(self, name: str) -> int:
        return self.kind.number("ReadingType", name)

    @property
    def service(self) -> str:
        category = _category(self.point) if self.point else NOT_STATED
        if category == _GAS or self.code("commodity") == _GAS_COMMODITY:
            return "gas"
        electric = category in (_ELECTRICITY, NOT_STATED) and self.code("commodity") in _ELECTRIC_COMMODITIES
        return "electricity" if electric else "another service"


def read_green_button(path: Path) -> Readings:
    """Read the electricity of one home from a Green Button file; costs and tiers of a rate plan are not read.

    Parameters
    ----------
    path : pathlib.Path
        The XML file.

    Returns
    -------
    Readings
        In UTC, in the order of time, delivered and received side by side; what is missing stays missing.

    Raises
    ------
    LoadError
        The file cannot be read or is not a Green Button feed; it has no electricity delivered, or that of several
        meters; readings cannot be linked to what they count, count neither Wh nor W, flow neither to nor from the home,
        are negative, longer than an hour, without length, there twice with different values, or overlap; a running
        register falls.
    """
    feed = Feed(path)
    with open_file(path, LoadError) as file:
        feed.parse(file)
    notes: list[str] = []
    electric = _of_one_home(_linked(feed, path), feed, path, notes)
    flows = {}
    for flow, series in _by_flow(electric, path, notes).items():
        flows[flow] = _one_flow(flow, series, path, notes)
    if "delivered" not in flows:
        raise LoadError(f"{path}: has energy received from the home but none delivered to it")
    readings = _side_by_side(flows, path, notes)
    if not feed.resources["LocalTimeParameters"]:
        notes.append("states no local time; its starts are read as UTC, as the standard has them")
    notes += _summary_notes(feed, electric, readings)
    return replace(readings, notes=tuple(f"{path}: {note}" for note in dict.fromkeys(notes)))


def _linked(feed: Feed, path: Path) -> list[_Series]:
    """Follow the links from blocks to what they count; what appears once, or always alike, needs none."""
    kinds = feed.resources["ReadingType"]
    found = []
    for link, columns in feed.series.items():
        meter = _holder((link,), feed.resources["MeterReading"])
        related = meter.entry.related if meter else []
        named = [kind for kind in kinds if kind.entry.own and kind.entry.own in related] or kinds
        if not named or any(kind.numbers != named[0].numbers for kind in named):
            raise LoadError(
                f"{path}: line {columns.line[0]}: no link names the reading type of this reading, one of {len(named)}"
            )
        links = (meter.entry.up, meter.entry.own, link) if meter else (link,)
        found.append(_Series(_holder(links, feed.resources["UsagePoint"]), named[0], columns))
    return found


def _holder(links: Iterable[str], candidates: Sequence[Resource]) -> Resource | None:
    """Return what links point to: itself, something below it, or something that is related to it."""
    for link in filter(None, links):
        for each in candidates:
            own = each.entry.own
            if link in each.entry.related or (own and f"{link}/".startswith(f"{own}/")):
                return each
    return candidates[0] if len(candidates) == 1 else None


def _category(point: Resource) -> int:
    return point.number("ServiceCategory", "kind", NOT_STATED)


def _of_one_home(series: list[_Series], feed: Feed, path: Path, notes: list[str]) -> list[_Series]:
    """Keep electricity, and refuse that of several meters."""
    left_out: dict[str, int] = {}
    for each in series:
        left_out[each.service] = left_out.get(each.service, 0) + len(each.columns.start)
    count = left_out.pop("electricity", 0)
    others = " and ".join(f"{number} readings of {service}" for service, number in left_out.items())
    if not count:
        raise LoadError(f"{path}: has no readings of electricity" + (f", only {others}" if others else ""))
    if others:
        notes.append(f"{others} were skipped")
    electric = [each for each in series if each.service == "electricity"]
    points = feed.resources["UsagePoint"]
    homes = {point.entry.own or id(point) for point in points if _category(point) in (_ELECTRICITY, NOT_STATED)}
    for each in electric:
        if each.point is None and points and (len(homes) != 1 or not each.code("commodity")):
            raise LoadError(
                f"{path}: line {each.columns.line[0]}: no link names the usage point of this reading, one of"
                f" {len(points)}"
            )
    meters = {each.point.entry.own or id(each.point): each.point.label for each in electric if each.point}
    if len(meters) > 1:
        number = "two" if len(meters) == 2 else len(meters)
        labels = ", ".join(f"'{label}'" for label in meters.values())
        raise LoadError(f"{path}: has {number} electricity meters: {labels}; use a file of one meter")
    return electric


def _by_flow(electric: list[_Series], path: Path, notes: list[str]) -> dict[str, list[_Series]]:
    """Sort by direction what counts Wh or W; leave out the rest."""
    usable = [each for each in electric if each.code("uom") in (_WH, _W)]
    other_units = sorted({each.code("uom") for each in electric} - {_WH, _W})
    if not usable:
        raise LoadError(f"{path}: counts neither Wh (uom 72) nor W (uom 38), but uom {other_units[0]}")
    if other_units:
        notes.append(f"readings of uom {', '.join(map(str, other_units))}, neither Wh nor W, were skipped")
    if any(not each.code("flowDirection") for each in usable):
        notes.append("states no flow direction; read as delivered to the home")
    flows: dict[str, list[_Series]] = {}
    for each in usable:
        flows.setdefault(_FLOWS.get(each.code("flowDirection"), ""), []).append(each)
    unknown = flows.pop("", [])
    if unknown:
        code = unknown[0].code("flowDirection")
        if len(flows) < 2:
            raise LoadError(
                f"{path}: line {unknown[0].columns.line[0]}: flowDirection is {code}, must be 1 (delivered) or"
                " 19 (received)"
            )
        notes.append(f"readings of flowDirection {code} were skipped: there are readings of delivered and received")
    return flows


def _one_flow(flow: str, series: list[_Series], path: Path, notes: list[str]) -> Intervals:
    """Return one direction's intervals in kWh; energy goes before power, short readings before long ones."""
    fine: list[Intervals] = []
    coarse: list[Intervals] = []
    for unit in (_WH, _W):
        of_unit = [each for each in series if each.code("uom") == unit]
        if fine and of_unit:
            notes.append(f"{flow}: readings in W were skipped: there are some in Wh")
            break
        for part in (_in_kwh(each, path, notes) for each in of_unit):
            if part.start.size:
                (coarse if part.duration_s.min() > HOUR_S else fine).append(part)
    if not fine:
        for part in coarse:
            refuse_long(part, path)
        raise LoadError(f"{path}: {flow}: a running register needs at least two values")
    if coarse:
        count = sum(part.start.size for part in coarse)
        notes.append(f"{flow}: {count} readings longer than an hour were skipped: there are shorter ones")
    found = joined(fine)
    refuse_long(found, path)
    found = each_once(found, path, notes)
    refuse_overlap(found.start, found.duration_s, path)
    return found


def _in_kwh(series: _Series, path: Path, notes: list[str]) -> Intervals:
    """Return readings as kWh for each interval."""
    read = series.columns
    flags = np.array(read.estimated, np.int64)
    raw = Intervals(
        start=np.array(read.start, np.int64),
        duration_s=np.array(read.duration_s, np.int64),
        amount=np.array(read.value, np.float64),
        estimated=np.where(flags == NOT_STATED, series.code("defaultQuality") in ESTIMATED, flags == 1),
        line=np.array(read.line, np.int64),
    )
    for k in np.flatnonzero(raw.amount < 0)[:1]:
        raise LoadError(
            f"{path}: line {raw.line[k]}: value {raw.amount[k]:.12g} is negative; delivered and received must be"
            " separate readings"
        )
    behaviour, is_power = series.code("accumulationBehaviour"), series.code("uom") == _W
    power = series.code("powerOfTenMultiplier") - 3
    if behaviour in _REGISTERS and not is_power:
        raw = raw._replace(duration_s=np.maximum(raw.duration_s, 0))
        found = amounts_from_register(raw, path, notes)
        return without_gaps(found._replace(amount=scaled(found.amount, power)), notes)
    if behaviour not in _AMOUNTS and not (is_power and behaviour in _SAMPLES):
        raise LoadError(
            f"{path}: line {raw.line[0]}: accumulationBehaviour is {behaviour}, for readings in"
            f" {'W' if is_power else 'Wh'} it must be 0 or 4 (of each interval){'' if is_power else ' or 1, 2, 3, 9'}"
        )
    raw = raw._replace(duration_s=np.where(raw.duration_s == NOT_STATED, series.code("intervalLength"), raw.duration_s))
    for k in np.flatnonzero(raw.duration_s == 0)[:1]:
        raise LoadError(f"{path}: line {raw.line[k]}: the reading at {utc_text(raw.start[k])} has no length")
    if is_power:
        notes.append("readings in W are means of their interval")
        return raw._replace(amount=scaled(raw.amount * raw.duration_s / HOUR_S, power))
    return raw._replace(amount=scaled(raw.amount, power))


def _side_by_side(flows: dict[str, Intervals], path: Path, notes: list[str]) -> Readings:
    """Put delivered and received of the same start into one row."""
    start = np.unique(np.concatenate([found.start for found in flows.values()]))
    duration_s = np.zeros(start.size, np.int64)
    estimated = np.zeros(start.size, np.bool_)
    kwh = {"delivered": np.zeros(start.size), "received": np.zeros(start.size)}
    for flow, found in flows.items():
        row = np.searchsorted(start, found.start)
        for k in np.flatnonzero((duration_s[row] != 0) & (duration_s[row] != found.duration_s))[:1]:
            raise LoadError(
                f"{path}: line {found.line[k]}: at {utc_text(found.start[k])} delivered and received are"
                f" {duration_s[row][k]} s and {found.duration_s[k]} s long, must be of one length"
            )
        duration_s[row] = found.duration_s
        kwh[flow][row] = found.amount
        estimated[row] |= found.estimated
        if found.start.size < start.size:
            notes.append(
                f"{flow}: missing for {start.size - found.start.size} readings of the other direction; read as 0"
            )
    refuse_overlap(start, duration_s, path)
    return Readings(
        start.astype("datetime64[s]"), duration_s, kwh["delivered"], kwh["received"], estimated, clock="utc"
    )


def _summary_notes(feed: Feed, electric: list[_Series], found: Readings) -> list[str]:
    """Return notes where the file's own totals differ from the sums of its readings."""
    point = electric[0].point
    summaries = [each for name in SUMMARIES for each in feed.resources[name]]
    notes = []
    for each in summaries:
        owner = _holder((each.entry.up, each.entry.own), feed.resources["UsagePoint"])
        total = next((total for total in TOTALS if (total, "value") in each.numbers), "")
        if each.number(total, "uom") != _WH or (owner and point and owner is not point):
            continue
        first, span = each.number("billingPeriod", "start"), each.number("billingPeriod", "duration")
        start = found.start.astype(np.int64)
        covered = start[0] <= first and first + span <= start[-1] + found.duration_s[-1]
        if not (covered if span else len(summaries) == 1):
            continue
        inside = (start >= first) & (start < first + span) if span else np.ones(start.size, np.bool_)
        power = each.number(total, "powerOfTenMultiplier") - 3
        stated_kwh = float(scaled(np.array(each.numbers[total, "value"]), power))
        import_kwh, export_kwh = (float(column[inside].sum()) for column in (found.import_kwh, found.export_kwh))
        off_kwh = min(abs(import_kwh - stated_kwh), abs(import_kwh - export_kwh - stated_kwh))
        if off_kwh > _SUMMARY_TOLERANCE * abs(stated_kwh):
            period = f" for {span / 86400:g} days from {utc_text(np.int64(first))}" if span else ""
            notes.append(
                f"its summary states {stated_kwh:.3f} kWh{period}, its readings add up to {import_kwh:.3f} kWh"
            )
    return notes
