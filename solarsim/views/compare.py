"""Every strategy side by side, for a person: a comparison in; tables and sentences out."""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from rich.table import Table

from solarsim.ledger.money import not_comparable
from solarsim.run import Run
from solarsim.studies.compare.compare import Comparison
from solarsim.studies.compare.finer_steps import StepComparison
from solarsim.studies.optimum.optimum import Optimum
from solarsim.views.finer_steps import steps_sentences, steps_table
from solarsim.views.money import outage_cost_notes
from solarsim.views.tables import OneOrMore, plain_table, whole
from solarsim.views.texts import CAUTION, MONTHS, heading

if TYPE_CHECKING:
    from matplotlib.figure import Figure

NO_SYSTEM = "no system"
#: Further keys of the JSON, where asked for.
BESIDE = {"finer_steps": StepComparison}
_NOTICED = 0.001  # of the solar energy
_CANNOT = "* Cannot be programmed into this inverter: see the notes, or the settings sheet of the strategy."


def page(result: Comparison, months: bool = False, steps: StepComparison | None = None) -> list[Any]:
    """Return what a person sees of a comparison.

    Parameters
    ----------
    result : Comparison
        Every strategy.
    months : bool
        Also show the bills by month.
    steps : StepComparison, optional
        Also show the same by finer steps.

    Returns
    -------
    list
        Text and tables.
    """
    finer = [] if steps is None else [steps_table(steps), *steps_sentences(steps)]
    marked = [_CANNOT] if any(run.misfits for run in result.runs) else []
    tables = [_tables(result), *marked, *([_months_table(result)] if months else [])]
    return [heading(result.home), *tables, *_sentences(result), *finer, CAUTION]


_MONEY, _ENERGY = ("bill", "cost", "savings", "share"), ("import", "export", "curtailed", "sufficiency", "cycles")
_NAME_WIDTHS = 11, 24  # longer names fold


def _tables(result: Comparison) -> OneOrMore:
    """Return the strategies side by side; money and energy apart where the screen is too narrow for one table."""
    headings, rows = _headings(result), list(_rows(result))
    least, most = _NAME_WIDTHS
    width = min(most, max(least, *(len(row.name) for row in rows)))

    def table(*keys: str) -> Table:
        there = [key for key in keys if key in headings]
        found = plain_table("Strategy", *(headings[key] for key in there), name_width=width)
        for row in rows:
            if any(key in row.cells for key in there):
                found.add_row(row.name, *(row.cells.get(key, "") for key in there))
            if row.ends_section:
                found.add_section()
        return found

    return OneOrMore(table(*_MONEY, *_ENERGY), (table(*_MONEY), table(*_ENERGY)))


def _headings(result: Comparison) -> dict[str, str]:
    """Return the columns: with fuel, and with shares of battery savings, where there are any."""
    currency = result.currency
    with_fuel = any(run.fuel_cost for run in result.runs)
    return {
        "bill": f"Bill\n{currency}/yr",
        **({"cost": f"Energy\ncost\n{currency}/yr"} if with_fuel else {}),
        "savings": f"Savings\n{currency}/yr",
        **({"share": "Share of\npossible\nbattery\nsavings"} if _optima(result) else {}),
        "import": "Import\nkWh/yr",
        "export": "Export\nkWh/yr",
        "curtailed": "Curtailed\nkWh/yr",
        "sufficiency": "Self-\nsufficiency",
        "cycles": "Full\ncycles\n/yr",
    }


class _Row(NamedTuple):
    """A year of the table: its name, and its cells by column."""

    name: str
    cells: dict[str, str]
    ends_section: bool = False


