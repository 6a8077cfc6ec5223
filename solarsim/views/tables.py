"""Tables for a person at a terminal: results in, rich tables and lines out."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.box import SIMPLE_HEAD
from rich.table import Table

if TYPE_CHECKING:  # a view that shows no run need not load the engine
    from solarsim.run import Run
    from solarsim.studies.compare.compare import Comparison

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def comparison_table(comparison: "Comparison") -> Table:
    """Set every strategy beside the others and beside no system at all.

    Parameters
    ----------
    comparison : Comparison
        Every strategy.

    Returns
    -------
    rich.table.Table
        With amounts of up to five digits at most 80 columns wide.
    """
    currency = comparison.home.scenario.rate_plan.currency
    best = comparison.best
    headings = ["Strategy", f"Bill\n{currency}/yr", f"Saves\n{currency}/yr", "Bought\nkWh", "Sold\nkWh", "Unused\nkWh"]
    headings += ["From\nsun", "Battery\ncycles"]
    with_shares = best is not None and best.annual_bill is not None
    table = plain_table(*headings, *(["Of\nbest"] if with_shares else []))

    def row(name: str, run: "Run") -> None:
        ledger = run.ledger
        share = comparison.optimum_share(run)
        cells = [
            whole(float(ledger.bill.total)),
            savings_cell(comparison.annual_savings(run)),
            whole(ledger.annual_kwh["import_kwh"]),
            whole(ledger.annual_kwh["export_kwh"]),
            whole(ledger.annual_kwh["curtailed_kwh"]),
            f"{ledger.self_sufficiency:.0%}",
            f"{ledger.equivalent_full_cycles:,.0f}",
        ]
        table.add_row(name, *cells, *([] if share is None else [f"{share:.0%}"]))

    baseline = comparison.baseline.ledger
    bought = whole(baseline.annual_kwh["import_kwh"])
    table.add_row("no system at all", whole(float(baseline.bill.total)), "", bought)
    if comparison.solar_only is not None:
        row("solar, no battery", comparison.solar_only)
    table.add_section()
    for run in comparison.runs:
        row(run.strategy, run)
    if best is not None and best.annual_bill is not None:
        table.add_section()
        saved = float(baseline.bill.total) - best.annual_bill
        table.add_row("optimum", whole(best.annual_bill), whole(saved), "", "", "", "", "", "100%")
    return table


def bills_by_month_table(comparison: "Comparison") -> Table:
    """Set the months of every strategy's bill side by side.

    Parameters
    ----------
    comparison : Comparison
        Every strategy.

    Returns
    -------
    rich.table.Table
        Whole units of the currency.
    """
    table = plain_table(f"Bill, {comparison.home.scenario.rate_plan.currency}", *MONTHS)

    def row(name: str, run: "Run") -> None:
        table.add_row(name, *(whole(float(run.ledger.bill.month_total(month))) for month in range(1, 13)))

    row("no system at all", comparison.baseline)
    if comparison.solar_only is not None:
        row("solar, no battery", comparison.solar_only)
    table.add_section()
    for run in comparison.runs:
        row(run.strategy, run)
    return table


def comparison_notes(comparison: "Comparison") -> list[str]:
    """Say what a reader of the comparison must know.

    Parameters
    ----------
    comparison : Comparison
        Every strategy.

    Returns
    -------
    list of str
        Sentences.
    """
    home = comparison.home
    keys = ("pv_available_kwh", "load_kwh", "standby_kwh")
    offered, used, own = (comparison.runs[0].ledger.annual_kwh[key] for key in keys)
    heated = home.bank.cells.heater_kw.max() > 0.0
    notes = [
        f"The roof ({home.production.rated_kw:.2f} kW) offers {offered:,.0f} kWh a year; the home uses {used:,.0f} kWh"
        f" and the inverter {'itself' if not heated else 'with the battery heater'} {own:,.0f}."
    ]
    clipped = float(home.production.clipped_kw.sum()) * home.timeline.step_h
    if clipped >= 0.5:
        notes.append(f"The inverter's DC inputs cut off another {clipped:,.0f} kWh that the roof could make.")
    winners = [repr(run.strategy) for run in comparison.lowest]
    notes.append(f"Lowest energy cost: {' and '.join(winners)}{', less than 1 apart' if len(winners) > 1 else ''}.")
    notes.append("Unused: solar energy that nothing could take. From sun: share of use, inverter included.")
    if comparison.best is not None:
        if comparison.best.annual_bill is None:
            notes.append(f"No optimum: {comparison.best.why_none}.")
        else:
            notes.append("Optimum: perfect foresight and no reserve. No real program reaches it.")
    notes += temperature_notes(comparison.runs) + outage_notes(comparison)
    worst = max(run.ledger.balance_error_kw for run in comparison.runs)
    notes.append(f"Books: every {home.timeline.step_name} closes to {worst:.0e} kW or better.")
    return notes


def outage_notes(comparison: "Comparison") -> list[str]:
    """Say what the grid's outages left unserved, and what a generator did.

    Parameters
    ----------
    comparison : Comparison
        Every strategy.

    Returns
    -------
    list of str
        Sentences; none where everything was served and nothing ran.
    """
    currency = comparison.home.scenario.rate_plan.currency
    years = [("no system", comparison.baseline), *((repr(run.strategy), run) for run in comparison.runs)]
    unserved = [
        f"{run.ledger.annual_kwh['unserved_kwh']:,.1f} kWh ({name})"
        for name, run in years
        if run.ledger.annual_kwh["unserved_kwh"] >= 0.05
    ]
    told = [f"Not served: {', '.join(unserved)}. What is not served is not on the bill."] if unserved else []
    for name, run in years:
        year = run.ledger.generator
        if year.starts:
            told.append(
                f"Generator ({name}): {year.run_h:,.0f} hours, {year.starts} starts, {year.liters:,.0f} l,"
                f" {year.fuel_cost:,.0f} {currency}, taken from what it saves. Exhaust kills: never run one indoors."
            )
    return told


def temperature_notes(runs: "Sequence[Run]") -> list[str]:
    """Say how much sun the cells' temperature kept out of the battery.

    Parameters
    ----------
    runs : sequence of Run
        Some strategies' years.

    Returns
    -------
    list of str
        One sentence, or none where nothing was lost.
    """
    told = [
        f"{run.ledger.annual_kwh['temperature_blocked_kwh']:,.0f} kWh in {run.ledger.temperature_blocked_h:,.0f} hours ({run.strategy!r})"
        for run in runs
        if run.ledger.annual_kwh["temperature_blocked_kwh"] >= 0.5
    ]
    return [f"Cells too cold or hot to charge kept surplus sun out of the battery: {', '.join(told)}."] if told else []


def monthly_table(run: "Run", currency: str) -> Table:
    """Show one strategy's year by month.

    Parameters
    ----------
    run : Run
        A strategy's year.
    currency : str
        ISO 4217 code.

    Returns
    -------
    rich.table.Table
        With amounts of up to five digits at most 80 columns wide.
    """
    table = plain_table(
        "Month",
        "Solar\nkWh",
        "Load\nkWh",
        "Bought\nkWh",
        "Sold\nkWh",
        "Unused\nkWh",
        "Stored\nkWh",
        "Lost\nkWh",
        f"Bill\n{currency}",
    )
    keys = (
        "pv_available_kwh",
        "load_kwh",
        "import_kwh",
        "export_kwh",
        "curtailed_kwh",
        "battery_in_kwh",
        "losses_kwh",
    )
    for place, name in enumerate(MONTHS):
        cells = [whole(run.ledger.monthly_kwh[key][place]) for key in keys]
        table.add_row(name, *cells, f"{run.ledger.bill.month_total(place + 1):,.2f}")
    table.add_section()
    cells = [whole(run.ledger.annual_kwh[key]) for key in keys]
    table.add_row("Year", *cells, f"{run.ledger.bill.total:,.2f}")
    return table


def monthly_notes(run: "Run") -> list[str]:
    """Say what a reader of the months must know.

    Parameters
    ----------
    run : Run
        A strategy's year.

    Returns
    -------
    list of str
        Sentences.
    """
    return [
        "Solar: offered at the DC side. Unused: the part of it that nothing could take, which a logger never sees.",
        "Stored: into the battery's cells. Lost: in the inverter and the battery, without the inverter's standby.",
        f"Highest {run.flows.timeline.mean_name} of import: {run.ledger.peak_import_kw:.2f} kW."
        " Real peaks are shorter and higher.",
        *temperature_notes([run]),
        f"Books: every {run.flows.timeline.step_name} closes to {run.ledger.balance_error_kw:.0e} kW or better.",
    ]


def plain_table(first: str, *numbers: str) -> Table:
    """Begin a table: a column of names, which folds, and columns of numbers, which never do.

    Parameters
    ----------
    first : str
        Heading of the names.
    numbers : str
        Headings of the numbers.

    Returns
    -------
    rich.table.Table
        Without rows.
    """
    table = Table(box=SIMPLE_HEAD, padding=(0, 0, 0, 1), pad_edge=False)
    table.add_column(first, overflow="fold", min_width=14)
    for heading in numbers:
        table.add_column(heading, justify="right", no_wrap=True)
    return table


def savings_cell(savings: float | None) -> str:
    """Write savings in whole units, or that there are none to compare."""
    return "not comp." if savings is None else whole(savings)


def whole(value: float) -> str:
    """Write an amount in whole units."""
    return f"{round(value) + 0:,}"
