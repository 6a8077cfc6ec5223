"""A meter CSV as utilities export it: a file in, readings with what was found out.

What a file leaves open (its clock, what a label means, a unit) is asked for, never assumed: each
question names the key of ``load.meter`` that settles it.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from solarsim.errors import LoadError
from solarsim.load.meter.csv_cells import parted
from solarsim.load.meter.csv_checks import check_ends, check_rises, check_signs, looks_like_a_register
from solarsim.load.meter.csv_numbers import decimal_of, numbers_from
from solarsim.load.meter.csv_roles import Roles, find_roles, unit_of
from solarsim.load.meter.csv_stamps import DAY_S, Stamps, stamps_from
from solarsim.load.meter.csv_table import Table, left_out, read_table
from solarsim.load.meter.csv_words import direction_of, words_of
from solarsim.load.meter.readings import Readings
from solarsim.load.meter.time_order import HOUR_S, FileLines, TimeOrder, length, order_of, when
from solarsim.scenario.load.meter import MeterCsv, settled_by

_MOST_KWH_A_YEAR = 60_000.0
_WRITTEN = {"kwh": "kWh", "wh": "Wh", "kw": "kW", "w": "W"}
_ESTIMATED = frozenset(("e", "est", "estimate", "estimated", "geschatzt", "ersatzwert", "estime", "estimee"))
_YES = frozenset(("yes", "y", "true", "1", "x", "ja", "oui"))

_Clock = Literal["utc", "wall"]


@dataclass(frozen=True)
class _Terms:
    """What times and numbers mean, once nothing is left open; a register needs no labels."""

    clock: _Clock
    labels: Literal["start", "end"] | None
    units: tuple[str, ...]


_Holds = Literal["import", "production"]


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
        Energy of each interval [kWh], with notes. Rows without a value are left out. An hour that
        the wall clock shows twice stands whole, the earlier first. Where a wall clock labels the end
        of the interval, a start is its label less the interval (``Readings.ends_told``). A
        register's difference over a gap is left out and told.

    Raises
    ------
    LoadError
        The file cannot be read, has no table of readings, holds what is no time or no number,
        several meters, two readings for one time, negative values, a register that falls, or steps
        that are no part of an hour; or it leaves open, and ``format`` does not settle, its
        delimiter, decimals, columns, order of dates, clock, labels, unit, or whether it is a
        register.

    Notes
    -----
    A fixed clock that is neither UTC nor printed with its offset (standard time all year) is not
    modeled.
    """
    table = read_table(path, format)
    roles = find_roles(table, format)
    stamps, end_s = _times(table, roles, format)
    values, decimal = _values(table, roles, format)
    whole = np.flatnonzero(~np.isnan(values).any(axis=1))
    if whole.size == 0:
        raise LoadError(f"{path}: no row holds a value")

    told = _told_clock(stamps, roles, format)
    stamp_s = stamps.local_s
    if told == "utc" and stamps.offset_s is not None:
        stamp_s = stamp_s - stamps.offset_s
    file = FileLines(path, [table.lines[row] for row in whole.tolist()])
    order = order_of(stamp_s[whole], values[whole], told, file)
    if told is None and order.shows_clock_changes:  # then rows alike on the night of a change are no repeats
        order = order_of(stamp_s[whole], values[whole], "wall", file)
    rows = whole[order.rows]
    file = FileLines(path, [table.lines[row] for row in rows.tolist()])
    names = tuple(table.names[place] for place in roles.energies)
    check_signs(values[rows], names, file)
    if end_s is not None:
        check_ends(stamps.local_s[rows], end_s[rows], order.step_s, file)
    terms = _settled(table, roles, format, stamps, order, values[rows], two_times=end_s is not None)
    notes = [*table.notes, *_found(table, roles, stamps, decimal, terms, order, holds), *order.notes]

    energy_kwh = values[rows] * [_kwh_for_one(unit, order.step_s) for unit in terms.units]
    estimated = _estimated(table, roles)[rows]
    start_s, duration_s = stamp_s[rows], np.full(rows.size, order.step_s)
    if format.kind == "register":
        check_rises(values[rows], names, file)
        start_s, duration_s = _between(start_s, order, at_end=end_s is not None and format.labels == "end")
        energy_kwh, estimated = np.diff(energy_kwh, axis=0), estimated[1:]
        near = duration_s == order.step_s
        if not near.all():
            notes.append(
                f"{energy_kwh[~near, 0].sum():.3f} kWh of the register fall into gaps, the first from"
                f" {when(int(start_s[~near][0]))}; they stay gaps"
            )
        start_s, duration_s, energy_kwh, estimated = start_s[near], duration_s[near], energy_kwh[near], estimated[near]
    elif terms.labels == "end":
        start_s = start_s - order.step_s
    notes += _counted(table, roles, values, estimated) + _doubts(energy_kwh[:, 0], duration_s)
    return Readings(
        start=start_s.astype("datetime64[s]"),
        duration_s=duration_s.astype(np.int64),
        import_kwh=energy_kwh[:, 0],
        export_kwh=energy_kwh[:, 1] if roles.exports is not None else np.zeros(start_s.size),
        estimated=estimated,
        clock=terms.clock,
        ends_told=terms.labels == "end",
        notes=tuple(f"{path}: {note}" for note in notes),
    )