def _rows(result: Comparison) -> Iterator[_Row]:
    """Yield the home without any system, then solar alone; the strategies; the optima."""
    base, alone = result.baseline, result.solar_only
    yield _Row(NO_SYSTEM, {"bill": whole(base.annual_bill), "import": whole(base.import_kwh)}, alone is None)
    if alone is not None:
        yield _Row(alone.name, _cells(alone), ends_section=True)
    for number, run in enumerate(result.runs, start=1):
        yield _Row(f"{run.name} *" if run.misfits else run.name, _cells(run), number == len(result.runs))
    cost_key = "cost" if "cost" in _headings(result) else "bill"
    for each in _optima(result):
        cost = each.energy_cost or 0.0
        saved = whole(base.energy_cost - cost) if result.comparable else "-"
        share = "" if each.scheduled_share is None else "100%"
        yield _Row(f"optimum, {_reserve(each)}", {cost_key: whole(cost), "savings": saved, "share": share})


def _cells(run: Run) -> dict[str, str]:
    return {
        "bill": whole(run.annual_bill),
        "cost": whole(run.energy_cost),
        "savings": "-" if run.annual_savings is None else whole(run.annual_savings),
        "share": "" if run.battery_savings_share is None else f"{run.battery_savings_share:.0%}",
        "import": whole(run.import_kwh),
        "export": whole(run.export_kwh),
        "curtailed": whole(run.curtailed_kwh),
        "sufficiency": f"{run.self_sufficiency:.0%}",
        "cycles": f"{run.equivalent_full_cycles:,.0f}",
    }


def _optima(result: Comparison) -> list[Optimum]:
    """Return the optima that have a bound."""
    return [each for each in result.best or () if each.energy_cost is not None]


def _reserve(best: Optimum) -> str:
    """Return the reserve of an optimum in words."""
    low, high = f"{best.reserve_low:.0%}", f"{best.reserve_high:.0%}"
    return f"reserve {low}" if low == high else f"reserve {low.rstrip('%')}-{high}"


def _best_sentences(result: Comparison) -> list[str]:
    """Return what a reader of the optimum must know."""
    best = result.best or ()
    told = [f"No optimum: {words}." for words, _ in _grouped((each.why_none, "") for each in best if each.why_none)]
    found = _optima(result)
    if not found:
        return told
    told.append("Optimum: lowest possible energy cost at that reserve, with perfect foresight. No control reaches it.")
    if any(run.battery_savings_share is not None for run in result.runs):
        told.append("Share of possible battery savings: savings beyond solar alone, relative to the optimum's.")
    elif result.solar_only is not None:
        told.append("No share is shown: the battery could save less than 1% of the cost without a system.")
    reached = [
        f"{each.scheduled_energy_cost:,.0f} {result.currency}/yr"
        + ("" if each.scheduled_share is None else f", {each.scheduled_share:.1%}")
        + f" ({_reserve(each)})"
        for each in found
        if each.scheduled_energy_cost is not None
    ]
    if reached:
        shares = any(each.scheduled_share is not None for each in found)
        share = ", with its share of the possible battery savings" if shares else ""
        told.append(f"Energy cost of an hour-by-hour schedule for this hardware{share}: {'; '.join(reached)}.")
    costs = [
        f"{whole(each.reserve_cost)} {result.currency}/yr ({_reserve(each)})" for each in found if each.reserve_cost
    ]
    if costs:
        told.append(f"Cost of the reserve at the optimum: {'; '.join(costs)}.")
    loose = _grouped((each.why_loose, "") for each in found if each.why_loose)
    return told + [f"The optimum is a loose bound, and shares are too low: {words}." for words, _ in loose]


def _months_table(result: Comparison) -> Table:
    """Return the months of every strategy's bill side by side."""
    table = plain_table(f"Bill, {result.currency}", *MONTHS)
    table.add_row(NO_SYSTEM, *map(whole, result.baseline.monthly_bill))
    if result.solar_only is not None:
        table.add_row(result.solar_only.name, *map(whole, result.solar_only.monthly_bill))
    table.add_section()
    for run in result.runs:
        table.add_row(run.name, *map(whole, run.monthly_bill))
    return table


