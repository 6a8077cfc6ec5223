"""One strategy's year, for a person and for other programs: its flows in; a table, the hourly CSV and a figure out."""

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from rich.table import Table

from solarsim.ledger.flows import NUMBERS
from solarsim.studies.flows import FlowsYear
from solarsim.views.compare import temperature_sentences
from solarsim.views.energy_flow import energy_flow_figure
from solarsim.views.flows_figure import drawn_map, drawn_steps
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import CAUTION, MONTHS, heading

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def page(result: FlowsYear, daily: bool = False, month: int | None = None) -> list[Any]:
    """Return what a person sees of a strategy's year.

    Parameters
    ----------
    result : FlowsYear
        The year.
    daily : bool
        By day in place of by month.
    month : int, optional
        Only the days of this month, 1 to 12.

    Returns
    -------
    list
        Text and a table.
    """
    run, flows, timeline = result.run, result.run.flows, result.home.timeline
    unserved = (
        [f"Unserved: {run.unserved_kwh:,.1f} kWh in {run.unserved_h:,.0f} h."] if run.unserved_kwh >= 0.05 else []
    )
    fuel = (
        [f"Generator fuel: {run.fuel_liters:,.0f} L, {run.fuel_cost:,.2f} {result.currency}."] if run.fuel_cost else []
    )
    return [
        heading(result.home),
        f"Strategy: {run.name}",
        _days_table(result, month) if daily else _table(result),
        "PV available: at the DC inputs. Clipped: above the inverter's rating. Curtailed: battery full, export limit.",
        "Losses: in inverter and battery, without standby.",
        *(["State of charge: the lowest and the highest of the day."] if daily and flows.capacity_kwh > 0.0 else []),
        f"Highest {timeline.mean_name} of import: {run.peak_import_kw:.2f} kW. Real peaks are shorter and higher.",
        *unserved,
        *fuel,
        *temperature_sentences([run]),
        f"Energy balance: every {timeline.step_name} closes to {run.balance_error_kw:.0e} kW or better.",
        CAUTION,
    ]


_ENERGIES = {
    "PV\navailable\nkWh": "pv_available_kwh",
    "Load\nkWh": "load_kwh",
    "Import\nkWh": "import_kwh",
    "Export\nkWh": "export_kwh",
    "Clipped\nkWh": "clipped_kwh",
    "Curtailed\nkWh": "curtailed_kwh",
    "Losses\nkWh": "losses_kwh",
}


def _days_table(result: FlowsYear, month: int | None) -> Table:
    """Return the year, or a month, by day; unserved energy where there is any, and how far the battery went."""
    days = result.days(month)
    keys = {**_ENERGIES, **({"Unserved\nkWh": "unserved_kwh"} if result.run.unserved_kwh >= 0.05 else {})}
    battery = result.run.flows.capacity_kwh > 0.0
    table = plain_table("Day", *keys, *(["State of\ncharge\n%"] if battery else []), name_width=6)
    for each in days:
        at = date.fromisoformat(each.day)
        stored = [f"{100 * (each.soc_lowest or 0.0):.0f}-{100 * (each.soc_highest or 0.0):.0f}"] if battery else []
        table.add_row(
            f"{MONTHS[at.month - 1]} {at.day}", *(f"{getattr(each, key) + 0.0:,.1f}" for key in keys.values()), *stored
        )
        if (at + timedelta(days=1)).day == 1:
            table.add_section()
    return table


def _table(result: FlowsYear) -> Table:
    """Return the year by month."""
    keys = _ENERGIES
    table = plain_table("Month", *keys, f"Bill\n{result.currency}", name_width=5)
    for name, month in zip(MONTHS, result.months, strict=True):
        table.add_row(name, *(whole(getattr(month, key)) for key in keys.values()), f"{month.bill:,.2f}")
    table.add_section()
    table.add_row("Year", *(whole(getattr(result.run, key)) for key in keys.values()), f"{result.run.annual_bill:,.2f}")
    return table


def csv(result: FlowsYear) -> str:
    """Write the hourly table, to a millionth of a watt.

    Parameters
    ----------
    result : FlowsYear
        The year.

    Returns
    -------
    str
        CSV with the columns of ``ledger.flows.HOURLY``.
    """
    flows = result.run.flows
    # Adding 0.0 turns a negative zero into a plain one.
    columns = [(flows[name].round(9) + 0.0).tolist() for name in NUMBERS]
    lines = [",".join(["time", *NUMBERS, "local_time"])]
    times = zip(flows.timeline.labels, flows.timeline.local_labels, strict=True)
    lines += [",".join([time, *map(repr, row), local]) for (time, local), *row in zip(times, *columns, strict=True)]
    return "\n".join(lines) + "\n"


def figure(
    result: FlowsYear,
    day: date | None = None,
    week: date | None = None,
    month: int | None = None,
    column: str | None = None,
    sources: bool = False,
) -> "Figure":
    """Draw a day, a week or a month of a strategy step by step, one hourly column, or the energy flow of the year.

    Parameters
    ----------
    result : FlowsYear
        A strategy's year.
    day : date, optional
        A day of the calendar year.
    week : date, optional
        The seven days from this one. Where nothing is asked for, the week from Monday with the most unserved energy,
        else with the highest import.
    month : int, optional
        1 to 12.
    column : str, optional
        A column of the hourly table, drawn over the year.
    sources : bool
        Draw what each source fed to each use in the year.

    Returns
    -------
    matplotlib.figure.Figure
        14 x 8.5 inches; that of a column 12 x 5, that of sources 9 x 5.4.

    Raises
    ------
    ScenarioError
        The day is not in the calendar year.
    UnknownNameError
        There is no such column.
    """
    if sources:
        return energy_flow_figure(result.energy_flow, f"{result.scenario}: {result.run.name}")
    if column is not None:
        return drawn_map(result, column)
    if month is not None:
        return drawn_steps(result, result.steps_of_month(month), f"{MONTHS[month - 1]} {result.timeline.year}")
    if day is not None:
        return drawn_steps(
            result, result.steps_of_days(day, 1), f"{day:%A}, {MONTHS[day.month - 1]} {day.day}, {day.year}"
        )
    first = result.hardest_week() if week is None else week
    words = f"seven days from {MONTHS[first.month - 1]} {first.day}, {first.year}"
    return drawn_steps(result, result.steps_of_days(first, 7), words)
