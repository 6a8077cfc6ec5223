"""Which column of a meter CSV is what: names and looks of the columns in, their roles out."""

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from solarsim.errors import LoadError, nearest
from solarsim.load.meter.csv._cells import Kind, kind_of
from solarsim.load.meter.csv._table import Table
from solarsim.load.meter.csv._words import (
    ASIDE,
    ASIDE_TIMES,
    END,
    ENERGY,
    EXPORT,
    IMPORT,
    METER,
    OF_DAY,
    OTHER,
    QUALITY,
    START,
    UNITS_COLUMN,
    direction_of,
    set_key,
    unit_in,
    words_of,
)
from solarsim.scenario.load.meter import MeterCsv

_LOOKED_AT = 200
_MOST_METERS = 20
_Label = Literal["start", "end"]
_Times = tuple[int, int | None, int | None, int | None]


@dataclass(frozen=True)
class Columns:
    """The columns that matter, by their place in the table, and the labels and clock that their names state.

    ``dates`` has dates with times of day, or dates alone with ``clocks`` beside them; ``unread`` may hold energy too.
    """

    dates: int
    clocks: int | None
    end_dates: int | None
    end_clocks: int | None
    labels: _Label | None
    clock: Literal["utc", "wall"] | None
    imports: int
    exports: int | None
    unread: tuple[int, ...]
    quality: tuple[int, ...]

    @property
    def energies(self) -> tuple[int, ...]:
        """The columns of import, and of export where there is one."""
        return (self.imports,) if self.exports is None else (self.imports, self.exports)


def find_columns(table: Table, settled: MeterCsv) -> Columns:
    """Find the columns of time, import and export, by name and looks."""
    kinds = [_kind(table, place) for place in range(len(table.names))]
    _check_one_meter(table, kinds)
    if settled.time_columns is not None:
        times = _named_times([column_place(table, name, "time_columns") for name in settled.time_columns], kinds, table)
    else:
        times = _find_times(kinds, table)
    taken = {place for place in times if place is not None}
    imports, exports, unread = _energies(table, kinds, taken, settled)
    dates, clocks, end_dates, end_clocks = times
    return Columns(
        dates,
        clocks,
        end_dates,
        end_clocks,
        labels=_label(table, dates, *([] if clocks is None else [clocks])),
        clock=_clock_in({word for place in taken for word in words_of(table.names[place])}),
        imports=imports,
        exports=exports,
        unread=unread,
        quality=tuple(
            place
            for place, name in enumerate(table.names)
            if place not in (*taken, imports, exports) and _may_be_quality(name)
        ),
    )


def unit_of(table: Table, place: int) -> str | None:
    """Return ``kwh``, ``wh``, ``kw`` or ``w`` from a column's name, the row of units or a column of units."""
    unit = unit_in(table.names[place], table.units[place])
    if unit is not None:
        return unit
    for other, name in enumerate(table.names):
        if set(words_of(name)) & UNITS_COLUMN:
            units = sorted({cell for cell in table.column(other) if cell})
            if len(units) > 1:
                raise LoadError(f"{table.path}: column {name!r} has several units: {_quoted(units)}")
            return unit_in(*units)
    return None


def column_place(table: Table, name: str, key: str) -> int:
    """Return the place of the one column that a key of the scenario names."""
    found = [place for place, each in enumerate(table.names) if each == name]
    if len(found) == 1:
        return found[0]
    if found:
        raise LoadError(f"{table.path}: has {len(found)} columns {name!r}")
    named = [each for each in table.names if each]
    raise LoadError(f"{table.path}: has no column {name!r}, which {key} names{nearest(name, named)}")


