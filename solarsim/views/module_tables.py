"""Rows of the module table for a person and for other programs: rows in, a table, lines and JSON out."""

from collections.abc import Sequence

from rich.table import Table

from solarsim.scenario.glossary_studies import MODULES
from solarsim.scenario.roof.roof import ListedModule
from solarsim.views.records import to_json
from solarsim.views.tables import plain_table

MOST_SHOWN = 40


def modules_table(rows: Sequence[ListedModule]) -> Table:
    """Show rows of the module table.

    Parameters
    ----------
    rows : sequence of ListedModule
        The first ``MOST_SHOWN`` are shown.

    Returns
    -------
    rich.table.Table
        At most 80 columns wide; a long name goes on in the next line.
    """
    table = plain_table("Module", "W", "V_oc\nV", "I_sc\nA", "V_mp\nV", "I_mp\nA", "P_mp\n%/C")
    for row in rows[:MOST_SHOWN]:
        volts_and_amperes = (row.v_oc_v, row.i_sc_a, row.v_mp_v, row.i_mp_a)
        cells = [f"{row.w:.0f}", *(f"{value:.2f}" for value in volts_and_amperes), f"{100 * row.p_mp_per_c:.2f}"]
        table.add_row(row.name, *cells)
    return table


def module_notes(words: str, rows: Sequence[ListedModule], closest: Sequence[ListedModule]) -> list[str]:
    """Say what a reader of the rows must know.

    Parameters
    ----------
    words : str
        What was looked for.
    rows : sequence of ListedModule
        What was found.
    closest : sequence of ListedModule
        What comes closest, where nothing was found.

    Returns
    -------
    list of str
        Sentences.
    """
    if closest:
        return [
            f"No name holds {words!r}; these come closest. A module that is not listed: write its datasheet values."
        ]
    if len(rows) == 1:
        return [f'In a scenario: [[modules]] name = "mine", table_row = "{rows[0].name}".']
    return [f"{len(rows):,} names hold {words!r}" + (f", {MOST_SHOWN} are shown." if len(rows) > MOST_SHOWN else ".")]


def modules_json(rows: Sequence[ListedModule], closest: Sequence[ListedModule]) -> str:
    """Write rows of the module table with stable keys.

    Parameters
    ----------
    rows : sequence of ListedModule
        What was found.
    closest : sequence of ListedModule
        What comes closest, where nothing was found.

    Returns
    -------
    str
        JSON without NaN or infinity.
    """
    found = {"modules": rows, "closest": closest}
    return to_json(
        {key: [{name: getattr(row, name) for name in MODULES} for row in each] for key, each in found.items()}
    )
