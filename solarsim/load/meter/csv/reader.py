"""Read a meter CSV: a file in, readings with what was found out.

What a file leaves open (its clock, what a label means, a unit) is asked for, never assumed: each question names the
key of ``load.meter`` that settles it.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError
from solarsim.load.meter.csv._cells import decimal_of, numbers_from, starts_and_ends
from solarsim.load.meter.csv._checks import (
    check_ends,
    check_rises,
    check_signs,
    looks_like_a_register,
    own_consumption,
    own_consumption_note,
)
from solarsim.load.meter.csv._columns import Columns, find_columns, unit_of
from solarsim.load.meter.csv._order import HOUR_S, FileLines, TimeOrder, length, order_of, when
from solarsim.load.meter.csv._table import Table, read_table, skipped
from solarsim.load.meter.csv._times import Stamps, stamps_from
from solarsim.load.meter.csv._words import direction_of, set_key, words_of
from solarsim.load.meter.readings import Readings
from solarsim.scenario.load.meter import MeterCsv

_WRITTEN = {"kwh": "kWh", "wh": "Wh", "kw": "kW", "w": "W"}
_ESTIMATED = frozenset(("e", "est", "estimate", "estimated", "geschatzt", "ersatzwert", "estime", "estimee"))
_YES = frozenset(("yes", "y", "true", "1", "x", "ja", "oui"))

_Clock = Literal["utc", "wall"]
_Holds = Literal["import", "production"]
_Integers = NDArray[np.int64]


@dataclass(frozen=True)
class _Terms:
    """What times and numbers mean, once nothing is left open; a register needs no labels."""

    clock: _Clock
    labels: Literal["start", "end"] | None
    units: tuple[str, ...]


def read_meter_csv(
    path: Path,
    format: MeterCsv,  # noqa: A002  the word that every reader uses
    holds: _Holds = "import",
) -> Readings:
    """Read the interval data of one meter.

    Parameters
    ----------
    path : pathlib.Path
        The file.
    format : MeterCsv
        What settles its ambiguities.
    holds : str
        What notes call the energy of ``import_kwh``: ``import``, or the ``production`` of a home's solar.

    Returns
    -------
    Readings
        Energy of each interval [kWh], with notes. Rows without a value are skipped. An hour that the wall clock shows
        twice appears twice, the earlier first. A register's difference over a gap is skipped, with a note.

    Raises
    ------
    LoadError
        The file cannot be read, has no table of readings, several meters, two readings for one time, negative values
        (of production only those that are more than inverters draw at night), a register that falls, or steps that do
        not divide an hour; or it leaves open, and ``format`` does not settle, its delimiter, decimals, columns, order
        of dates, clock, labels, unit, or whether it is a register.

    Notes
    -----
    A fixed clock that is neither UTC nor printed with its offset (standard time all year) is not modeled.
    """
    table = read_table(path, format)
    columns = find_columns(table, format)
    stamps, end_s = _times(table, columns, format)
    values, decimal = _values(table, columns, format)
    whole = np.flatnonzero(~np.isnan(values).any(axis=1))
    if whole.size == 0:
        raise LoadError(f"{path}: no row has a value")

    drawn = own_consumption(values) if holds == "production" else np.zeros_like(values)
    values = values + drawn

    known_clock = _known_clock(stamps, columns, format)
    stamp_s = stamps.local_s
    if known_clock == "utc" and stamps.offset_s is not None:
        stamp_s = stamp_s - stamps.offset_s
    file = FileLines(path, [table.lines[row] for row in whole.tolist()])
    order = order_of(stamp_s[whole], values[whole], known_clock, file)
    if known_clock is None and order.shows_clock_changes:  # then rows alike on the night of a change are no repeats
        order = order_of(stamp_s[whole], values[whole], "wall", file)
    rows = whole[order.rows]
    file = FileLines(path, [table.lines[row] for row in rows.tolist()])
    names = tuple(table.names[place] for place in columns.energies)
    check_signs(values[rows], names, file)
    if end_s is not None:
        check_ends(stamps.local_s[rows], end_s[rows], order.step_s, file)
    terms = _settled(table, columns, format, stamps, order, values[rows], two_times=end_s is not None)
    notes = [*table.notes, *_found(table, columns, stamps, decimal, terms, order, holds), *order.notes]

    for_one = [_kwh_for_one(unit, order.step_s) for unit in terms.units]
    if drawn[rows].any():
        notes.append(own_consumption_note(drawn[rows], _WRITTEN[terms.units[0]], float((drawn[rows] * for_one).sum())))
    energy_kwh = values[rows] * for_one
    estimated = _estimated(table, columns)[rows]
    start_s, duration_s = stamp_s[rows], np.full(rows.size, order.step_s)
    if format.kind == "register":
        check_rises(values[rows], names, file)
        start_s, duration_s = _between(start_s, order, at_end=end_s is not None and format.labels == "end")
        energy_kwh, estimated = np.diff(energy_kwh, axis=0), estimated[1:]
        near = duration_s == order.step_s
        if not near.all():
            notes.append(
                f"{energy_kwh[~near, 0].sum():.3f} kWh of the register fall into gaps, the first from"
                f" {when(int(start_s[~near][0]))}; they are not used"
            )
        start_s, duration_s, energy_kwh, estimated = start_s[near], duration_s[near], energy_kwh[near], estimated[near]
    elif terms.labels == "end":
        start_s = start_s - order.step_s
    notes += _counted(table, columns, values, estimated)
    return Readings(
        start=start_s.astype("datetime64[s]"),
        duration_s=duration_s.astype(np.int64),
        import_kwh=energy_kwh[:, 0],
        export_kwh=energy_kwh[:, 1] if columns.exports is not None else np.zeros(start_s.size),
        estimated=estimated,
        clock=terms.clock,
        labeled_by_end=terms.labels == "end",
        notes=tuple(f"{path}: {note}" for note in notes),
    )


def _times(table: Table, columns: Columns, settled: MeterCsv) -> tuple[Stamps, _Integers | None]:
    """Return when each row is, and when it ends by the same clock where the file has that [s since 1970]."""
    dates, end_dates = starts_and_ends(table.column(columns.dates))
    clocks, end_clocks = (None, None) if columns.clocks is None else starts_and_ends(table.column(columns.clocks))
    if columns.end_dates is not None:
        end_dates = table.column(columns.end_dates)
    if columns.end_clocks is not None:
        end_clocks = table.column(columns.end_clocks)
    start = stamps_from(dates, clocks, table.lines, table.path, settled)
    if end_dates is None and end_clocks is None:
        return start, None
    return start, stamps_from(end_dates or dates, end_clocks, table.lines, table.path, settled).local_s


def _values(table: Table, columns: Columns, settled: MeterCsv) -> tuple[NDArray[np.float64], str | None]:
    """Return import and export [row, column] as printed, and the decimal separator."""
    cells = [table.column(place) for place in columns.energies]
    decimal = decimal_of((cell for column in cells for cell in column), table.path, settled)
    read = [
        numbers_from(column, table.lines, table.names[place], decimal, table.path)
        for place, column in zip(columns.energies, cells, strict=True)
    ]
    return np.column_stack(read), decimal


def _known_clock(stamps: Stamps, columns: Columns, settled: MeterCsv) -> _Clock | None:
    """Return the clock that the user, offsets, zones or names of columns state."""
    if settled.clock is not None:
        return settled.clock
    if stamps.offset_s is not None:
        return "utc"
    return "wall" if len(stamps.zones) > 1 else columns.clock


def _settled(
    table: Table,
    columns: Columns,
    settled: MeterCsv,
    stamps: Stamps,
    order: TimeOrder,
    values: NDArray[np.float64],
    two_times: bool,
) -> _Terms:
    """Return what the user, the file's words and its times state; ask for all that is still open at once."""
    open_questions = []
    clock = _known_clock(stamps, columns, settled) or ("wall" if order.shows_clock_changes else None)
    if clock is None:
        open_questions.append(
            "it is unclear whether times are local (wall-clock) time or UTC: they have no UTC offset, and no hour is"
            " skipped in spring or repeated in fall" + set_key("clock", "wall", "utc")
        )
    rising = [
        table.names[place]
        for number, place in enumerate(columns.energies)
        if settled.kind is None and looks_like_a_register(values[:, number])
    ]
    open_questions += [
        f"{name!r} never falls, as a register does" + set_key("kind", "register", "interval") for name in rising[:1]
    ]
    labels: Literal["start", "end"] | None = None
    if settled.kind != "register":
        labels = "start" if two_times else settled.labels or columns.labels or ("end" if stamps.ends_at_24 else None)
    if settled.kind != "register" and labels is None and not rising:  # a register needs no label
        name = table.names[columns.dates if columns.clocks is None else columns.clocks]
        open_questions.append(
            f"it is unclear whether {name!r} is the start or the end of the interval"
            + set_key("labels", "start", "end")
        )
    if settled.kind == "register" and two_times and settled.labels is None:
        open_questions.append(
            "has start and end, and it is unclear at which the register was read" + set_key("labels", "start", "end")
        )
    units = []
    for place in columns.energies:
        unit = settled.unit or unit_of(table, place)
        units.append(unit or "")
        if unit is None:
            open_questions.append(f"{table.names[place]!r} has no unit" + set_key("unit", "kwh", "wh", "kw", "w"))
        elif settled.kind == "register" and unit in ("kw", "w"):
            open_questions.append(
                f"{table.names[place]!r} is in {_WRITTEN[unit]}, but a register counts energy"
                + set_key("unit", "kwh", "wh")
            )
    if clock is None or open_questions:
        raise LoadError(*(f"{table.path}: {question}" for question in open_questions))
    return _Terms(clock, labels, tuple(units))


