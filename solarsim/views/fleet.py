"""Many homes, for a person: the sum of a fleet and the spread of its savings in; tables, sentences and a figure out."""

from datetime import datetime
from typing import TYPE_CHECKING, Any

import numpy as np
from rich.table import Table

from solarsim.studies.fleet.fleet import Fleet
from solarsim.studies.fleet.spread import SavingsSpread
from solarsim.studies.fleet.totals import FleetSum
from solarsim.views.money import amount
from solarsim.views.tables import plain_table, whole
from solarsim.views.texts import CAUTION

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

NO_SYSTEM, BEST = "no system", "each home's best"
_MOST_GROUPS = 20
_MOST_LINES = 7
_DAYS_AROUND = 1.5


def page(result: Fleet) -> list[Any]:
    """Return what a person sees of a fleet.

    Parameters
    ----------
    result : Fleet
        That was run.

    Returns
    -------
    list
        Text and tables.
    """
    return [
        f"{result.homes - result.failed:,} homes, {result.year}",
        *_failures(result),
        _energy_table(result),
        _peaks_table(result),
        *_savings_tables(result),
        *_sentences(result),
        CAUTION,
    ]


def _failures(result: Fleet) -> list[str]:
    """Return how many homes could not be run, and why."""
    if not result.failed:
        return []
    told = "; ".join(f"{each.reason} ({_homes(each.homes)})" for each in result.failures)
    shown = sum(each.homes for each in result.failures)
    more = f"; other reasons ({_homes(result.failed - shown)})" if shown < result.failed else ""
    return [f"Not run: {result.failed:,} of {_homes(result.homes)}, see column 'error' of the rows: {told}{more}."]


def _homes(count: int) -> str:
    return f"{count:,} home{'' if count == 1 else 's'}"


def _name(each: FleetSum) -> str:
    return {"baseline": NO_SYSTEM, "lowest": BEST}.get(each.kind, each.name)


def _energy_table(result: Fleet) -> Table:
    """Return the energy of all homes together."""
    table = plain_table("All homes together", "Homes", "Load\nMWh", "PV available\nMWh", "Import\nMWh", "Export\nMWh")
    for each in result.strategies:
        kwh = (each.load_kwh, each.pv_available_kwh, each.import_kwh, each.export_kwh)
        table.add_row(_name(each), f"{each.homes:,}", *(f"{value / 1000.0:,.1f}" for value in kwh))
    return table


def _peaks_table(result: Fleet) -> Table:
    """Return what a feeder sees: the coincident peaks and when they are."""
    table = plain_table(
        "Coincident peaks", "Import\nkW", "at (UTC)", "Coinci-\ndence\nfactor", "Export\nkW", "at (UTC)",
        "Coinci-\ndence\nfactor",
    )  # fmt: skip
    for each in result.strategies:
        cells = [_kw(each.peak_import_kw), _when(each.peak_import_at), _factor(each.import_coincidence)]
        if each.peak_export_kw > 0.0:
            cells += [_kw(each.peak_export_kw), _when(each.peak_export_at), _factor(each.export_coincidence)]
        table.add_row(_name(each), *cells, *[""] * (6 - len(cells)))
    return table


def _kw(value: float) -> str:
    return f"{value:,.1f}" if value < 1000.0 else whole(value)


def _when(text: str) -> str:
    return f"{datetime.fromisoformat(text):%b %d %H:%M}"


def _factor(value: float | None) -> str:
    return "-" if value is None else f"{value:.2f}"


def _savings_tables(result: Fleet) -> list[Any]:
    """Return how savings spread: by strategy over all homes, then each group's best."""
    money = sorted({each.currency for each in result.savings})
    found: list[Any] = []
    for currency in money:
        everyone = [each for each in result.savings if each.group is None and each.currency == currency]
        found.append(_savings_table(f"Savings, {currency}/yr", [(_strategy(each), each) for each in everyone]))
        if result.group_by is not None:
            of_best = [
                each
                for each in result.savings
                if each.group is not None and each.currency == currency and not each.strategy
            ]
            rows = [(str(each.group), each) for each in of_best[:_MOST_GROUPS]]
            found.append(_savings_table(f"{BEST} by {result.group_by}, {currency}/yr", rows))
            if len(of_best) > _MOST_GROUPS:
                found.append(f"{len(of_best) - _MOST_GROUPS} more values of {result.group_by}: see --json.")
    return found


def _strategy(each: SavingsSpread) -> str:
    return each.strategy or BEST


def _savings_table(title: str, rows: list[tuple[str, SavingsSpread]]) -> Table:
    table = plain_table(title, "Homes", "Mean", "P90", "P75", "P50", "P25", "P10")
    for name, each in rows:
        shares = (each.mean, each.p90, each.p75, each.p50, each.p25, each.p10)
        table.add_row(name, f"{each.homes:,}", *map(amount, shares))
    return table