def _times(table: Table, roles: Roles, settled: MeterCsv) -> tuple[Stamps, NDArray[np.int64] | None]:
    """Read when each row is, and when it ends by the same clock where the file says so [s since 1970]."""
    dates, end_dates = parted(table.column(roles.dates))
    clocks, end_clocks = (None, None) if roles.clocks is None else parted(table.column(roles.clocks))
    if roles.end_dates is not None:
        end_dates = table.column(roles.end_dates)
    if roles.end_clocks is not None:
        end_clocks = table.column(roles.end_clocks)
    start = stamps_from(dates, clocks, table.lines, table.path, settled)
    if end_dates is None and end_clocks is None:
        return start, None
    return start, stamps_from(end_dates or dates, end_clocks, table.lines, table.path, settled).local_s


def _values(table: Table, roles: Roles, settled: MeterCsv) -> tuple[NDArray[np.float64], str | None]:
    """Read import and export [row, column] as printed, and find what stands before their decimals."""
    columns = [table.column(place) for place in roles.energies]
    decimal = decimal_of((cell for column in columns for cell in column), table.path, settled)
    read = [
        numbers_from(column, table.lines, table.names[place], decimal, table.path)
        for place, column in zip(roles.energies, columns, strict=True)
    ]
    return np.column_stack(read), decimal


def _told_clock(stamps: Stamps, roles: Roles, settled: MeterCsv) -> _Clock | None:
    if settled.clock is not None:
        return settled.clock
    if stamps.offset_s is not None:
        return "utc"
    return "wall" if len(stamps.zones) > 1 else roles.clock


def _settled(
    table: Table,
    roles: Roles,
    settled: MeterCsv,
    stamps: Stamps,
    order: TimeOrder,
    values: NDArray[np.float64],
    two_times: bool,
) -> _Terms:
    """Take what the user, the file's words and its times tell; ask for all that is still open at once."""
    path, questions = table.path, []
    clock = _told_clock(stamps, roles, settled) or ("wall" if order.shows_clock_changes else None)
    if clock is None:
        questions.append(
            f"{path}: no offset, and no hour missing in spring or doubled in autumn, tells whether times are the wall"
            " clock's or UTC" + settled_by("clock", "wall", "utc")
        )
    rising = [
        table.names[place]
        for number, place in enumerate(roles.energies)
        if settled.kind is None and looks_like_a_register(values[:, number])
    ]
    questions += [
        f"{path}: {name!r} never falls, as a register does" + settled_by("kind", "register", "interval")
        for name in rising[:1]
    ]
    labels: Literal["start", "end"] | None = None
    if settled.kind != "register":
        labels = "start" if two_times else settled.labels or roles.labels or ("end" if stamps.ends_at_24 else None)
    if settled.kind != "register" and labels is None and not rising:  # a register needs no label
        name = table.names[roles.dates if roles.clocks is None else roles.clocks]
        questions.append(
            f"{path}: no word tells whether {name!r} is the start or the end of the"
            " interval" + settled_by("labels", "start", "end")
        )
    if settled.kind == "register" and two_times and settled.labels is None:
        questions.append(
            f"{path}: has start and end, and does not tell at which the register was read"
            + settled_by("labels", "start", "end")
        )
    units = []
    for place in roles.energies:
        unit = settled.unit or unit_of(table, place)
        units.append(unit or "")
        if unit is None:
            questions.append(
                f"{path}: {table.names[place]!r} tells no unit" + settled_by("unit", "kwh", "wh", "kw", "w")
            )
        elif settled.kind == "register" and unit in ("kw", "w"):
            questions.append(
                f"{path}: {table.names[place]!r} is in {_WRITTEN[unit]}, but a register counts energy"
                + settled_by("unit", "kwh", "wh")
            )
    if clock is None or questions:
        raise LoadError(*questions)
    return _Terms(clock, labels, tuple(units))