def _kwh_for_one(unit: str, step_s: int) -> float:
    """Return the energy of one interval whose value is 1 [kWh]."""
    return (1e-3 if unit in ("wh", "w") else 1.0) * (step_s / HOUR_S if unit in ("kw", "w") else 1.0)


def _between(read_s: _Integers, order: TimeOrder, at_end: bool) -> tuple[_Integers, _Integers]:
    """Return start and length of the intervals between a register's readings [s]; clock changes make no length."""
    duration_s = np.diff(read_s)
    changed = (duration_s <= 0) | np.isin(read_s[:-1] + order.step_s, order.missing_s)
    duration_s[changed] = order.step_s
    if not at_end:
        return read_s[:-1], duration_s
    return np.where(duration_s == order.step_s, read_s[1:], read_s[:-1] + order.step_s), duration_s


def _estimated(table: Table, columns: Columns) -> NDArray[np.bool_]:
    """Return for each row whether the utility calls its value estimated."""
    estimated = np.zeros(len(table.rows), np.bool_)
    for place in columns.quality:
        asks = any(word.startswith("estim") for word in words_of(table.names[place]))
        cells = table.column(place)
        flagged = {cell for cell in set(cells) if set(words_of(cell)) & _ESTIMATED or (asks and cell.lower() in _YES)}
        estimated |= np.array([cell in flagged for cell in cells], np.bool_)
    return estimated