def _sentences(result: Fleet) -> list[str]:
    """Return what a reader of the tables must know."""
    step = "an hour" if result.step_minutes == 60 else f"a {result.step_minutes}-minute step"
    told = [
        f"Coincident peak: highest sum of all homes in {step}. Coincidence factor: that sum relative to the sum of"
        " each home's own peak. Loads with the same shape peak together; metered loads do so less.",
        f"{BEST[0].upper()}{BEST[1:]}: each home under its strategy with the lowest energy cost.",
        "P90: savings that 90% of the homes reach or exceed; P10: that 10% reach or exceed.",
    ]
    lacking = sum(each.not_comparable for each in result.savings if each.group is None and each.strategy)
    if lacking:
        told.append(
            f"Not comparable, because too much demand is unserved: {lacking:,} rows. They count as the lowest savings."
        )
    return [*told, f"Digest of all rows: {result.digest[:16]}."]


def figure(result: Fleet) -> "Figure":
    """Draw what a feeder sees around its peak and over the year, and how savings spread.

    Parameters
    ----------
    result : Fleet
        That was run.

    Returns
    -------
    matplotlib.figure.Figure
        Three panels, 11 x 11 inches.
    """
    from solarsim.views.figure import new_figure, plain_panel

    title = f"{result.homes - result.failed:,} homes, {result.year}"
    drawn = new_figure(11, 11, title)
    around, duration, savings = drawn.subplots(3, 1)
    _draw_sums(result, around, duration)
    _draw_savings(result, savings)
    plain_panel(around)
    plain_panel(duration)
    plain_panel(savings, "x")
    return drawn


def _draw_sums(result: Fleet, around: "Axes", duration: "Axes") -> None:
    """Draw net import of all homes: around the highest import, and in order of size."""
    from solarsim.views.figure import BLACK, LINE_COLORS, LINE_STYLES

    colors = [color for color in LINE_COLORS if color != BLACK]
    first = result.strategies[-1]
    starts, step_h = result.sums.starts(), result.step_minutes / 60.0
    half = round(_DAYS_AROUND * 24.0 / step_h)
    middle = int(first.total.kw("import_kw").argmax())
    places = np.arange(middle - half, middle + half) % starts.size
    hours = (np.arange(places.size) - half) * step_h
    for place, each in enumerate(_drawn(result)):
        net_kw = each.total.kw("import_kw") - each.total.kw("export_kw")
        style: Any = {"color": BLACK, "linewidth": 2.0}
        if each is not first:
            style = {"color": colors[place % len(colors)], "linestyle": LINE_STYLES[place % len(LINE_STYLES)]}
        around.plot(hours, net_kw[places], label=_name(each), drawstyle="steps-post", **style)
        shares = (np.arange(net_kw.size) + 0.5) / net_kw.size * 100.0
        duration.plot(shares, np.sort(net_kw)[::-1], label=_name(each), **style)
    for panel in (around, duration):
        panel.axhline(0.0, color=BLACK, linewidth=0.8)
        panel.set_ylabel("import minus export, kW")
    around.set_title(f"around the highest import of '{_name(first)}': {_when(first.peak_import_at)} UTC", fontsize=10)
    around.set_xlabel("hours from the highest import")
    around.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=9)
    duration.set_title("load duration curve", fontsize=10)
    duration.set_xlabel("share of the year with at least this power, %")


def _drawn(result: Fleet) -> list[FleetSum]:
    """Return the sums that are drawn: without systems, some strategies, each home's best."""
    *others, last = result.strategies
    return [*others[: _MOST_LINES - 1], last]


def _draw_savings(result: Fleet, panel: "Axes") -> None:
    """Draw P90 to P10 of the savings of each strategy and group as bars, the median as a mark."""
    from solarsim.views.figure import BLACK, BLUE, SKY

    panel.use_sticky_edges = False  # the lowest bar must not touch the axis: it would seem to begin there
    currency = result.savings[0].currency
    shown = [each for each in result.savings if each.currency == currency]
    everyone = [(_strategy(each), each) for each in shown if each.group is None]
    groups = [
        (f"{result.group_by} {each.group}", each) for each in shown if each.group is not None and not each.strategy
    ]
    rows = [*everyone[: 2 * _MOST_LINES], *groups[:_MOST_GROUPS]]
    for place, (_, each) in enumerate(rows):
        for low, high, height, color in ((each.p90, each.p10, 0.3, SKY), (each.p75, each.p25, 0.6, BLUE)):
            if low is not None and high is not None:
                panel.barh(place, high - low, height, left=low, color=color, edgecolor=BLACK, linewidth=0.5)
        if each.p50 is not None:
            panel.plot([each.p50] * 2, [place - 0.38, place + 0.38], color=BLACK, linewidth=2.0)
    panel.set_yticks(range(len(rows)), [name for name, _ in rows])
    panel.invert_yaxis()
    panel.set_xlabel(f"savings, {currency} a year: P90 to P10 (thin), P75 to P25 (thick), P50 (line)")
