"""How each strategy wears the battery, for a person at a terminal: results in, a table and lines out."""

from rich.box import SIMPLE_HEAD
from rich.table import Table

from solarsim.studies.wear import MOST_YEARS, StrategyWear, Wear

DECIDES = "Estimates of one model: the cell maker's datasheet and the terms of the warranty decide."


def wear_table(found: Wear) -> Table:
    """Set the strategies side by side by what they wear off the battery.

    Parameters
    ----------
    found : Wear
        Every strategy.

    Returns
    -------
    rich.table.Table
        At most 80 columns wide.
    """
    table = Table(box=SIMPLE_HEAD, padding=(0, 0, 0, 1), pad_edge=False)
    table.add_column("Strategy", overflow="fold", min_width=14)
    headings = [
        "Cycles\na year",
        "Mean\nsoc",
        "Time\ntakes",
        "Cycles\ntake",
        f"Years\nto {found.battery.end_of_life:.0%}",
    ]
    money = found.price is not None
    headings += ["Holds\nterms"] if found.battery.warranty is not None else []
    headings += ["Wear\na kWh"] if money else []
    for heading in [*headings, "Earns\na kWh"]:
        table.add_column(heading, justify="right", no_wrap=True)
    for each in found.strategies:
        end = f"over {MOST_YEARS}" if each.years_to_end is None else f"{each.years_to_end:.1f}"
        cells = [
            f"{each.full_cycles:,.0f}",
            f"{each.mean_soc:.0%}",
            f"{each.loss_to_time:.1%}",
            f"{each.loss_to_cycles:.1%}",
            end,
        ]
        cells += [_warranty(each)] if found.battery.warranty is not None else []
        cells += [_price(each.cost_per_kwh)] if money else []
        table.add_row(each.strategy, *cells, _price(each.earns_per_kwh))
    return table


def wear_notes(found: Wear, currency: str) -> list[str]:
    """Say what a reader of the table must know.

    Parameters
    ----------
    found : Wear
        Every strategy.
    currency : str
        ISO 4217 code.

    Returns
    -------
    list of str
        Sentences.
    """
    battery = found.battery
    notes = [f"Battery: {battery.kwh:.2f} kWh, {found.chemistry}, {battery.place}. Model: {found.source}."]
    if battery.presets:
        values = ", ".join(f"{key} {value:g}" for key, value in battery.presets.items())
        notes.append(f"Not written in the scenario, taken from common datasheets: {values}.")
    if len(found.strategies) > 1:
        left = {each.strategy: max(0.0, 1.0 - each.loss_to_time - each.loss_to_cycles) for each in found.strategies}
        best = max(left, key=lambda name: left[name])
        worst = min(left, key=lambda name: left[name])
        notes.append(
            f"Least worn after 10 years: {best!r}, {left[best]:.1%} left. Most: {worst!r}, {left[worst]:.1%} left."
        )
    notes.append(
        "Time takes, Cycles take: shares of capacity lost after 10 years."
        f" Earns: savings over solar without a battery, {currency} for each kWh delivered."
    )
    if found.price is None:
        notes.append("No cost of wear: no part of [costs] is marked of = 'cells' or of = 'battery'.")
    else:
        notes.append(
            f"Wear: the battery's parts ({found.price:,.0f} {currency}) / what it delivers until"
            f" {battery.end_of_life:.0%} of capacity is left, {currency} a kWh, without interest."
            " A battery pays for itself only where a kWh earns more."
        )
    if battery.warranty is not None:
        promise = battery.warranty
        notes.append(
            f"Terms: {promise.remaining:.0%} left after {promise.years:g} years"
            + (f" or {promise.throughput_mwh:g} MWh." if promise.throughput_mwh is not None else ".")
        )
    for sentence in dict.fromkeys(sentence for each in found.strategies for sentence in each.outside):
        whose = [each.strategy for each in found.strategies if sentence in each.outside]
        told = "" if len(whose) == len(found.strategies) else f"{', '.join(map(repr, whose))}: "
        notes.append(f"Outside the model's range: {told}{sentence}.")
    return notes


def _price(value: float | None) -> str:
    return "" if value is None else f"{value:.3f}"


def _warranty(each: StrategyWear) -> str:
    if each.warranty is None:
        return ""
    return "yes" if each.warranty.kept else "no"
