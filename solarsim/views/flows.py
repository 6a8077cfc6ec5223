"""One strategy's year, for a person and for other programs: its flows in; a table, the hourly CSV and a figure out."""

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from rich.table import Table

from solarsim.ledger.flows import HOURLY
from solarsim.studies.flows import FlowsYear
from solarsim.views.compare import temperature_sentences
from solarsim.views.figure import (
    BLACK,
    BLUE,
    GREEN,
    ORANGE,
    PURPLE,
    SKY,
    VERMILION,
    YELLOW,
    new_figure,
    plain_panel,
)
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import CAUTION, MONTHS, heading

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

SHADE = 0.12
_VISIBLE_KW = 1e-3
_RARE = 0.5  # hours at the highest price are shaded where they are less than this share


def page(result: FlowsYear) -> list[Any]:
    """Return what a person sees of a strategy's year.

    Parameters
    ----------
    result : FlowsYear
        The year.

    Returns
    -------
    list
        Text and a table.
    """
    run, timeline = result.run, result.home.timeline
    unserved = (
        [f"Unserved: {run.unserved_kwh:,.1f} kWh in {run.unserved_h:,.0f} h."] if run.unserved_kwh >= 0.05 else []
    )
    fuel = [f"Fuel: {run.fuel_liters:,.0f} l, {run.fuel_cost:,.2f} {result.currency}."] if run.fuel_cost else []
    return [
        heading(result.home),
        f"Strategy: {run.name}",
        _table(result),
        "PV available: at the DC inputs. Clipped: by the inverter's rating. Curtailed: full battery, export limit.",
        "Losses: inverter and battery, without standby.",
        f"Highest {timeline.mean_name} of import: {run.peak_import_kw:.2f} kW. Real peaks are shorter and higher.",
        *unserved,
        *fuel,
        *temperature_sentences([run]),
        f"Energy balance: every {timeline.step_name} closes to {run.balance_error_kw:.0e} kW or better.",
        CAUTION,
    ]


def _table(result: FlowsYear) -> Table:
    """Return the year by month."""
    keys = {
        "PV\navailable\nkWh": "pv_available_kwh",
        "Load\nkWh": "load_kwh",
        "Import\nkWh": "import_kwh",
        "Export\nkWh": "export_kwh",
        "Clipped\nkWh": "clipped_kwh",
        "Curtailed\nkWh": "curtailed_kwh",
        "Losses\nkWh": "losses_kwh",
    }
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
    names, flows = [name for name in HOURLY if name != "time"], result.run.flows
    # Adding 0.0 turns a negative zero into a plain one.
    columns = [(flows[name].round(9) + 0.0).tolist() for name in names]
    lines = [",".join(["time", *names])]
    lines += [",".join([label, *map(repr, row)]) for label, *row in zip(flows.timeline.labels, *columns, strict=True)]
    return "\n".join(lines) + "\n"


def figure(result: FlowsYear, month: int = 7) -> "Figure":
    """Draw one month of a strategy, step by step, by the wall clock.

    Three panels share the time: PV available and load; discharge and import upwards, charge and export
    downwards; state of charge with the discharge floor. The hours of the month's highest import price are
    shaded, unless they are most of its hours. Without a battery the third panel is left out.

    Parameters
    ----------
    result : FlowsYear
        A strategy's year.
    month : int
        1 to 12.

    Returns
    -------
    matplotlib.figure.Figure
        14 x 8.5 inches.
    """
    from matplotlib.dates import DateFormatter, date2num

    flows, timeline = result.run.flows, result.run.flows.timeline
    chosen = np.flatnonzero(timeline.month == month)
    chosen = chosen[np.argsort(timeline.wall[chosen], kind="stable")]
    start = date2num(timeline.wall[chosen])
    edges = np.append(start, start[-1] + timeline.step_h / 24)

    def of(column: str) -> NDArray[np.float64]:
        return flows[column][chosen]

    battery = flows.capacity_kwh > 0.0
    drawn = new_figure(14, 8.5 if battery else 6.5, f"{result.scenario}: {result.run.name}")
    panels = drawn.subplots(3 if battery else 2, 1, sharex=True, height_ratios=(3, 3, 2)[: 3 if battery else 2])
    power, meter, last = panels[0], panels[1], panels[-1]

    price = of("import_price")
    highest = price == price.max()
    if highest.mean() <= _RARE:
        _shade(power, edges, highest, f"highest price: {price.max():g} a kWh")
        for panel in panels[1:]:
            _shade(panel, edges, highest, None)

    available, unused = of("pv_available_kw"), of("clipped_kw") + of("curtailed_kw")
    power.stairs(available, edges, fill=True, color=ORANGE, alpha=0.55, label="PV available (DC)")
    if unused.max() > _VISIBLE_KW:
        style = {"fill": True, "color": VERMILION, "alpha": 0.8, "label": "clipped and curtailed"}
        power.stairs(available, edges, baseline=available - unused, **style)
    power.stairs(of("load_kw") + of("standby_kw"), edges, color=BLACK, linewidth=0.9, label="load and standby")
    power.set_ylabel("kW")

    discharge = of("battery_to_load_kw") + of("battery_to_grid_kw")
    charge = np.maximum(flows.battery_change_kwh[chosen], 0.0) / timeline.step_h
    meter.stairs(discharge, edges, fill=True, color=GREEN, alpha=0.75, label="discharge")
    meter.stairs(-charge, edges, fill=True, color=YELLOW, alpha=0.9, label="charge")
    meter.stairs(
        of("import_kw") + discharge, edges, baseline=discharge, fill=True, color=BLUE, alpha=0.75, label="import"
    )
    meter.stairs(-charge - of("export_kw"), edges, baseline=-charge, fill=True, color=SKY, alpha=0.85, label="export")
    meter.axhline(0.0, color=BLACK, linewidth=0.6)
    meter.set_ylabel("kW   charge, export  |  discharge, import")

    if battery:
        # The state of charge is that at the END of each hour; the floor holds through the hour.
        last.plot(edges[1:], of("soc") * 100, color=GREEN, linewidth=1.2, label="state of charge")
        floor = {"color": PURPLE, "linestyle": "--", "label": "discharge floor"}
        last.stairs(of("discharge_floor") * 100, edges, baseline=None, **floor)
        last.set_ylim(0, 105)
        last.set_ylabel("state of charge, %")
    last.set_xlabel(f"{MONTHS[month - 1]} {timeline.year}, wall clock in {timeline.zone}")
    last.set_xlim(edges[0], edges[-1])
    days = np.arange(np.ceil(edges[0]), edges[-1])
    last.set_xticks(days[::2])
    last.set_xticks(days, minor=True)
    last.xaxis.set_major_formatter(DateFormatter("%a %d"))
    for panel in panels:
        plain_panel(panel, "x")
        panel.grid(axis="x", which="minor", linewidth=0.3, alpha=0.5)
        panel.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=9)
    return drawn


def _shade(panel: "Axes", edges: NDArray[np.float64], inside: NDArray[np.bool_], label: str | None) -> None:
    """Shade the runs of hours that are inside; the first carries the label."""
    change = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(int), [0]])))
    for first, last in zip(change[::2], change[1::2], strict=True):
        panel.axvspan(edges[first], edges[last], color=BLACK, alpha=SHADE, linewidth=0, label=label)
        label = None
