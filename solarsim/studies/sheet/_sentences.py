"""What to program, as sentences: settings and slots in, words out."""

from collections.abc import Callable, Iterator

import numpy as np

from solarsim.clock.days import day_words
from solarsim.clock.timeline import Timeline
from solarsim.clock.words import clock, date_words, spans_of
from solarsim.dispatch.programmable import change_dates, knows_holidays, slots_to_key
from solarsim.dispatch.slots import KeyedTables, Slot
from solarsim.scenario.programmable import Programmable
from solarsim.scenario.strategy import Strategy


def slot_sentence(slot: Slot, tables: KeyedTables, battery_v: float | None) -> str:
    """Return a slot as one sentence: what differs from the base."""
    whole_day = (slot.start_min, slot.end_min) == (0, 1440)
    spans = spans_of(slot.start_min, slot.end_min, slot.days >= tables.days)
    hours = " and ".join(f"from {clock(start)} to {clock(end)}" for start, end in spans)
    when = "All day" if whole_day else f"F{hours[1:]}"
    told = "; ".join(clauses(slot.settings, tables.base, battery_v))
    days = day_words(slot.days, tables.days)
    return f"{when} {days if days == 'every day' else f'on {days}'}: {told or 'base settings'}."


def base_sentence(base: Strategy, battery_v: float | None, has_battery: bool) -> str:
    """Return the base settings as one sentence."""
    told = "; ".join(clauses(base, None, battery_v) if has_battery else _export_clauses(base, None))
    return f"{told[0].upper()}{told[1:]}." if told else "No export limit."


def discharges(now: Strategy) -> bool:
    """Return whether the battery may discharge while the grid is there."""
    return _serves(now) or _sells(now) or _covers_peaks(now)


def clauses(now: Strategy, base: Strategy | None, battery_v: float | None) -> Iterator[str]:
    """Yield what is programmed: all of the base, and of a slot what differs from it."""

    def differs(*keys: str) -> bool:
        return base is None or any(getattr(now, key) != getattr(base, key) for key in keys)

    if differs("surplus_to"):
        yield f"surplus solar goes to the {now.surplus_to} first"
    if now.solar_ceiling < 1.0 and differs("solar_ceiling"):
        yield f"stop solar charging at {_percent(now.solar_ceiling)}"
    elif base is not None and differs("solar_ceiling"):
        yield "allow solar charging to 100%"
    charge = _charge(now, battery_v)
    if base is None or charge != _charge(base, battery_v):
        yield charge
    yield from _discharge_clauses(now, base, battery_v)
    told = _covers_peaks(now) and not _serves(now)
    if now.import_cap_kw is not None and not told and differs("import_cap_kw", "battery_serves_load", "reserve"):
        yield f"limit import to {now.import_cap_kw:g} kW"
    yield from _export_clauses(now, base)
    if base is None and (now.charge_from_grid_to > now.reserve or not (_serves(now) or _covers_peaks(now))):
        yield f"reserve {_percent(now.reserve)}"
    if now.off_grid_floor > 0.0 and differs("off_grid_floor"):
        yield f"in an outage stop at {_percent(now.off_grid_floor)}"
    elif base is not None and differs("off_grid_floor"):
        yield "in an outage stop at the low cutoff"


def _export_clauses(now: Strategy, base: Strategy | None) -> Iterator[str]:
    """Yield the export limit, which an inverter without a battery has, too."""
    if now.export_limit_kw is not None and (base is None or now.export_limit_kw != base.export_limit_kw):
        yield "export nothing" if now.export_limit_kw == 0 else f"limit export to {now.export_limit_kw:g} kW"
    if base is None and now.zero_export_bias_kw:
        yield f"keep importing {now.zero_export_bias_kw:g} kW while nothing is exported"


def _discharge_clauses(now: Strategy, base: Strategy | None, battery_v: float | None) -> Iterator[str]:
    """Yield whether the battery sells and how far down it discharges."""
    if _sells(now) and (base is None or _sale(now) != _sale(base)):
        yield _sale(now)
    if base is None:
        yield _discharge(now, battery_v)
    elif _discharge(now, battery_v) != _discharge(base, battery_v):
        limits = ("load_served", "discharge_limit_kw", "discharge_limit_a")
        as_base = _serves(now) and _serves(base) and all(getattr(now, key) == getattr(base, key) for key in limits)
        raised = as_base and _floor(now) > _floor(base)
        yield f"keep at least {_percent(_floor(now))}" if raised else _discharge(now, battery_v)
    if not _sells(now) and (base is None or (_sells(base) and discharges(now))):
        yield "do not sell from the battery"


