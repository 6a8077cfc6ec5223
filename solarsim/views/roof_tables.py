"""The roof's year for a person and for other programs: a roof in, tables, lines and JSON out."""

from rich.table import Table

from solarsim.scenario.glossary_studies import ROOF_CAUSES
from solarsim.studies.roof import Roof, Way
from solarsim.views.records import to_json
from solarsim.views.tables import MONTHS, plain_table, whole

LIMITS = ("window", "current", "power")  # shown also where they cost nothing


def loss_table(roof: Roof) -> Table:
    """Show what each array and input is offered, what each cause takes, and what is left.

    Parameters
    ----------
    roof : Roof
        Arrays and inputs.

    Returns
    -------
    rich.table.Table
        A line for each cause that takes anything, and for each limit of an input.
    """
    table = plain_table("Where it goes", "kWh", "Share", "Hours")
    for array in roof.arrays:
        _section(table, f"{array.name} ({array.rated_kw:.2f} kW)", "light on its plane x rating", array.way)
        to = "its own inverter" if array.input is None else f"input {array.input}"
        table.add_row(f"  to {to}", whole(array.way.left_kwh.sum()), "", "")
        table.add_section()
    for each in roof.inputs:
        _section(table, f"Input {each.number}", "its arrays, each by itself", each.way)
        table.add_row("  to the inverter", whole(each.way.left_kwh.sum()), "", "")
        table.add_section()
    table.add_row("All inputs", whole(roof.pv_available_kwh.sum()), "", "")
    return table


def _section(table: Table, title: str, offered: str, way: Way) -> None:
    table.add_row(title)
    total = float(way.offered_kwh.sum())
    table.add_row(f"  {offered}", whole(total), "", "")
    left = total
    for cause, by_month in way.lost_kwh.items():
        lost = float(by_month.sum())
        if abs(lost) >= 0.5 or cause in LIMITS:
            share = f"{-lost / left:.1%}" if left > 0 else ""
            table.add_row(f"  {ROOF_CAUSES[cause].meaning}", whole(-lost), share, f"{way.lost_h[cause]:,.0f}")
        left -= lost


def roof_by_month_table(roof: Roof) -> Table:
    """Show by month what comes from each array and what the inputs lose.

    Parameters
    ----------
    roof : Roof
        Arrays and inputs.

    Returns
    -------
    rich.table.Table
        At most 80 columns wide up to five arrays.
    """
    table = plain_table("Month, kWh", *(array.name for array in roof.arrays), "Limits\nof inputs", "To the\ninverter")
    limits = sum((each.way.offered_kwh - each.way.left_kwh for each in roof.inputs), roof.pv_available_kwh * 0.0)
    columns = [*(array.way.left_kwh for array in roof.arrays), -limits, roof.pv_available_kwh]
    for place, name in enumerate(MONTHS):
        table.add_row(name, *(whole(column[place]) for column in columns))
    table.add_section()
    table.add_row("Year", *(whole(column.sum()) for column in columns))
    return table


def roof_notes(roof: Roof) -> list[str]:
    """Say what a reader of the roof's tables must know.

    Parameters
    ----------
    roof : Roof
        Arrays and inputs.

    Returns
    -------
    list of str
        Sentences.
    """
    notes = [
        f"Input {each.number}: works between {each.working_min_v:.0f} and {each.working_max_v:.0f} V; without load at"
        f" most {each.open_circuit_max_v:.0f} V in this year, more in the coldest one."
        for each in roof.inputs
        if each.open_circuit_max_v is not None and each.working_min_v is not None
    ]
    notes.append("Share: of what the causes above it have left. Hours: in which more than a watt is lost.")
    if any(each.open_circuit_max_v is None for each in roof.inputs):
        notes.append("An array without a named module has no voltage: its input can only lose to power.")
    return notes


def roof_json(roof: Roof) -> str:
    """Write the roof's year with stable keys.

    Parameters
    ----------
    roof : Roof
        Arrays and inputs.

    Returns
    -------
    str
        JSON without NaN or infinity.
    """
    return to_json(
        {
            "scenario": roof.home.scenario.name,
            "arrays": [
                {"name": each.name, "input": each.input, "rated_kw": each.rated_kw, **_record(each.way)}
                for each in roof.arrays
            ],
            "inputs": [
                {
                    "input": each.number,
                    "open_circuit_max_v": each.open_circuit_max_v,
                    "working_min_v": each.working_min_v,
                    "working_max_v": each.working_max_v,
                    **_record(each.way),
                }
                for each in roof.inputs
            ],
            "pv_available_kwh": float(roof.pv_available_kwh.sum()),
            "monthly_production_kwh": roof.pv_available_kwh.tolist(),
            "notes": list(roof.home.notes()),
        }
    )


def _record(way: Way) -> dict[str, object]:
    return {
        "offered_kwh": float(way.offered_kwh.sum()),
        "lost_kwh": {cause: float(values.sum()) for cause, values in way.lost_kwh.items()},
        "lost_h": way.lost_h,
        "left_kwh": float(way.left_kwh.sum()),
        "monthly_left_kwh": way.left_kwh.tolist(),
        "monthly_lost_kwh": {cause: values.tolist() for cause, values in way.lost_kwh.items()},
    }