def _sentences(result: Comparison) -> list[str]:
    """Return what a reader of the table must know."""
    home, first = result.home, result.runs[0]
    standby = "standby and the battery heater" if home.bank.cells.heater_kw.max() > 0.0 else "standby"
    sentences = [
        f"PV: {home.production.rated_kw:.2f} kWdc, {first.pv_available_kwh:,.0f} kWh available a year."
        f" Load: {first.load_kwh:,.0f} kWh, {standby} {first.standby_kwh:,.0f} kWh."
    ]
    if result.input_clipped_kwh >= 0.5:
        sentences.append(f"The inverter's DC inputs clip another {result.input_clipped_kwh:,.0f} kWh.")
    clipped = [*([] if result.solar_only is None else [result.solar_only]), *result.runs]
    cut = _grouped(
        (f"{run.clipped_kwh:,.0f} kWh", repr(run.name))
        for run in clipped
        if run.clipped_kwh >= _NOTICED * run.pv_available_kwh > 0.0
    )
    if cut:
        sentences.append(f"Clipped by the inverter's AC rating: {'; '.join(f'{kwh} ({names})' for kwh, names in cut)}.")
    sentences.append(f"Lowest energy cost: {_named(result.lowest, result.currency)}.")
    if any(run.misfits for run in result.lowest):
        sentences.append(
            "Lowest of those that can be programmed into this inverter:"
            f" {_named(result.lowest_programmable, result.currency)}."
            if result.lowest_programmable
            else "None of the strategies can be programmed into this inverter."
        )
    if first.outage_cost is not None:
        sentences.append("Ranked by energy cost plus outage cost (unserved energy at the value of lost load).")
    sentences += [
        f"Savings {words} ({names})."
        for words, names in _grouped(
            (not_comparable(run.ledger), repr(run.name)) for run in result.runs if run.annual_savings is None
        )
    ]
    if not result.comparable:
        sentences.append(
            "No savings are shown, because unserved energy is not a saving. Set outages.value_of_lost_load to compare."
        )
    sentences.append(
        "Curtailed: solar energy lost when the battery is full and export is limited. Self-sufficiency: share of"
        " demand met by solar."
    )
    sentences += _best_sentences(result) + temperature_sentences(result.runs) + _outage_sentences(result)
    worst = max(run.balance_error_kw for run in result.runs)
    return [*sentences, f"Energy balance: every {home.timeline.step_name} closes to {worst:.0e} kW or better."]


def _named(runs: Sequence[Run], currency: str) -> str:
    """Return the names of the runs of the lowest cost."""
    names = [repr(run.name) for run in runs]
    tie = f", less than 1 {currency} apart" if len(names) > 1 else ""
    return f"{', '.join(names[:-1])}{' and ' if len(names) > 1 else ''}{names[-1]}{tie}"


