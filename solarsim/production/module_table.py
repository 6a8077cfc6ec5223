"""The module table that pvlib ships: words in, rows with their single-diode parameters out.

The table is the California Energy Commission's list of modules with parameters fitted to it (Dobos, J. Sol. Energy Eng.
134 (2012) 021011), of 2019. Newer modules are not in it: use their datasheet.
"""

import csv
import importlib.util
import re
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache
from heapq import nlargest
from pathlib import Path

import numpy as np

from solarsim.errors import UnknownNameError
from solarsim.production._datasheet_fit import Diodes
from solarsim.scenario.roof.roof import ListedModule

_GAP_EV = 1.121  # all rows were fitted with silicon's, whatever their cells are


@dataclass(frozen=True)
class TableRow(ListedModule):
    """One row of the table.

    Attributes
    ----------
    fitted : tuple of float
        The table's own parameters: light current, saturation current, series and shunt resistance, diode voltage,
        change of the light current with temperature.
    """

    fitted: tuple[float, float, float, float, float, float]

    @property
    def diodes(self) -> Diodes:
        """The row's own single-diode parameters; short circuit may differ from the printed value by some percent."""
        photo, saturation, series, shunt, thermal, per_c = (np.array([each]) for each in self.fitted)
        return Diodes(photo, saturation, series, 1.0 / shunt, thermal, per_c, np.array([_GAP_EV]))


@lru_cache(maxsize=1)
def table_rows() -> tuple[TableRow, ...]:
    """Read the table.

    Returns
    -------
    tuple of TableRow
        In the table's order.
    """
    # Without importing pvlib, which is slower than reading the table.
    (folder,) = importlib.util.find_spec("pvlib").submodule_search_locations  # type: ignore[union-attr, misc]
    (path,) = (Path(folder) / "data").glob("sam-library-cec-modules-*.csv")
    with path.open(newline="", encoding="utf-8") as file:
        lines = csv.DictReader(file)
        next(lines), next(lines)  # two rows of units
        return tuple(map(_row, lines))


def _row(line: dict[str, str]) -> TableRow:
    text = {key: line[key] for key in ("Name", "Technology")}
    number = {key: float(line[key]) for key in _NUMBERS}
    v_oc, i_sc = number["V_oc_ref"], number["I_sc_ref"]
    return TableRow(
        name=text["Name"],
        technology=text["Technology"],
        w=number["STC"],
        v_oc_v=v_oc,
        i_sc_a=i_sc,
        v_mp_v=number["V_mp_ref"],
        i_mp_a=number["I_mp_ref"],
        p_mp_per_c=number["gamma_r"] / 100.0,
        v_oc_per_c=number["beta_oc"] / v_oc,
        i_sc_per_c=number["alpha_sc"] / i_sc,
        fitted=(
            number["I_L_ref"],
            number["I_o_ref"],
            number["R_s"],
            number["R_sh_ref"],
            number["a_ref"],
            number["alpha_sc"] * (1.0 - number["Adjust"] / 100.0),
        ),
    )


_NUMBERS = (
    "STC", "I_sc_ref", "V_oc_ref", "I_mp_ref", "V_mp_ref", "alpha_sc", "beta_oc", "a_ref", "I_L_ref", "I_o_ref", "R_s",
    "R_sh_ref", "Adjust", "gamma_r",
)  # fmt: skip


def matching_rows(words: str) -> list[TableRow]:
    """Return the rows whose name contains all of some words, whatever the case and the signs in between.

    Parameters
    ----------
    words : str
        Parts of a name; a name that is a row's whole name means that row alone.

    Returns
    -------
    list of TableRow
        In the table's order.
    """
    wanted = _pieces(words)
    exact = [row for row in table_rows() if row.name == words]
    rows = exact or [row for row in table_rows() if all(piece in _plain(row.name) for piece in wanted)]
    whole = [row for row in rows if _plain(row.name) == _plain(words)]
    return whole or rows


def row_of(words: str) -> TableRow:
    """Return the one row that some words mean.

    Parameters
    ----------
    words : str
        Parts of its name.

    Returns
    -------
    TableRow
        The only one that matches.

    Raises
    ------
    UnknownNameError
        No row matches, or more than one; the message shows the closest.
    """
    rows = matching_rows(words)
    if len(rows) == 1:
        return rows[0]
    if not rows:
        raise UnknownNameError(f"{words!r} is in no name of the module table; closest: {_listed(closest_rows(words))}")
    shown = sorted(rows, key=lambda row: len(row.name))[:4]
    raise UnknownNameError(
        f"{words!r} is in {len(rows)} names of the module table, must be in one; for example {_listed(shown)}"
    )


def closest_rows(words: str, count: int = 4) -> list[TableRow]:
    """Return the rows whose names are most like some words.

    Parameters
    ----------
    words : str
        Perhaps misspelled.
    count : int
        How many rows.

    Returns
    -------
    list of TableRow
        The closest first.
    """
    wanted = _plain(words)
    likeness = SequenceMatcher(None, "", wanted, autojunk=False)

    def alike(row: TableRow) -> float:
        likeness.set_seq1(_plain(row.name))
        return likeness.quick_ratio()

    def more_alike(row: TableRow) -> float:
        likeness.set_seq1(_plain(row.name))
        return likeness.ratio()

    return nlargest(count, nlargest(200, table_rows(), alike), more_alike)


def _listed(rows: list[TableRow]) -> str:
    return ", ".join(repr(row.name) for row in rows)


def _pieces(words: str) -> list[str]:
    return [piece for piece in map(_plain, re.split(r"[\s_]+", words)) if piece]


@lru_cache(maxsize=50_000)
def _plain(name: str) -> str:
    return re.sub(r"[^a-z0-9.]+", "", name.lower())