def _kwh_for_one(unit: str, step_s: int) -> float:
    """Energy of one interval whose value is 1 [kWh]."""
    return (1e-3 if unit in ("wh", "w") else 1.0) * (step_s / HOUR_S if unit in ("kw", "w") else 1.0)


def _between(read_s: NDArray[np.int64], order: TimeOrder, at_end: bool) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Start and length of the intervals between a register's readings [s].

    Where the clock changes, the interval is one step long, whatever the clock shows.
    """
    duration_s = np.diff(read_s)
    changed = (duration_s <= 0) | np.isin(read_s[:-1] + order.step_s, order.missing_s)
    duration_s[changed] = order.step_s
    if not at_end:
        return read_s[:-1], duration_s
    return np.where(duration_s == order.step_s, read_s[1:], read_s[:-1] + order.step_s), duration_s


def _estimated(table: Table, roles: Roles) -> NDArray[np.bool_]:
    """Say for each row whether the utility calls its value estimated."""
    estimated = np.zeros(len(table.rows), np.bool_)
    for place in roles.quality:
        asks = any(word.startswith("estim") for word in words_of(table.names[place]))
        cells = table.column(place)
        flagged = {cell for cell in set(cells) if set(words_of(cell)) & _ESTIMATED or (asks and cell.lower() in _YES)}
        estimated |= np.array([cell in flagged for cell in cells], np.bool_)
    return estimated


def _found(
    table: Table, roles: Roles, stamps: Stamps, decimal: str | None, terms: _Terms, order: TimeOrder, holds: _Holds
) -> list[str]:
    """Tell what the file was taken for."""
    notes = ["decimals stand after a comma"] if decimal == "," else []
    clock = {"wall": "times are wall clock", "utc": "times are UTC"}[terms.clock]
    if terms.clock == "utc" and stamps.offset_s is not None:
        clock += ", from the offsets beside them"
    elif stamps.offset_s is not None:
        clock += "; the offsets beside them were left out of account"
    changes = [f"{when(time)} stands twice" for time in order.doubled_s]
    changes += [f"{when(time)} is missing" for time in order.missing_s]
    notes.append(clock + (f": {', '.join(sorted(changes))}" if changes and terms.clock == "wall" else ""))
    notes.append(f"dates are read in the order {stamps.date_order}")
    label = f", each labelled by its {terms.labels}" if terms.labels else ""
    notes.append(f"readings stand {length(order.step_s)} apart{label}")
    for place, way, unit in zip(roles.energies, (holds, "export"), terms.units, strict=False):
        unclear = way != "production" and direction_of(table.names[place]) is None
        untold = ", whose name tells no direction" if unclear else ""
        notes.append(f"{way} is read from {table.names[place]!r} in {_WRITTEN[unit]}{untold}")
    if roles.unread:
        notes.append(f"not read: {', '.join(repr(table.names[place]) for place in roles.unread)}")
    return notes


def _counted(table: Table, roles: Roles, values: NDArray[np.float64], estimated: NDArray[np.bool_]) -> list[str]:
    """Tell how many rows have no value, and how many an estimated one."""
    notes = []
    for number, place in enumerate(roles.energies):
        empty = int(np.isnan(values[:, number]).sum())
        if empty:
            notes.append(left_out(empty, "row", f" without a value in {table.names[place]!r}"))
    if estimated.any():
        notes.append(f"the utility estimated {int(estimated.sum())} of {estimated.size} values")
    return notes


def _doubts(import_kwh: NDArray[np.float64], duration_s: NDArray[np.int64]) -> list[str]:
    """Doubt what no home uses."""
    a_year_kwh = float(import_kwh.sum()) / float(duration_s.sum()) * 365 * DAY_S
    if a_year_kwh <= _MOST_KWH_A_YEAR:
        return []
    return [f"import comes to {a_year_kwh:,.0f} kWh a year, much for a home (kW taken for kWh, or Wh for kWh?)"]
