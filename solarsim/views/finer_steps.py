"""What hourly steps hide, for a person: both years of every strategy in; a table and sentences out."""

from rich.table import Table

from solarsim.studies.compare.finer_steps import StepComparison
from solarsim.views.tables import plain_table


def steps_table(found: StepComparison) -> Table:
    """Return bill, self-consumption, import and peak side by side at both steps, a block for each strategy.

    Parameters
    ----------
    found : StepComparison
        Both years of every strategy.

    Returns
    -------
    rich.table.Table
        Four columns.
    """
    words = {
        "annual_bill": (f"bill, {found.finer.currency}/yr", ",.2f"),
        "self_consumption": ("self-consumption", ".1%"),
        "import_kwh": ("import, kWh", ",.0f"),
        "peak_import_kw": ("highest import, kW", ",.2f"),
    }
    table = plain_table("Strategy", "Hours", f"{found.step_minutes} min", "Difference")
    for place, row in enumerate(found.strategies):
        if place:
            table.add_section()
        table.add_row(row.name)
        for key, (label, form) in words.items():
            if key == "self_consumption" and place == 0:
                continue  # no system, no sun
            cells = [format(row.hourly[key], form), format(row.finer[key], form)]
            difference = row.difference[key]
            points = f"{round(100 * difference, 1) + 0.0:+.1f} pt"  # no "-0.0"
            cells.append(points if key == "self_consumption" else format(difference, f"+{form}"))
            table.add_row(f"  {label}", *cells)
    return table


def steps_sentences(found: StepComparison) -> list[str]:
    """Return what a reader of both steps must know.

    Parameters
    ----------
    found : StepComparison
        Both years of every strategy.

    Returns
    -------
    list of str
        Sentences.
    """
    sentences = [
        f"Difference: {found.step_minutes}-minute steps relative to hours (pt: percentage points). Highest import: mean"
        " of one step.",
        "Weather is hourly in both: passing clouds are in neither, and would make the difference larger.",
    ]
    if not found.load_moves:
        sentences.append(
            "The load is constant within each hour here, so most of what hourly steps hide stays hidden;"
            f" {found.step_minutes}-minute data (load.meter, load.file) would show it."
        )
    return sentences
