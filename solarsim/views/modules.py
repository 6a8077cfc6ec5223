"""Rows of the module table for a person: a search in, a table and sentences out."""

from collections.abc import Sequence
from typing import Any

from rich.table import Table

from solarsim.studies.modules import ModuleRow, ModuleSearch
from solarsim.views.tables import plain_table

_MOST_SHOWN = 40


def page(result: ModuleSearch) -> list[Any]:
    """Return what a person sees of a search: a table, and how to use a row.

    Parameters
    ----------
    result : ModuleSearch
        Rows, or the closest ones.

    Returns
    -------
    list
        At most 80 columns wide; a long name goes on in the next line.
    """
    return [_table(result.modules or result.closest), _how_to_go_on(result)]


def _table(rows: Sequence[ModuleRow]) -> Table:
    """Return the first rows as a table."""
    table = plain_table("Module", "W", "Voc\nV", "Isc\nA", "Vmp\nV", "Imp\nA", "Pmp\n%/°C")
    for row in rows[:_MOST_SHOWN]:
        volts_and_amperes = (row.v_oc_v, row.i_sc_a, row.v_mp_v, row.i_mp_a)
        cells = [f"{row.w:.0f}", *(f"{value:.2f}" for value in volts_and_amperes), f"{100 * row.p_mp_per_c:.2f}"]
        table.add_row(row.name, *cells)
    return table


def _how_to_go_on(result: ModuleSearch) -> str:
    """Return the sentence below the table."""
    rows, words = result.modules, repr(result.words)
    if not rows:
        return f"No module matches {words}; the closest are shown. If it is not listed, write its datasheet values."
    if len(rows) == 1:
        return f'In a scenario: [[modules]] name = "mine", table_row = "{rows[0].name}".'
    return f"{len(rows):,} names hold {words}" + (f"; the first {_MOST_SHOWN}." if len(rows) > _MOST_SHOWN else ".")
