"""The page of ``wiring``: checks by part, what fails, what is missing, the list for the inspection."""

from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.table import Table

from solarsim.studies.wiring._check import Check
from solarsim.studies.wiring.wiring import Wiring
from solarsim.views.tables import plain_table

if TYPE_CHECKING:
    from matplotlib.figure import Figure

CAUTION = (
    "These checks are not a design and do not replace one. Utility, battery and roof voltages can kill, and fault"
    " currents start fires. Local code and its amendments decide; licensed people must design, wire and inspect."
)
STANDARDS = {"nec": "NEC (NFPA 70)", "iec": "IEC 62548 and 60364"}


def page(result: Wiring) -> list[object]:
    """Return the page.

    Parameters
    ----------
    result : Wiring
        Checks.

    Returns
    -------
    list
        Text and tables.
    """
    return [
        f"{result.scenario}: design checks to {STANDARDS[result.standard]}, {result.edition} edition",
        "",
        _check_table(result),
        *_sentences(result),
        "",
        "An inspector will also ask for these. solarsim cannot check them:",
        *(f"  [ ] {each.what} ({each.source})" for each in result.inspection),
        "",
        CAUTION,
    ]


def _check_table(result: Wiring) -> Table:
    """Return the checks, one row each, under the name of their part."""
    table = plain_table("Check", "Value", "Limit", "Margin", name_width=16)  # 80 columns in all
    table.add_column("Result", min_width=10)
    table.add_column("Source", overflow="fold", min_width=10)
    part = ""
    for each in result.checks:
        if each.part != part:
            if part:
                table.add_section()
            part = each.part
            table.add_row(part)
        margin = "" if each.margin is None else f"{each.margin:+.0%}"
        shown = each.result.upper() if each.result == "fails" else each.result
        name = Padding(each.name, (0, 0, 0, 2))  # what folds stays indented
        table.add_row(name, *numbers(each), margin, shown, _short(each.source))
    return table


def _short(source: str) -> str:
    """Return a source as the table has room for it; ``_sentences`` explains the marks."""
    return source.replace(" (from memory)", "*").replace("common practice, no source", "practice")


def numbers(check: Check) -> tuple[str, str]:
    """Return value and limit of a check with their unit, as text; empty where there is none."""
    digits = 2 if check.unit in ("%", "kW") else 1
    unit = "%" if check.unit == "%" else f" {check.unit}"
    value = "" if check.value is None else f"{check.value:,.{digits}f}{unit}"
    sign = "≥" if check.at_least else "≤"
    return value, "" if check.limit is None else f"{sign} {check.limit:,.{digits}f}{unit}"


def _sentences(result: Wiring) -> list[str]:
    """Return what fails, what is missing and what is not applicable."""
    told = []
    failing = [each for each in result.checks if each.result == "fails"]
    if failing:
        told += ["Fails:", *(f"  {each.part}, {each.name}{_after(each)}" for each in failing)]
    still_open = [each for each in result.checks if each.result == "not checked"]
    if still_open:
        told += ["Not checked; what is missing:"]
        told += [f"  {each.part}, {each.name}: {', '.join(each.missing)}{_beside(each)}" for each in still_open]
    aside = [each for each in result.checks if each.result == "not applicable"]
    if aside:
        told += ["Not applicable: " + "; ".join(f"{each.part}, {each.name} ({each.advice})" for each in aside) + "."]
    count = len(result.checks) - len(aside)
    told.append(
        "Margin: how far inside the limit. *: article quoted from memory. Practice: common practice, no source."
        " Voc, Vmp: open-circuit and maximum-power voltage. BMS: battery management system. Derated: after the factors"
        " for ambient temperature, roof and conductors in the same raceway."
    )
    told.append(
        f"{count} checks: {count - len(failing) - len(still_open)} ok, {len(failing)} fail,"
        f" {len(still_open)} not checked. A check that was not made has not passed."
    )
    return told


def _after(check: Check) -> str:
    return f": {check.advice}" if check.advice else ""


def _beside(check: Check) -> str:
    return f" ({check.advice})" if check.advice else ""


def csv(result: Wiring) -> str:
    """Write the checks as CSV.

    Parameters
    ----------
    result : Wiring
        Checks.

    Returns
    -------
    str
        One row for each check; what is missing is separated by semicolons.
    """
    import pandas as pd

    rows = [{**each.record(), "missing": "; ".join(each.missing)} for each in result.checks]
    return str(pd.DataFrame(rows).to_csv(index=False, lineterminator="\n"))


def figure(result: Wiring) -> "Figure":
    """Draw the home as a single-line diagram: see ``views.single_line``.

    Parameters
    ----------
    result : Wiring
        Checks.

    Returns
    -------
    matplotlib.figure.Figure
        16 x 9 inches.
    """
    from solarsim.views.single_line import single_line

    return single_line(result)