def _kind(table: Table, place: int) -> Kind:
    """Return what most cells of a column look like; a broken one is refused when it is read."""
    rows = table.rows[:: max(1, len(table.rows) // _LOOKED_AT)]
    counts = Counter(kind_of(row[place].strip()) for row in rows)
    counts.pop("empty", None)
    return counts.most_common(1)[0][0] if counts else "empty"


def _check_one_meter(table: Table, kinds: list[Kind]) -> None:
    """Refuse a file whose rows belong to several meters, or to import and export in turn."""
    for place, name in enumerate(table.names):
        if kinds[place] == "text":
            texts = sorted(set(table.column(place)))
            if len(texts) <= _MOST_METERS and {"import", "export"} <= {direction_of(cell) for cell in texts}:
                raise LoadError(
                    f"{table.path}: column {name!r} marks rows as import or export: {_quoted(texts)};"
                    " give each its own column"
                )
        words = set(words_of(name))
        if not words & METER or words & (ENERGY | IMPORT | EXPORT | QUALITY | UNITS_COLUMN):
            continue
        meters = sorted({cell for cell in table.column(place) if kind_of(cell) != "empty"})
        if kinds[place] == "number" and any("." in cell or "," in cell for cell in meters):
            continue  # readings, not names
        if 1 < len(meters) <= _MOST_METERS:
            raise LoadError(
                f"{table.path}: has {len(meters)} meters in column {name!r}: {_quoted(meters)}; keep the rows of one"
            )


def _named_times(places: list[int], kinds: list[Kind], table: Table) -> _Times:
    if len(places) == 1:
        return places[0], None, None, None
    first, second = places
    if kinds[first] == kinds[second] == "stamp":
        return first, None, second, None
    if kinds[first] in ("stamp", "date"):
        return first, second, None, None
    raise LoadError(
        f"{table.path}: time_columns: {table.names[first]!r} has no dates; name the date first, or the start"
    )


def _find_times(kinds: list[Kind], table: Table) -> _Times:
    """Return the columns of date and time of day, in one or two, and those of the interval's end."""
    looks = {kind: [place for place, each in enumerate(kinds) if each == kind] for kind in ("stamp", "date", "clock")}
    for kind, places in looks.items():  # when a file was revised or posted matters only where nothing else is a time
        of_readings = [place for place in places if not set(words_of(table.names[place])) & ASIDE_TIMES]
        others = looks["date"] and looks["clock"] if kind == "stamp" else []
        looks[kind] = of_readings or ([] if others else places)
    midnights = [place for place in looks["stamp"] if _all_midnight(table, place)] if looks["clock"] else []
    stamps = [place for place in looks["stamp"] if place not in midnights]
    if stamps:
        start, end = _start_and_end(_of_different_moments(stamps, table), table)
        return start, None, end, None
    dates = looks["date"] + midnights
    if not dates:
        raise LoadError(f"{table.path}: has no column of dates" + set_key("time_columns"))
    clocks = looks["clock"] or [
        place
        for place, name in enumerate(table.names)
        if kinds[place] == "number" and set(words_of(name)) & OF_DAY and table.rows[0][place].strip().isdigit()
    ]
    if not clocks:
        raise LoadError(
            f"{table.path}: has dates ({table.names[dates[0]]!r}) but no time of day; readings must be hourly or finer;"
            " if a column counts the hours of the day, name the columns of dates and hours in time_columns"
        )
    start, end = _start_and_end(dates, table)
    clock, end_clock = _start_and_end(clocks, table)
    return start, clock, end if end_clock is not None else None, end_clock


def _all_midnight(table: Table, place: int) -> bool:
    return all(re.search(r"\b(?:00?:00|12:00(?::00)? AM)", row[place]) for row in table.rows[:_LOOKED_AT])


def _of_different_moments(places: list[int], table: Table) -> list[int]:
    """Return columns of times without those that hold the moments of another one by another clock."""
    if len(places) == 1:
        return places
    by_moments = {place: _moments(table, place) for place in places}
    first = {moments: place for place, moments in reversed(by_moments.items()) if moments is not None}
    return [place for place, moments in by_moments.items() if moments is None or first[moments] == place]


def _moments(table: Table, place: int) -> tuple[datetime, ...] | None:
    """Return the moments of a column of times; None where one has no offset from UTC."""
    try:
        moments = tuple(datetime.fromisoformat(row[place].strip()) for row in table.rows)
    except ValueError:
        return None
    return None if any(each.tzinfo is None for each in moments) else moments


def _start_and_end(places: list[int], table: Table) -> tuple[int, int | None]:
    """Choose among columns of one look by the words start and end."""
    if len(places) == 1:
        return places[0], None
    labels = {place: _label(table, place) for place in places}
    starts = [place for place in places if labels[place] == "start"]
    ends = [place for place in places if labels[place] == "end"]
    if len(starts) == 1 and len(ends) <= 1:
        return starts[0], ends[0] if ends else None
    raise LoadError(f"{table.path}: several columns have times: {_names(table, places)}" + set_key("time_columns"))


def _label(table: Table, *places: int) -> _Label | None:
    words = {word for place in places for word in words_of(table.names[place])}
    if bool(words & START) == bool(words & END):
        return None
    return "start" if words & START else "end"


def _clock_in(words: set[str]) -> Literal["utc", "wall"] | None:
    if words & {"utc", "gmt"}:
        return "utc"
    return "wall" if words & {"local", "ortszeit", "lokalzeit"} and "standard" not in words else None


def _energies(
    table: Table, kinds: list[Kind], taken: set[int], settled: MeterCsv
) -> tuple[int, int | None, tuple[int, ...]]:
    """Return the columns of import and export, and the others that may hold energy."""
    numbers = [
        p for p, kind in enumerate(kinds) if kind == "number" and p not in taken and _may_be_energy(table.names[p])
    ]
    ways = {place: direction_of(table.names[place]) for place in numbers}
    if settled.import_column is not None:
        imported = column_place(table, settled.import_column, "import_column")
    else:
        neutral = [place for place in numbers if ways[place] is None]
        pools = (
            [place for place in numbers if ways[place] == "import"],
            [place for place in neutral if unit_in(table.names[place], table.units[place])],
            [place for place in neutral if set(words_of(table.names[place])) & ENERGY],
            neutral,
        )
        imported = _chosen(next(filter(None, pools), []), "import", numbers, table)
    exported: int | None = None
    if settled.export_column is not None:
        exported = column_place(table, settled.export_column, "export_column")
        if exported == imported:
            raise LoadError(f"{table.path}: column {settled.export_column!r} cannot be both import and export")
    elif exports := [place for place in numbers if ways[place] == "export" and place != imported]:
        exported = _chosen(exports, "export", numbers, table)
    return imported, exported, tuple(place for place in numbers if place not in (imported, exported))


def _may_be_energy(name: str) -> bool:
    words = set(words_of(name))
    if words & OTHER:
        return False
    return bool(words & (ENERGY | IMPORT | EXPORT)) or not words & (ASIDE | METER | QUALITY)


def _may_be_quality(name: str) -> bool:
    words = set(words_of(name))
    return bool(words & QUALITY) and not words & (OTHER | ENERGY | IMPORT | EXPORT)


def _chosen(pool: list[int], way: str, numbers: list[int], table: Table) -> int:
    """Return the one column, or the one in kWh or Wh."""
    energies = [place for place in pool if unit_in(table.names[place], table.units[place]) in ("kwh", "wh")]
    if len(pool) == 1 or len(energies) == 1:
        return (pool if len(pool) == 1 else energies)[0]
    if pool:
        problem = f"several columns could be {way}: {_names(table, pool)}"
    else:
        problem = f"no column is {way}" + (f", only {_names(table, numbers)}" if numbers else "")
    raise LoadError(f"{table.path}: {problem}" + set_key(f"{way}_column"))


def _names(table: Table, places: Iterable[int]) -> str:
    return _quoted(table.names[place] for place in places)


def _quoted(names: Iterable[str]) -> str:
    return ", ".join(repr(name) for name in names)[:300]
