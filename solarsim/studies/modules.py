"""Looking up modules in the module table: words in, the rows whose names hold them, or the closest, out."""

from dataclasses import dataclass, fields

from solarsim.production.module_table import closest_rows, matching_rows
from solarsim.results import Result, fact
from solarsim.scenario.roof.roof import ListedModule


@dataclass(frozen=True, eq=False, repr=False)
class ModuleRow(Result):
    """One module of the table, at standard test conditions."""

    name: str = fact("manufacturer and model", "text")
    technology: str = fact("kind of cell, as the table has it", "text")
    w: float = fact("power at standard test conditions", "W")
    v_oc_v: float = fact("open-circuit voltage", "V")
    i_sc_a: float = fact("short-circuit current", "A")
    v_mp_v: float = fact("voltage at maximum power", "V")
    i_mp_a: float = fact("current at maximum power", "A")
    p_mp_per_c: float = fact("temperature coefficient of maximum power, as a share", "1/C")
    v_oc_per_c: float = fact("temperature coefficient of open-circuit voltage, as a share", "1/C")
    i_sc_per_c: float = fact("temperature coefficient of short-circuit current, as a share", "1/C")


@dataclass(frozen=True, eq=False, repr=False)
class ModuleSearch(Result):
    """Rows of the module table."""

    _rows = "modules"

    words: str = fact("what was looked for", "text")
    modules: tuple[ModuleRow, ...] = fact("rows whose names hold all the words, in the table's order", "table")
    closest: tuple[ModuleRow, ...] = fact("rows with the most similar names, where no name holds the words", "table")


def modules(words: str) -> ModuleSearch:
    """Return the rows of the module table whose names hold some words.

    Parameters
    ----------
    words : str
        Parts of a name, in any order and case; all must be in it.

    Returns
    -------
    ModuleSearch
        The rows; the closest ones where there are none.

    Examples
    --------
    >>> found = modules("cs6k 300ms")
    >>> [(row.name, round(row.w)) for row in found.modules]
    [('Canadian Solar Inc. CS6K-300MS', 300)]
    """
    rows = matching_rows(words)
    return ModuleSearch(
        words=words,
        modules=tuple(map(_row, rows)),
        closest=tuple(map(_row, [] if rows else closest_rows(words))),
    )


def _row(row: ListedModule) -> ModuleRow:
    """Return a row of the table without its fitted parameters."""
    return ModuleRow(**{field.name: getattr(row, field.name) for field in fields(ModuleRow)})
