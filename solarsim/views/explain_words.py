"""Reasons in sentences: a step and what decided it in; what each setting or limit did, in words, out."""

from typing import Any, NamedTuple

from solarsim.studies.explain.explain import Decision, Explanation

VISIBLE_KW = 0.005
_SAME_SOC = 1e-4


def sentence(result: Explanation, decision: Decision) -> str:
    """Return what a setting or limit did, as one sentence."""
    if set(decision.keys) == {"generator.start_at", "generator.may_start"}:
        level = written("generator.start_at", decision.values[decision.keys.index("generator.start_at")])
        return f"The generator did not run: the battery was above {level}, and the generator had quiet hours."
    if len(decision.keys) > 1:
        named = " and ".join(written(key, value) for key, value in zip(decision.keys, decision.values, strict=True))
        few = "one" if len(decision.keys) == 2 else "some"
        return f"{named} decided together: changing only {few} of them changes nothing."
    key, value = decision.keys[0], decision.values[0]
    own = SENTENCES.get(key, "{key} decided.")
    told: str = own(_Case(result, decision, value)) if callable(own) else own
    return told.format(key=written(key, value), value=value)


def written(key: str, value: str) -> str:
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
    if served_kw < VISIBLE_KW:
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
    did = "did not serve the home" if served_kw < VISIBLE_KW else f"served only {served_kw:.2f} kW of the home"
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
    return case.decision.compared_with[key] != NEVER[key]


NEVER = {"charge_from_grid_to": "0", "sell_down_to": "1"}


def _sold(case: _Case) -> str:
    if _further(case):
        return f"Selling from the battery stopped at {_percent(case.value)} because of {{key}}."
    return "The battery sold to the grid because of {key}."


def _surplus(case: _Case) -> str:
    return f"Surplus solar went to the {case.value} first because of {{key}}."


def _emptied(case: _Case) -> str:
    end = case.result.flows["unserved_kw"]
    rest = f"; {end:.2f} kW was unserved" if end >= VISIBLE_KW else _rest(case.result)
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


SENTENCES: dict[str, Any] = {
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
