"""Pictures of a system's life: one strategy's years or many lifetimes in, figures out."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import StrMethodFormatter
from numpy.typing import NDArray

from solarsim.studies.life.life import StrategyLife
from solarsim.studies.risk.risk import Risk, percentiles
from solarsim.views.life_tables import years_or_never
from solarsim.views.month_plot import BLACK, BLUE, GREEN, ORANGE, PURPLE, SKY, VERMILION, YELLOW
from solarsim.views.risk_tables import INPUT_WORDS, input_values

_MONEY = "{x:,.0f}"
#: Bars of the cash picture: label, keys of the years' records, color.
_BARS = (
    ("savings", ("savings",), GREEN),
    ("incentives, loan, what is left", ("incentives", "loan", "salvage"), SKY),
    ("purchase", ("purchase",), ORANGE),
    ("o_and_m", ("o_and_m",), YELLOW),
    ("replacements", ("replacements",), VERMILION),
    ("loan payments", ("loan_payments",), PURPLE),
)


def cash_figure(life: StrategyLife, currency: str, title: str) -> Figure:
    """Draw one strategy's cash by year, and the balance that it adds up to.

    Parameters
    ----------
    life : StrategyLife
        Its years.
    currency : str
        ISO 4217 code.
    title : str
        Written above.

    Returns
    -------
    matplotlib.figure.Figure
        12 x 7.5 inches, two panels that share the years.
    """
    table = life.table()
    years = table.index.to_numpy()
    figure = Figure(figsize=(12, 7.5), layout="constrained")
    FigureCanvasAgg(figure)
    flows, balance = figure.subplots(2, 1, sharex=True, height_ratios=(3, 2))
    figure.suptitle(title, fontsize=13)

    up, down = np.zeros(years.size), np.zeros(years.size)
    for label, keys, colour in _BARS:
        amounts = table[list(keys)].sum(axis=1).to_numpy()
        if np.any(amounts):
            flows.bar(years, amounts, 0.7, np.where(amounts >= 0.0, up, down), color=colour, label=label)
            up, down = up + np.maximum(amounts, 0.0), down + np.minimum(amounts, 0.0)
    flows.plot(years, table["cash"], color=BLACK, marker="D", markersize=4, linestyle="none", label="cash of the year")
    flows.set_ylabel(f"{currency} in the year")

    rate = f"{100 * life.discount_rate:g} %"
    lines = (
        ("balance", life.simple_payback_years, "balance", BLACK, "-"),
        ("discounted_balance", life.discounted_payback_years, f"discounted at {rate}", BLUE, "--"),
    )
    for key, payback, label, colour, style in lines:
        told = f"{label}\n{'never pays back' if payback is None else f'pays back in {payback:.1f} years'}"
        told += f",\nstands at {table[key].iloc[-1]:,.0f} {currency} in the end"
        balance.plot(years, table[key], color=colour, linestyle=style, linewidth=1.6, label=told)
        if payback is not None:
            balance.plot([payback], [0.0], color=colour, marker="o", markersize=6, linestyle="none")
    balance.set_ylabel(f"{currency} since the purchase")
    balance.set_xlabel("year (0: the purchase)")
    balance.set_xlim(-0.7, years[-1] + 0.7)
    balance.set_xticks(years[:: 1 if years.size <= 31 else 5])
    for panel in (flows, balance):
        _tidy(panel)
        panel.axhline(0.0, color=BLACK, linewidth=0.6)
        panel.yaxis.set_major_formatter(StrMethodFormatter(_MONEY))
        panel.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False, fontsize=9)
    return figure


def risk_figure(risk: Risk, title: str) -> Figure:
    """Draw how the lifetimes' net present values spread, and what each input does to them.

    Parameters
    ----------
    risk : Risk
        Many lifetimes.
    title : str
        Written above.

    Returns
    -------
    matplotlib.figure.Figure
        12 inches wide: a histogram, and below it a bar for each input, the strongest on top.
    """
    currency = risk.home.scenario.rate_plan.currency
    rows = len(risk.moved)
    figure = Figure(figsize=(12, 4.2 + 0.55 * rows), layout="constrained")
    FigureCanvasAgg(figure)
    spread, inputs = figure.subplots(2, 1, height_ratios=(3.0, 0.8 + 0.5 * rows))
    figure.suptitle(title, fontsize=13)
    _draw_spread(spread, risk.npv, percentiles(risk.npv))
    paybacks = ", ".join(map(years_or_never, percentiles(risk.payback)))
    spread.set_xlabel(f"net present value, {currency}    (simple payback P10, P50, P90: {paybacks} years)")
    _draw_inputs(inputs, risk, currency)
    for panel in (spread, inputs):
        _tidy(panel)
        panel.xaxis.set_major_formatter(StrMethodFormatter(_MONEY))
    return figure


def _draw_spread(panel: Axes, values: NDArray[np.float64], marks: tuple[float | None, ...]) -> None:
    panel.hist(values, bins=min(40, max(5, values.size // 10)), color=SKY, edgecolor="white", linewidth=0.4)
    top = panel.get_ylim()[1]
    panel.set_ylim(0.0, 1.22 * top)
    for name, value in zip(("P10", "P50", "P90"), marks, strict=True):
        if value is not None:
            panel.plot([value, value], [0.0, 1.08 * top], color=BLACK, linewidth=1.2)
            panel.text(value, 1.1 * top, f"{name}\n{value:,.0f}", ha="center", va="bottom", fontsize=9)
    if values.min() < 0.0 < values.max():
        panel.axvline(0.0, color=VERMILION, linewidth=1.0, linestyle="--")
    panel.set_ylabel(f"of {values.size:,} lifetimes")


def _draw_inputs(panel: Axes, risk: Risk, currency: str) -> None:
    middle = risk.middle_value
    panel.set_axisbelow(True)
    for row, each in enumerate(risk.moved):
        for value, colour, label in ((each.at_low, ORANGE, "input at its P10"), (each.at_high, BLUE, "at its P90")):
            panel.barh(row, value - middle, 0.6, middle, color=colour, label=label if row == 0 else None)
        low, high = input_values(each)
        low_right = each.at_low > each.at_high
        ends = (min(each.at_low, each.at_high, middle), max(each.at_low, each.at_high, middle))
        texts = (high, low) if low_right else (low, high)
        for place, text, side, shift in zip(ends, texts, ("right", "left"), (-5, 5), strict=True):
            panel.annotate(
                text, (place, row), xytext=(shift, 0), textcoords="offset points", ha=side, va="center", fontsize=9
            )
    panel.axvline(middle, color=BLACK, linewidth=0.9)
    panel.set_yticks(range(len(risk.moved)), [INPUT_WORDS[each.name] for each in risk.moved])
    panel.set_ylim(len(risk.moved) - 0.4, -0.6)
    panel.margins(x=0.12)
    panel.set_xlabel(f"net present value, {currency}    (all inputs at their medians: {middle:,.0f})")
    panel.legend(loc="lower right", frameon=False, fontsize=9)


def _tidy(panel: Axes) -> None:
    panel.grid(axis="both", linewidth=0.3, alpha=0.5)
    panel.spines[["top", "right"]].set_visible(False)
