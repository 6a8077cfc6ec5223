"""Why the battery did that, for a person: one step and what decided it in; sentences and a table of its flows out."""

from datetime import datetime
from typing import Any

from rich.table import Table

from solarsim.studies.explain.explain import Decision, Explanation
from solarsim.views.explain_words import VISIBLE_KW, sentence, written
from solarsim.views.tables import plain_table
from solarsim.views.texts import heading

_FLOWS = {
    "pv_to_load_kw": "solar to the home",
    "pv_to_battery_kw": "solar to the battery",
    "pv_to_grid_kw": "solar to the grid",
    "battery_to_load_kw": "battery to the home",
    "battery_to_grid_kw": "battery to the grid",
    "grid_to_load_kw": "grid to the home",
    "grid_to_battery_kw": "grid to the battery",
    "generator_to_load_kw": "generator to the home",
    "generator_to_battery_kw": "generator to the battery",
    "clipped_kw": "clipped solar",
    "curtailed_kw": "curtailed solar",
    "unserved_kw": "unserved",
}
_GIVEN = {"pv_available_kw": "PV available", "load_kw": "load", "standby_kw": "standby and battery heater"}
_MOST_CHANGES = 3


def page(result: Explanation) -> list[Any]:
    """Return what a person sees of one step.

    Parameters
    ----------
    result : Explanation
        The step.

    Returns
    -------
    list
        Text and a table.
    """
    return [
        heading(result.home),
        f"Strategy: {result.strategy}",
        f"{_when(result)}. {_governed_by(result)}",
        "",
        *_decided(result),
        _table(result),
        *_stored(result),
        _prices(result),
        *([_CHECKED + (_NOT_SO if result.foresight else "")] if result.decisions else []),
    ]


def _when(result: Explanation) -> str:
    """Return the step by the wall clock."""
    starts, ends = datetime.fromisoformat(result.starts), datetime.fromisoformat(result.ends)
    told = f"{starts:%A, %B} {starts.day}, {starts.year}, {starts:%H:%M} to {ends:%H:%M} (wall-clock time)"
    if result.other_starts is None:
        return told
    place = "first" if starts < datetime.fromisoformat(result.other_starts) else "second"
    return f"{told}. The clock shows this time twice; this is the {place} of two (the other: {result.other_starts})"


def _governed_by(result: Explanation) -> str:
    """Return which window of the strategy holds."""
    line = "" if result.line is None else f" (line {result.line} of the scenario file)"
    if result.window is None:
        return f"No window applies: the base settings of the strategy are in force{line}."
    return f"Window {result.window} of the strategy applies: {result.window_words}{line}."


def _decided(result: Explanation) -> list[str]:
    """Return one sentence for each setting or limit that decided the step."""
    large = [each for each in result.decisions if max(map(abs, each.changes_kw.values())) >= VISIBLE_KW]
    shown = large or result.decisions
    told = [f"- {sentence(result, each)} {_compared(result, each)}: {_effect(each)}." for each in shown]
    if told:
        return ["What decided this step:", *told, ""]
    return ["No setting or limit decided this step: only load and sun did.", ""]


_CHECKED = (
    "Each comparison under 'What decided this step' is this step run again with the energy that this strategy had"
    " stored, and with nothing changed but what the comparison names."
)
_NOT_SO = " The column 'Perfect foresight' is not such a comparison: its stored energy differs."


def _compared(result: Explanation, decision: Decision) -> str:
    """Return what was changed for the comparison, as the beginning of a sentence."""
    settings = [
        f"with {written(key, value)}" if value else f"without `{key}`" for key, value in decision.compared_with.items()
    ]
    changed = [
        *settings,
        *(_out_of_reach(result, decision, key) for key in decision.keys if key not in decision.compared_with),
    ]
    told = " and ".join(filter(None, dict.fromkeys(changed)))
    return told[0].upper() + told[1:]


def _out_of_reach(result: Explanation, decision: Decision, key: str) -> str:
    """Return how a limit was lifted; empty where another one says it."""
    if key in ("arrangement.kind", "arrangement.backed_up"):
        whole = "" if decision.values[decision.keys.index(key)] == "hybrid" else "with the whole home backed up"
        return " and ".join(filter(None, (whole, "without transfer time" if result.in_transfer else "")))
    if key == "generator.may_start" and "generator.start_at" in decision.keys:
        return ""
    return _OUT_OF_REACH.get(key, "without this limit")


_OUT_OF_REACH = {
    "battery_full": "with a larger battery",
    "battery.low_cutoff": "with more energy stored",
    "battery.restart_at": "without this wait",
    "cells_charge": "with cells at a moderate temperature",
    "cells_discharge": "with cells at a moderate temperature",
    "inverter.ac_kw": "with a larger inverter",
    "grid": "with the grid",
    "arrangement.grid_from": "on the grid",
    "generator.kw": "with a larger generator",
    "generator.start_at": "with the generator running",
    "generator.may_start": "without quiet hours",
    "generator.tank_liters": "with enough fuel",
}


def _effect(decision: Decision) -> str:
    """Return the largest changes of flows."""
    largest = sorted(decision.changes_kw.items(), key=lambda each: -abs(each[1]))[:_MOST_CHANGES]
    shown = [(name, by_kw) for name, by_kw in largest if abs(by_kw) >= VISIBLE_KW] or largest[:1]
    return ", ".join(f"{_FLOWS[name]} {abs(by_kw):.2f} kW {'more' if by_kw > 0.0 else 'less'}" for name, by_kw in shown)


def _table(result: Explanation) -> Table:
    """Return the flows of the step, beside them those of a schedule with perfect foresight."""
    rows = [result.flows, *([] if result.foresight is None else [result.foresight])]
    table = plain_table("Flow", *["kW", "Perfect\nforesight"][: len(rows)], name_width=28)
    for name, words in (_GIVEN | _FLOWS).items():
        if any(row[name] >= VISIBLE_KW for row in rows):
            table.add_row(words[0].upper() + words[1:], *(f"{row[name]:.2f}" for row in rows))
    return table


def _stored(result: Explanation) -> list[str]:
    """Return the stored energy before and after."""
    if result.soc_before is None:
        return []
    told = [
        f"Battery: {100 * result.soc_before:.1f}% ({result.battery_kwh_before:.2f} kWh) before,"
        f" {100 * result.flows['soc']:.1f}% ({result.flows['battery_kwh']:.2f} kWh) after."
        f" Discharge floor: {100 * result.flows['discharge_floor']:.0f}%."
    ]
    if result.foresight is not None:
        told.append(
            f"With perfect foresight the battery starts this step at {100 * (result.foresight_soc_before or 0.0):.1f}%"
            f" and ends at {100 * result.foresight['soc']:.1f}%: that schedule knows all later sun and load."
        )
    return told


def _prices(result: Explanation) -> str:
    """Return the prices of the step."""
    flows, currency = result.flows, result.currency
    import_price, export_price = (f"{flows[name]:.4g} {currency}/kWh" for name in ("import_price", "export_price"))
    return f"Import price: {import_price}. Export price: {export_price}."