def _found(
    table: Table, columns: Columns, stamps: Stamps, decimal: str | None, terms: _Terms, order: TimeOrder, holds: _Holds
) -> list[str]:
    """Return notes on how the file was read."""
    notes = ["the decimal separator is a comma"] if decimal == "," else []
    clock = {"wall": "times are wall-clock time", "utc": "times are UTC"}[terms.clock]
    if terms.clock == "utc" and stamps.offset_s is not None:
        clock = "times were converted to UTC by their offsets"
    elif stamps.offset_s is not None:
        clock += "; their UTC offsets are ignored"
    changes = [f"{when(time)} appears twice" for time in order.doubled_s]
    changes += [f"{when(time)} is skipped" for time in order.missing_s]
    notes.append(clock + (f": {', '.join(sorted(changes))}" if changes and terms.clock == "wall" else ""))
    notes.append(f"dates are read in the order {stamps.date_order}")
    label = f", each labeled by its {terms.labels}" if terms.labels else ""
    notes.append(f"readings are {length(order.step_s)} apart{label}")
    for place, way, unit in zip(columns.energies, (holds, "export"), terms.units, strict=False):
        unclear = way != "production" and direction_of(table.names[place]) is None
        why = ", whose name states no direction" if unclear else ""
        notes.append(f"{way} is read from {table.names[place]!r} in {_WRITTEN[unit]}{why}")
    if columns.unread:
        notes.append(f"columns not read: {', '.join(repr(table.names[place]) for place in columns.unread)}")
    return notes


def _counted(table: Table, columns: Columns, values: NDArray[np.float64], estimated: NDArray[np.bool_]) -> list[str]:
    """Return notes on rows without a value, and on estimated ones."""
    notes = []
    for number, place in enumerate(columns.energies):
        empty = int(np.isnan(values[:, number]).sum())
        if empty:
            notes.append(skipped(empty, "row", f" without a value in {table.names[place]!r}"))
    if estimated.any():
        notes.append(f"the utility estimated {int(estimated.sum())} of {estimated.size} values")
    return notes