def _charge(now: Strategy, battery_v: float | None) -> str:
    if now.charge_from_grid_to == 0.0:
        return "do not charge from the grid"
    limit = _limit(now.grid_charge_kw, now.grid_charge_a, battery_v)
    return f"charge from the grid to {_percent(now.charge_from_grid_to)}{limit}"


def _sale(now: Strategy) -> str:
    """Return how far down the battery sells."""
    most = "" if now.sell_limit_kw is None else f" at up to {now.sell_limit_kw:g} kW"
    return f"sell from the battery to the grid down to {_percent(_sell_floor(now))}{most}"


def _discharge(now: Strategy, battery_v: float | None) -> str:
    """Return how far down the battery serves the home; one wording for each way to say that it does not discharge."""
    limit = _limit(now.discharge_limit_kw, now.discharge_limit_a, battery_v)
    if not discharges(now):
        return "do not discharge"
    if _serves(now):
        load = "the home" if now.load_served == "home" else "only the backed-up loads"
        return f"serve {load} from the battery down to {_percent(_floor(now))}{limit}"
    if _covers_peaks(now):
        return f"discharge only to limit import to {now.import_cap_kw:g} kW, down to {_percent(now.reserve)}{limit}"
    return f"keep at least {_percent(_sell_floor(now))}" + (f"; discharge{limit}" if limit else "")


def _floor(now: Strategy) -> float:
    """Return how far down the battery may serve the home: an order to charge is a floor, too."""
    return max(now.reserve, now.charge_from_grid_to)


def _sell_floor(now: Strategy) -> float:
    return max(_floor(now), now.sell_down_to)


def _serves(now: Strategy) -> bool:
    return now.battery_serves_load and _floor(now) < 1.0 and not _blocked(now)


def _covers_peaks(now: Strategy) -> bool:
    """Return whether the battery covers demand above an import cap, whether or not it serves the home otherwise."""
    return now.import_cap_kw is not None and now.reserve < 1.0 and not _blocked(now)


def _sells(now: Strategy) -> bool:
    allowed = now.export_limit_kw != 0.0 and now.sell_limit_kw != 0.0 and not _blocked(now)
    return now.sell_down_to < 1.0 and allowed


def _blocked(now: Strategy) -> bool:
    return 0.0 in (now.discharge_limit_kw, now.discharge_limit_a)


def _percent(share: float) -> str:
    return f"{100 * share:.4g}%"


def _limit(limit_kw: float | None, limit_a: float | None, battery_v: float | None) -> str:
    if limit_a is not None:
        power = "" if battery_v is None else f" ({limit_a * battery_v / 1000:.3g} kW)"
        return f" at up to {limit_a:g} A{power}"
    return "" if limit_kw is None else f" at up to {limit_kw:g} kW"


def needs(tables: KeyedTables, machine: Programmable | None, has_battery: bool) -> Iterator[str]:
    """Yield what an inverter must be able to do for a strategy; both ways to fill a day where its menu is not known."""
    fewest = max(slots_to_key(season, fill_day=False) for season in tables.seasons)
    filled = max(slots_to_key(season, fill_day=True) for season in tables.seasons)
    if filled > 1:
        beside = f"{fewest} time slot{'s' * (fewest != 1)} in addition to the base settings"
        filling = f"{filled} slots that fill the day"
        if machine is not None and fewest:
            yield filling if machine.fill_day else beside
        else:
            yield f"{beside}, or {filling}" if fewest else beside
    if len(tables.seasons) > 1:
        by_hand = "" if machine is not None else f", or settings changed by hand on {change_dates(tables)}"
        yield f"{len(tables.seasons)} tables by season{by_hand}"
    if any(not slot.days >= tables.days for season in tables.seasons for slot in season.slots):
        yield "slots for days of the week"
    if knows_holidays(tables):
        yield "holidays, which no inverter clock has (use mon-fri instead of weekday to avoid this)"
    if has_battery:
        yield from _functions(tables)
    yield from _export_functions(tables)


