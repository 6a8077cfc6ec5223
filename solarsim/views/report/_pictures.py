"""The pictures of a report: results in; figures as SVG that can stand inside one page, side by side, out."""

import io
import re
import warnings
from datetime import date
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

from solarsim.studies.life.strategy_life import StrategyLife
from solarsim.studies.report.report import HomeReport
from solarsim.views.day_picture import day_figure, highest_kw
from solarsim.views.energy_flow import energy_flow_figure
from solarsim.views.figure import BLACK, BLUE, GREEN, VERMILION, new_figure, plain_panel
from solarsim.views.tables import whole
from solarsim.views.texts import printable

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_WIDE_IN, _HIGH_IN = 4.4, 2.65  # half a printed page wide: letters keep their size on paper and on a phone


#: Text stays text; the reader's browser has one of these fonts, all about as wide.
_FONTS = ["DejaVu Sans", "Verdana", "Arial"]


def money_figure(home: HomeReport) -> "Figure":
    """Draw the household's money: the balance by year since the purchase, or without a life the year's energy cost.

    Parameters
    ----------
    home : HomeReport
        Of one scenario.

    Returns
    -------
    matplotlib.figure.Figure
        One panel, 4.4 inches wide.
    """
    drawn = new_figure(_WIDE_IN, _HIGH_IN, "")
    panel = drawn.subplots()
    best = home.best
    if best is not None and best.cash is not None:
        balances = [float(year.balance or 0.0) for year in best.years]
        for sign, color, hatch, label in ((-1, VERMILION, "//", "still to earn back"), (1, GREEN, "", "ahead")):
            heights = [balance if balance * sign > 0.0 else 0.0 for balance in balances]
            panel.bar(
                range(len(balances)),
                heights,
                0.8,
                color=color,
                hatch=hatch,
                edgecolor="black",
                linewidth=0.3,
                label=label,
            )
        _mark_years(drawn, best, balances)
        panel.set_xlabel("years since the purchase", fontsize=9)
    else:
        costs = (home.comparison.baseline.energy_cost, home.comparison.runs[home.strategy_number].energy_cost)
        bars = panel.bar(["without the system", "with it"], costs, 0.5, color=[VERMILION, BLUE], edgecolor="black")
        panel.bar_label(bars, list(map(whole, costs)), padding=2, fontsize=9)
        panel.margins(y=0.12)
    panel.axhline(0.0, color=BLACK, linewidth=0.8)
    panel.set_ylabel(home.currency, fontsize=9)
    panel.yaxis.set_major_formatter("{x:,.0f}")
    panel.tick_params(labelsize=8)
    plain_panel(panel, "y")
    return drawn


def _mark_years(drawn: "Figure", best: StrategyLife, balances: list[float]) -> None:
    """Write beside the bars what is paid at the start, when it is paid back, and what is left at the end."""
    panel, last = drawn.axes[0], len(balances) - 1
    ground = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}
    span = max(balances) - min(balances) or 1.0
    panel.set_ylim(min(0.0, *balances) - 0.12 * span, max(0.0, *balances) + 0.16 * span)
    if balances[0] < 0.0:
        panel.annotate(
            f"paid at the start {whole(-balances[0])}", (0, balances[0]), xytext=(-4, -3), textcoords="offset points",
            fontsize=8, va="top", bbox=ground,
        )  # fmt: skip
    payback = best.simple_payback_years
    if payback:
        panel.axvline(payback, color=BLACK, linewidth=1.0, linestyle="--")
        panel.annotate(
            f"paid for after\n{payback:.1f} years", (payback, 0.55 * max(balances)), xytext=(-4, 0),
            textcoords="offset points", ha="right", fontsize=8, bbox=ground,
        )  # fmt: skip
    panel.annotate(
        f"{whole(balances[-1])} after {last} years", (last + 0.4, balances[-1]), xytext=(0, 3),
        textcoords="offset points", ha="right", fontsize=8, va="bottom", bbox=ground,
    )  # fmt: skip


def household_figures(home: HomeReport) -> dict[str, "Figure"]:
    """Return the pictures of the household's page by name.

    Parameters
    ----------
    home : HomeReport
        Of one scenario.

    Returns
    -------
    dict of str to matplotlib.figure.Figure
        ``money``, ``energy``, and where the sheet has such days ``sunny_day`` and ``cloudy_day``, on one scale.
    """
    flow = home.flows[home.strategy_number]
    found = {
        "money": money_figure(home),
        "energy": energy_flow_figure(flow.energy_flow, width_in=_WIDE_IN, height_in=_HIGH_IN),
    }
    days = {"sunny_day": home.sunny_day, "cloudy_day": home.cloudy_day}
    dates = {name: date.fromisoformat(day.date) for name, day in days.items() if day is not None}
    top_kw = max((highest_kw(flow, day) for day in dates.values()), default=0.0)
    for name, day in dates.items():
        found[name] = day_figure(flow, day, width_in=_WIDE_IN, height_in=_HIGH_IN, top_kw=top_kw)
    return found


def inline_svg(drawn: "Figure", prefix: str, words: str) -> Markup:
    """Return a figure as SVG for the inside of an HTML page.

    Parameters
    ----------
    drawn : matplotlib.figure.Figure
        Any.
    prefix : str
        Before all of its ids: pictures of one page must not share any.
    words : str
        The alternative text.

    Returns
    -------
    markupsafe.Markup
        One ``svg`` element whose text is text; it fills the width that it is given.
    """
    from matplotlib import rc_context

    buffer = io.StringIO()
    with (
        rc_context({"svg.fonttype": "none", "svg.hashsalt": prefix, "font.sans-serif": _FONTS}),
        warnings.catch_warnings(),
    ):
        warnings.filterwarnings("ignore", "Glyph .* missing from")  # the reader's own fonts draw it
        drawn.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    svg = printable(buffer.getvalue())  # names on axes may hold anything
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>\s*", "", svg, flags=re.DOTALL)
    svg = re.sub(r"<style type=\"text/css\">.*?</style>", "", svg, flags=re.DOTALL)  # would hold for the whole page
    svg = re.sub(r'\bid="', f'id="{prefix}-', svg)
    svg = re.sub(r"url\(#", f"url(#{prefix}-", svg)
    svg = re.sub(r'href="#', f'href="#{prefix}-', svg)
    svg = re.sub(r'\bd="([^"]*)"', lambda found: f'd="{_shorter(found[1])}"', svg)
    head, _, body = svg.partition(">")
    view = re.search(r'viewBox="[^"]*"', head)
    label = escape(printable(words))
    start = (
        f'<svg xmlns:xlink="http://www.w3.org/1999/xlink" {view[0] if view else ""} role="img" aria-label="{label}">'
    )
    return Markup(start + body)  # noqa: S704  # matplotlib has escaped the texts, and the label is


def _shorter(path: str) -> str:
    """Return a path to a tenth of a point, on one line."""
    return " ".join(re.sub(r"(\.\d)\d+", r"\1", path).split())
