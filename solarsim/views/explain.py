"""Why the battery did that, for a person: one step and what decided it in; sentences and a table of its flows out."""

from datetime import datetime
from typing import Any, NamedTuple

from rich.table import Table

from solarsim.studies.explain.explain import Decision, Explanation
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
_VISIBLE_KW = 0.005
_MOST_CHANGES = 3
_SAME_SOC = 1e-4


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
    large = [each for each in result.decisions if max(map(abs, each.changes_kw.values())) >= _VISIBLE_KW]
    shown = large or result.decisions
    told = [f"- {_sentence(result, each)} {_compared(result, each)}: {_effect(each)}." for each in shown]
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
        f"with {_written(key, value)}" if value else f"without `{key}`" for key, value in decision.compared_with.items()
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
    shown = [(name, by_kw) for name, by_kw in largest if abs(by_kw) >= _VISIBLE_KW] or largest[:1]
    return ", ".join(f"{_FLOWS[name]} {abs(by_kw):.2f} kW {'more' if by_kw > 0.0 else 'less'}" for name, by_kw in shown)


def _sentence(result: Explanation, decision: Decision) -> str:
    """Return what a setting or limit did, as one sentence."""
    if set(decision.keys) == {"generator.start_at", "generator.may_start"}:
        level = _written("generator.start_at", decision.values[decision.keys.index("generator.start_at")])
        return f"The generator did not run: the battery was above {level}, and the generator had quiet hours."
    if len(decision.keys) > 1:
        named = " and ".join(_written(key, value) for key, value in zip(decision.keys, decision.values, strict=True))
        few = "one" if len(decision.keys) == 2 else "some"
        return f"{named} decided together: changing only {few} of them changes nothing."
    key, value = decision.keys[0], decision.values[0]
    own = _SENTENCES.get(key, "{key} decided.")
    told: str = own(_Case(result, decision, value)) if callable(own) else own
    return told.format(key=_written(key, value), value=value)


def _written(key: str, value: str) -> str:
    """Return a setting as it is written in the file, or a limit in words."""
    words = _LIMITS.get(key)
    if words is not None:
        return words.format(value=value)
    bare = value.removesuffix(" kW").removesuffix(" A")
    return f"`{key} = {_toml(bare)}`" if value else f"`{key}`"


def _toml(value: str) -> str:
    """Return a value as the scenario file has it."""
    return f'"{value}"' if value.replace("_", "").isalpha() and value not in ("true", "false") else value


_LIMITS = {
    "battery_full": "a full battery",
    "cells_charge": "what cold or hot cells accept ({value})",
    "cells_discharge": "what cold or hot cells deliver ({value})",
    "grid": "the outage",
}


def _percent(value: str) -> str:
    return f"{100 * float(value):.3g}%"


class _Case(NamedTuple):
    """One decider of a step, and its value there."""

    result: Explanation
    decision: Decision
    value: str


def _rest(result: Explanation) -> str:
    """Return who served what the battery did not."""
    served_kw = result.flows["grid_to_load_kw"]
    if served_kw < _VISIBLE_KW:
        return ""
    price = result.flows["import_price"]
    return f"; the grid served {served_kw:.2f} kW at {price:.4g} {result.currency}/kWh"


def _floor(case: _Case) -> str:
    below = case.result.soc_before is not None and case.result.soc_before < float(case.value) - _SAME_SOC
    where = f"was below {_percent(case.value)} and did not discharge" if below else f"stopped at {_percent(case.value)}"
    return f"The battery {where} because of {{key}}{_rest(case.result)}."


def _serves(case: _Case) -> str:
    if case.value == "true":
        return "The battery served the home because of {key}."
    served_kw = case.result.flows["battery_to_load_kw"]
    did = "did not serve the home" if served_kw < _VISIBLE_KW else f"served only {served_kw:.2f} kW of the home"
    return f"The battery {did} because of {{key}}{_rest(case.result)}."


def _ordered(case: _Case) -> str:
    level, more_kw = _percent(case.value), case.decision.changes_kw
    if _further(case):
        return f"The order to charge stopped at {level}: {{key}}."
    if more_kw.get("grid_to_battery_kw", 0.0) < 0.0:
        return "The grid charged the battery because of {key}."
    if more_kw.get("pv_to_battery_kw", 0.0) < 0.0:
        return "Solar charged the battery before it served the home because of {key}."
    if more_kw.get("battery_to_load_kw", 0.0) > 0.0:
        return f"The battery did not serve the home below {level} because of {{key}}{_rest(case.result)}."
    return "{key} decided."


def _further(case: _Case) -> bool:
    """Return whether an order was compared with one to another level, and not with none."""
    (key,) = case.decision.keys
    return case.decision.compared_with[key] != _NEVER[key]