def _grouped(told: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Return each text once, with the names of all that it is said of."""
    names: dict[str, list[str]] = {}
    for text, name in told:
        names.setdefault(text, []).append(name)
    return [(text, ", ".join(each)) for text, each in names.items()]


def _outage_sentences(result: Comparison) -> list[str]:
    """Return what was unserved, and what a generator did; none where all was served and nothing ran."""
    years = [(NO_SYSTEM, result.baseline), *((repr(run.name), run) for run in result.runs)]
    unserved = [
        f"{words} ({names})"
        for words, names in _grouped(
            (
                f"{run.unserved_kwh:,.1f} kWh in {run.unserved_h:,.0f} h"
                + ("" if run.outage_cost is None else f", outage cost {run.outage_cost:,.0f} {result.currency}"),
                name,
            )
            for name, run in years
            if run.unserved_kwh >= 0.05
        )
    ]
    told = [f"Unserved: {'; '.join(unserved)}."] if unserved else []
    before = result.baseline.outage_cost
    told += outage_cost_notes(
        ((run.name, run.outage_cost, before, run.annual_savings) for run in result.runs), result.currency
    )[1:]
    for name, run in years:
        if run.generator_starts:
            told.append(
                f"Generator ({name}): {run.generator_h:,.0f} h, {run.generator_starts}"
                f" start{'s' if run.generator_starts > 1 else ''},"
                f" {run.fuel_liters:,.0f} L, {run.fuel_cost:,.0f} {result.currency}."
            )
    if any(run.generator_starts for _, run in years):
        told.append("Generator exhaust contains carbon monoxide and can kill. Never run a generator indoors.")
    return told


def temperature_sentences(runs: Sequence[Run]) -> list[str]:
    """Return how much solar energy the cells' temperature blocked from the battery; empty if none.

    Parameters
    ----------
    runs : sequence of Run
        Some strategies' years.

    Returns
    -------
    list of str
        One sentence at most.
    """
    told = [
        f"{run.temperature_blocked_kwh:,.0f} kWh in {run.temperature_blocked_h:,.0f} h ({run.name!r})"
        for run in runs
        if run.temperature_blocked_kwh >= 0.5
    ]
    return [f"Charging blocked by temperature (cells too cold or too hot): {'; '.join(told)}."] if told else []


def figure(result: Comparison) -> "Figure":
    """Draw what a year's energy costs without a system and under each strategy, and what passes the meter.

    Parameters
    ----------
    result : Comparison
        Every strategy.

    Returns
    -------
    matplotlib.figure.Figure
        Two panels, 13 inches wide: bill and generator fuel stacked, the savings at their end; import to the left,
        export to the right.
    """
    from solarsim.views.figure import BLACK, BLUE, ORANGE, SKY, new_figure, plain_panel

    years = [(NO_SYSTEM, result.baseline)]
    years += [(run.name, run) for run in ([] if result.solar_only is None else [result.solar_only])]
    years += [(run.name, run) for run in result.runs]
    drawn = new_figure(13, 2.0 + 0.45 * len(years), f"{result.scenario}: a year of each strategy")
    (money, meter), rows = drawn.subplots(1, 2, sharey=True, width_ratios=(3, 2)), range(len(years))
    bills, fuel = ([getattr(run, key) for _, run in years] for key in ("annual_bill", "fuel_cost"))
    last = money.barh(rows, bills, 0.6, color=BLUE, label="bill")
    if any(fuel):
        last = money.barh(
            rows, fuel, 0.6, left=bills, color=ORANGE, edgecolor=BLACK, linewidth=0, hatch="//", label="generator fuel"
        )
        money.legend(frameon=False, fontsize=9)
    saved = [None if run.annual_savings is None else f"savings {whole(run.annual_savings)}" for _, run in years]
    money.bar_label(last, ["", *(each or "savings not comparable" for each in saved[1:])], padding=4, fontsize=9)
    money.set_yticks(rows, [f"{name}\n(cannot be programmed)" if run.misfits else name for name, run in years])
    money.invert_yaxis()
    money.set_xlim(right=1.25 * money.get_xlim()[1])  # room for the words
    money.set_xlabel(f"energy cost, {result.currency} a year")
    for key, sign, color, hatch in (("import_kwh", -1.0, BLUE, "////"), ("export_kwh", 1.0, SKY, "\\\\\\\\")):
        kwh = [sign * getattr(run, key) for _, run in years]
        bars = meter.barh(rows, kwh, 0.6, facecolor=color, edgecolor="white", linewidth=0, hatch=hatch)
        meter.bar_label(bars, [whole(abs(each)) for each in kwh], padding=4, fontsize=9)
    meter.axvline(0.0, color=BLACK, linewidth=0.6)
    low, high = meter.get_xlim()
    meter.set_xlim(low - 0.2 * (high - low), high + 0.2 * (high - low))
    meter.set_xticks([])
    meter.set_xlabel("import, kWh a year  |  export, kWh a year")
    plain_panel(money, "x")
    plain_panel(meter, "x")
    meter.spines[["left", "bottom"]].set_visible(False)
    meter.tick_params(left=False)
    return drawn