def _functions(tables: KeyedTables) -> Iterator[str]:
    """Yield functions beside the time slots that a battery's settings need."""

    def needed(what: str, value: Callable[[Strategy], object], usual: object) -> Iterator[str]:
        if not {value(now) for now in _in_force(tables)} <= {usual, _NO_EFFECT}:
            varies = _varies(tables, value)
            yield f"{what}, by {varies}" if varies else what

    yield from needed("sending surplus solar to the grid before the battery", lambda now: now.surplus_to, "battery")
    yield from needed("a ceiling for solar charging", lambda now: now.solar_ceiling, 1.0)
    yield from needed("charging from the grid to a level", lambda now: now.charge_from_grid_to, 0.0)
    yield from needed("a power or current limit for charging from the grid", _grid_charge_limit, (None, None))
    varies = _varies(tables, lambda now: (_serves(now), discharges(now)))
    if varies:
        yield f"discharge permitted or not, by {varies}"
    elif not any(map(discharges, _in_force(tables))):
        yield "no discharge while the grid is available"
    yield from needed("a power or current limit for discharging", _discharge_limit, (None, None))
    each = _varies(tables, lambda now: now.reserve if discharges(now) else _NO_EFFECT)
    if each:
        yield f"a reserve for each {each}"
    sells = needed("selling from the battery down to a level", lambda now: _sells(now) and _sell_floor(now), False)
    yield from (f"{what}, where the utility permits it" for what in sells)
    yield from needed("a power limit for selling", lambda now: now.sell_limit_kw if _sells(now) else _NO_EFFECT, None)
    yield from (f"{what}{_SENSOR}" for what in needed("an import limit", lambda now: now.import_cap_kw, None))
    yield from needed("serving only the backed-up loads", _load_served, "home")
    yield from needed(
        "a low limit off the grid that is separate from the one on the grid", lambda now: now.off_grid_floor, 0.0
    )


def _export_functions(tables: KeyedTables) -> Iterator[str]:
    """Yield functions that limits of export need, with a battery or without."""
    settings = _in_force(tables)
    if any(now.export_limit_kw is not None for now in settings):
        varies = _varies(tables, lambda now: now.export_limit_kw)
        yield f"an export limit{f', by {varies}' if varies else ''}{_SENSOR}"
    if any(now.export_limit_kw == 0.0 and now.zero_export_bias_kw > 0.0 for now in settings):
        yield "a small import that is kept while nothing is exported"


_NO_EFFECT = "no effect"  # of a setting beside others; whatever it is need not be programmed
_SENSOR = ", with a sensor at the meter"


def _in_force(tables: KeyedTables) -> list[Strategy]:
    """Return the settings of all slots; those of a base that holds in none of them are not needed."""
    return [slot.settings for season in tables.seasons for slot in season.slots]


def _varies(tables: KeyedTables, value: Callable[[Strategy], object]) -> str:
    """Return by what a setting differs, slot or season; empty where it does not."""
    seasons = [{value(slot.settings) for slot in season.slots} - {_NO_EFFECT} for season in tables.seasons]
    if len(set[object]().union(*seasons)) < 2:
        return ""
    return "slot" if any(len(each) > 1 for each in seasons) else "season"


def _grid_charge_limit(now: Strategy) -> object:
    return (now.grid_charge_kw, now.grid_charge_a) if now.charge_from_grid_to > 0.0 else _NO_EFFECT


def _load_served(now: Strategy) -> object:
    return now.load_served if _serves(now) else _NO_EFFECT


def _discharge_limit(now: Strategy) -> object:
    return (now.discharge_limit_kw, now.discharge_limit_a) if discharges(now) else _NO_EFFECT


def clock_sentences(timeline: Timeline) -> Iterator[str]:
    """Yield what changes with daylight saving."""
    change_h = np.diff(timeline.wall_offset_h)
    at = np.flatnonzero(change_h)
    if not at.size:
        yield f"The clock of {timeline.zone} does not change in {timeline.year}."
        return
    dates = {way: _date(timeline, int(index)) for index in at for way in [bool(change_h[index] > 0)]}
    minutes = round(60 * float(np.abs(change_h[at]).max()))
    yield (
        f"Slots are in local clock time: forward {minutes} minutes on {dates.get(True, 'no day')}, back on"
        f" {dates.get(False, 'no day')}. An inverter whose clock does not change runs every slot {minutes} minutes late"
        " during daylight saving: set its clock by hand on both days."
    )
    yield f"On those two days a slot during the change is shorter or longer by {minutes} minutes."


def _date(timeline: Timeline, index: int) -> str:
    year, _, day = str(timeline.wall[index + 1])[:10].partition("-")
    return f"{date_words(day)}, {year}"
