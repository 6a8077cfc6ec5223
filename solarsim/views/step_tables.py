"""Hours beside finer steps for a person and for other programs: two comparisons in, a table, lines and a record out."""

from typing import TYPE_CHECKING

from rich.table import Table

from solarsim.views.tables import plain_table

if TYPE_CHECKING:
    from solarsim.studies.compare.finer_steps import StepComparison


def steps_table(found: "StepComparison") -> Table:
    """Set bill, self-consumption, energy bought and peak side by side at both steps.

    Parameters
    ----------
    found : StepComparison
        Every strategy at both.

    Returns
    -------
    rich.table.Table
        A block for each strategy, at most 80 columns wide.
    """
    currency = found.finer.home.scenario.rate_plan.currency
    words = {
        "annual_bill": (f"bill, {currency}/yr", ",.2f"),
        "self_consumption": ("sun kept at home", ".1%"),
        "import_kwh": ("bought, kWh", ",.0f"),
        "peak_import_kw": ("highest import, kW", ",.2f"),
    }
    table = plain_table("Strategy", "Hours", f"{found.minutes} min", "Hidden")
    for place, row in enumerate(found.rows()):
        if place:
            table.add_section()
        table.add_row(row.name)
        for key, (label, form) in words.items():
            if key == "self_consumption" and place == 0:
                continue  # no system, no sun
            cells = [format(row.hourly[key], form), format(row.finer[key], form)]
            hidden = row.difference[key]
            points = f"{round(100 * hidden, 1) + 0.0:+.1f} pt"  # no "-0.0"
            cells.append(points if key == "self_consumption" else format(hidden, f"+{form}"))
            table.add_row(f"  {label}", *cells)
    return table


def steps_notes(found: "StepComparison") -> list[str]:
    """Say what a reader of both steps must know.

    Parameters
    ----------
    found : StepComparison
        Every strategy at both.

    Returns
    -------
    list of str
        Sentences.
    """
    notes = [
        f"Hidden: what steps of {found.minutes} minutes add to hours (pt: percentage points). Highest import: mean of a"
        " step.",
        "Clouds within the hour are in neither, since weather is hourly: they hide more.",
    ]
    if not found.load_moves:
        notes.append(
            "The load is the same all through each hour here, so most of what hours hide stays hidden; a meter of"
            f" {found.minutes} minutes (load.meter, load.file) tells more."
        )
    return notes


def steps_record(found: "StepComparison") -> dict[str, object]:
    """Give both steps as a record, keys as in the glossary.

    Parameters
    ----------
    found : StepComparison
        Every strategy at both.

    Returns
    -------
    dict
        For ``views.records.to_json``.
    """
    strategies = [{**row._asdict(), "difference": row.difference} for row in found.rows()]
    return {
        "step_minutes": found.minutes,
        "load_moves": found.load_moves,
        "strategies": strategies,
        "notes": found.finer.home.notes(*found.finer.runs),
    }