_NEVER = {"charge_from_grid_to": "0", "sell_down_to": "1"}


def _sold(case: _Case) -> str:
    if _further(case):
        return f"Selling from the battery stopped at {_percent(case.value)} because of {{key}}."
    return "The battery sold to the grid because of {key}."


def _surplus(case: _Case) -> str:
    return f"Surplus solar went to the {case.value} first because of {{key}}."


def _emptied(case: _Case) -> str:
    end = case.result.flows["unserved_kw"]
    rest = f"; {end:.2f} kW was unserved" if end >= _VISIBLE_KW else _rest(case.result)
    return f"The battery reached its low cutoff of {_percent(case.value)} ({{key}}){rest}."


def _export(case: _Case) -> str:
    if not any(case.decision.changes_kw.get(f"{source}_to_grid_kw", 0.0) > 0.0 for source in ("pv", "battery")):
        return "While export is held to zero, the inverter keeps a small import: {key}."
    whose = ", the utility's limit: {key}" if case.decision.keys[0].startswith("grid.") else " because of {key}"
    return f"Export stopped at {case.value}{whose}."


def _out(case: _Case) -> str:
    return "The grid was out." if case.result.home.has_grid else "The home has no grid."


def _arrangement(case: _Case) -> str:
    if case.value == "grid_tied":
        return "A grid-tied system stops while the grid is out: {key}."
    if case.value == "off_grid":
        return "An off-grid home does not export, and its battery is idle while the grid serves the home: {key}."
    if case.value == "hybrid":
        return "A part of this step is transfer time from grid to island."
    return "Only the critical load is backed up while the grid is out: {key}."


_SENTENCES: dict[str, Any] = {
    "reserve": _floor,
    "off_grid_floor": _floor,
    "battery_serves_load": _serves,
    "charge_from_grid_to": _ordered,
    "sell_down_to": _sold,
    "surplus_to": _surplus,
    "battery.low_cutoff": _emptied,
    "arrangement.kind": _arrangement,
    "arrangement.backed_up": _arrangement,
    "arrangement": "A part of this step is transfer time from grid to island.",
    "solar_ceiling": "Solar charging stopped at {key}.",
    "zero_export_bias_kw": "The inverter kept a small import so that it did not export: {key}.",
    "export_limit_kw": _export,
    "grid.export_limit_kw": _export,
    "import_cap_kw": "Import was held to {value} because of {key}.",
    **dict.fromkeys(
        ("grid_charge_kw", "grid_charge_a"),
        "Charging from the grid was held to {value} at the battery because of {key}.",
    ),
    **dict.fromkeys(("discharge_limit_kw", "discharge_limit_a"), "Discharge was held to {value} because of {key}."),
    "sell_limit_kw": "Selling from the battery was held to {value} because of {key}.",
    "load_served": "The battery served only the backed-up load because of {key}.",
    "inverter.ac_kw": "The inverter was at its rating: {key} kW.",
    "battery_full": "The battery was full, or became full within the step.",
    "battery.taper_from": "Charging slows down near full: {key}.",
    "battery.restart_at": "The battery had reached its low cutoff and was waiting to restart: {key}.",
    "cells_charge": "Cold or hot cells accepted only {value}.",
    "cells_discharge": "Cold or hot cells delivered only {value}.",
    "grid": _out,
    "arrangement.grid_from": "The home had left the grid because the battery was full enough: {key}.",
    "generator.kw": "The generator was at its rating: {key} kW.",
    "generator.charge_kw": "Charging from the generator was at its limit: {key} kW.",
    "generator.start_at": "The generator did not run: the battery was above the level at which it starts: {key}.",
    "generator.least_run_h": "The generator kept running because its minimum run time was not over: {key} h.",
    "generator.may_start": "The generator did not run because of its quiet hours.",
    "generator.tank_liters": "The generator did not have enough fuel: {key} L.",
    **{
        f"{part}_{way}_{unit}": f"The battery {way}d at the limit of {{value}}: `{part}_{way}_{unit}`."
        for part, units in (("battery.max", ("a", "kw")), ("inverter.battery", ("a", "kw")))
        for way in ("charge", "discharge")
        for unit in units
    },
    **{
        f"battery.{way}_c_rate": f"The battery {way}d at the limit of {{value}}: `battery.{way}_c_rate`."
        for way in ("charge", "discharge")
    },
}


def _table(result: Explanation) -> Table:
    """Return the flows of the step, beside them those of a schedule with perfect foresight."""
    rows = [result.flows, *([] if result.foresight is None else [result.foresight])]
    table = plain_table("Flow", *["kW", "Perfect\nforesight"][: len(rows)], name_width=28)
    for name, words in (_GIVEN | _FLOWS).items():
        if any(row[name] >= _VISIBLE_KW for row in rows):
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
