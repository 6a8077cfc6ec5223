"""The roof's energy for a person: a roof in; tables, sentences and a figure out."""

from typing import TYPE_CHECKING, Any

from rich.table import Table

from solarsim.studies.roof import ArrayEnergy, InputEnergy, Roof
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import CAUTION, MONTHS, heading_of

if TYPE_CHECKING:
    from matplotlib.figure import Figure

LABELS = {
    "horizon": "shading by the horizon",
    "near_shade": "shading by things nearby",
    "incidence": "reflection at the glass",
    "shading": "shading, as a share",
    "soiling": "soiling",
    "snow": "snow",
    "temperature": "cell temperature, low light",
    "rating_tolerance": "rating tolerance",
    "light_induced": "light-induced degradation",
    "aging": "aging",
    "mismatch": "mismatch of modules",
    "cables": "cables",
    "downtime": "downtime",
    "system_factor": "system factor from a log",
    "unlike_strings": "unlike strings at one voltage",
    "window": "outside the voltage window",
    "current": "above the current limit",
    "power": "above the power limit",
}
_LIMITS = ("window", "current", "power")  # shown also where they cost nothing


def page(result: Roof) -> list[Any]:
    """Return what a person sees of the roof: losses by array and input, months, sentences.

    Parameters
    ----------
    result : Roof
        Arrays and inputs.

    Returns
    -------
    list
        Text and tables.
    """
    return [
        heading_of(result.described, result.weather),
        _loss_table(result),
        _month_table(result),
        *_sentences(result),
        CAUTION,
    ]


def _loss_table(result: Roof) -> Table:
    """Return a row for each loss that is not 0, and for each limit of an input."""
    table = plain_table("Losses", "kWh", "Share", "Hours")
    for array in result.arrays:
        to = "to its own inverter" if array.input is None else f"to input {array.input}"
        _add_section(table, f"{array.name} ({array.rated_kw:.2f} kWdc)", "rating x irradiation", array, to)
    for each in result.inputs:
        _add_section(table, each.name, "from its arrays", each, "to the inverter")
    table.add_row("PV available", whole(result.pv_available_kwh), "", "")
    return table


def _add_section(table: Table, title: str, before: str, path: ArrayEnergy | InputEnergy, after: str) -> None:
    """Add an array or an input to the table of losses."""
    table.add_row(title)
    table.add_row(f"  {before}", whole(path.before_losses_kwh), "", "")
    group = ""
    for each in path.losses:
        if abs(each.lost_kwh) < 0.5 and each.cause not in _LIMITS:
            continue
        if each.group != group and isinstance(path, ArrayEnergy):
            group = each.group
            table.add_row(f"  {group}")
        share = "" if each.share is None else f"{-each.share + 0.0:.1%}"
        table.add_row(
            f"{'    ' if group else '  '}{LABELS[each.cause]}", whole(-each.lost_kwh), share, f"{each.lost_h:,.0f}"
        )
    table.add_row(f"  {after}", whole(path.after_losses_kwh), "", "", end_section=True)


def _month_table(result: Roof) -> Table:
    """Return by month what each array delivers and what the inputs lose."""
    table = plain_table("Month, kWh", *(array.name for array in result.arrays), "Lost at\nthe inputs", "PV\navailable")
    inputs = sum(
        (loss.monthly_lost_kwh for each in result.inputs for loss in each.losses),
        result.monthly_pv_available_kwh * 0.0,
    )
    columns = [
        *(array.monthly_after_losses_kwh for array in result.arrays), -inputs, result.monthly_pv_available_kwh
    ]  # fmt: skip
    for place, name in enumerate(MONTHS):
        table.add_row(name, *(whole(column[place]) for column in columns))
    table.add_section()
    table.add_row("Year", *(whole(column.sum()) for column in columns))
    return table


def _sentences(result: Roof) -> list[str]:
    """Return how to read the tables, and the voltages of the inputs."""
    told = [
        "Losses are listed by where they act, the largest of each group first. Share: relative to the energy"
        " just before that loss. Hours: hours with a loss of more than 1 W."
    ]
    told += [
        f"{each.name}: operates at {each.working_min_v:.0f} to {each.working_max_v:.0f} V. Its open-circuit voltage"
        f" reaches {each.open_circuit_max_v:.0f} V in this year, and will be higher on a record cold morning."
        for each in result.inputs
        if each.open_circuit_max_v is not None and each.working_min_v is not None
    ]
    if any(each.open_circuit_max_v is None for each in result.inputs):
        told.append(
            "An array without a named module has no known voltage, so its input is simulated with its power limit only."
        )
    return told


def figure(result: Roof) -> "Figure":
    """Draw the roof's faces and the sun's path over the horizon; below them losses, and the energy by month.

    Parameters
    ----------
    result : Roof
        Arrays and inputs.

    Returns
    -------
    matplotlib.figure.Figure
        Four panels, 14 x 12 inches.
    """
    import numpy as np

    from solarsim.views.figure import BLUE, GREEN, ORANGE, PURPLE, SKY, VERMILION, new_figure, plain_panel
    from solarsim.views.roof_plan import draw_faces, draw_sky

    title = f"{result.scenario}: {result.pv_available_kwh:,.0f} kWh of PV available"
    drawn = new_figure(14, 12.5, title)
    (faces, sky), (left, right) = drawn.subplots(2, 2)
    draw_faces(faces, result)
    draw_sky(sky, result)
    lost = {cause: sum(each.lost_kwh(cause) for each in (*result.arrays, *result.inputs)) for cause in LABELS}
    shown = {cause: kwh for cause, kwh in lost.items() if abs(kwh) >= 0.5}
    places = np.arange(len(shown))[::-1]
    bars = left.barh(places, list(shown.values()), color=SKY, edgecolor="black", linewidth=0.5)
    left.bar_label(bars, [f"{kwh:,.0f}" for kwh in shown.values()], padding=3, fontsize=9)
    left.set_yticks(places, [LABELS[cause] for cause in shown])
    left.set_xlabel("lost in the year, all arrays and inputs, kWh")
    left.margins(x=0.12)

    months, bottom = np.arange(12), np.zeros(12)
    colors, hatches = (ORANGE, SKY, GREEN, VERMILION, BLUE, PURPLE), ("", "//", "..", "xx", "\\\\", "++")
    for number, array in enumerate(result.arrays):
        right.bar(
            months, array.monthly_after_losses_kwh, bottom=bottom, label=array.name, edgecolor="black", linewidth=0.5,
            color=colors[number % len(colors)], hatch=hatches[number % len(hatches)],
        )  # fmt: skip
        bottom = bottom + array.monthly_after_losses_kwh
    right.set_xticks(months, MONTHS)
    right.set_ylabel("from the arrays, kWh a month")
    if result.arrays:
        right.legend(loc="upper center", bbox_to_anchor=(0.5, -0.08), ncols=3, frameon=False, fontsize=9)
    plain_panel(left, "x")
    plain_panel(right, "y")
    return drawn
