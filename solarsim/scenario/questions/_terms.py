"""Questions about the offer and about outages; and the strategies that follow from all answers."""

import copy
from collections.abc import Callable, Mapping
from typing import Any

from solarsim.scenario.battery.chemistry import PRESETS
from solarsim.scenario.questions.question import NUMBER, Phrase, Question, Setting, Tables, shown

_OFFER = "18500, or 18500 with battery 7000"
_OUTAGES = "1.4 a year of 5.6 h, or 1.4 a year of 5.6 h critical 45 %"
_TRANSFER_SECONDS = 10.0
_RESERVE, _OUTAGE_RESERVE, _NIGHT_CHARGE = 0.2, 0.5, 0.8


#: The years after the purchase, with which every command about money runs at once; common practice, no source.
_LIFE: Tables = {
    "years": 25,
    "money": "nominal",
    "discount_rate": 0.05,
    "panel_degradation_per_year": 0.005,
    "load_growth_per_year": 0.0,
    "price_growth": {"energy": 0.02, "customer_charge": 0.02, "export": 0.0},
    "uncertainty": {
        "lifetimes": 500,
        "seed": 1,
        "weather_standard_deviation": 0.05,
        "panel_degradation_per_year": {"distribution": "triangular", "low": 0.003, "high": 0.01},
        "price_growth": {"energy": {"distribution": "normal", "standard_deviation": 0.01}},
    },
}


def _put_offer(text: str, tables: Tables, _: Setting) -> None:
    for table in ("costs", "life"):
        tables.pop(table, None)
    phrase = Phrase(text, _OFFER)
    if phrase.word("none"):
        phrase.done()
        return
    battery = phrase.number(rf"with battery {NUMBER}")
    total = phrase.need(phrase.number(NUMBER), "the price of the whole offer")
    phrase.done()
    if battery is not None and "battery" not in tables:
        raise phrase.refused("there is no battery")
    if battery is not None and battery > total:
        raise phrase.refused(f"the battery's price {battery:g} is above that of the whole offer {total:g}")
    if battery is None:
        parts = [{"name": "system as offered", "per": "system", "unit_price": total}]
    else:
        parts = [
            {
                "name": "system as offered, without the battery",
                "per": "system",
                "unit_price": round(total - battery, 2),
            },
            {"name": "battery as offered", "per": "system", "unit_price": battery, "of": "cells"},
        ]
    tables["costs"] = {"parts": parts}
    tables["life"] = copy.deepcopy(_LIFE)


def _offer_found(tables: Mapping[str, Any]) -> str | None:
    costs = tables.get("costs")
    if costs is None:
        return "none"
    if set(costs) != {"parts"} or any(set(each) - {"name", "per", "unit_price", "of"} for each in costs["parts"]):
        return None
    prices = [each["unit_price"] for each in costs["parts"]]
    batteries = [each["unit_price"] for each in costs["parts"] if "of" in each]
    total = shown(round(sum(prices), 2))
    return f"{total} with battery {shown(batteries[0])}" if batteries else total


def _put_outages(text: str, tables: Tables, _: Setting) -> None:
    for key in ("arrangement", "outages"):
        tables.pop(key, None)
    tables["load"].pop("critical_share", None)
    phrase = Phrase(text, _OUTAGES)
    critical = phrase.number(rf"critical {NUMBER} ?%")
    if not phrase.word("none"):
        how_often = phrase.need(phrase.number(rf"{NUMBER} a year"), "how many outages a year has (1.4 a year)")
        mean_h = phrase.need(phrase.number(rf"(?:of )?{NUMBER} ?h(?:ours?)?"), "how long they are (5.6 h)")
        tables["outages"] = {"frequency": {"per_year": how_often, "mean_h": mean_h, "months": [1.0] * 12}}
    phrase.done()
    if critical is not None and "battery" not in tables:
        raise phrase.refused("without a battery nothing is supplied in an outage")
    if critical is not None:
        tables["load"]["critical_share"] = critical / 100
    tables["arrangement"] = {"kind": "grid_tied"}
    if "battery" in tables:
        tables["arrangement"] = {
            "kind": "hybrid",
            "backed_up": "all" if critical is None else "critical",
            "transfer": "automatic",
            "transfer_seconds": _TRANSFER_SECONDS,
        }


def _outages_found(tables: Mapping[str, Any]) -> str | None:
    frequency = tables.get("outages", {}).get("frequency")
    backed_up = tables.get("arrangement", {}).get("backed_up")
    critical = ""
    if backed_up == "critical":
        critical = f" critical {shown(100 * tables['load'].get('critical_share', 0.0))} %"
    often = "none" if frequency is None else f"{shown(frequency['per_year'])} a year of {shown(frequency['mean_h'])} h"
    return often + critical


def strategies_for(tables: Mapping[str, Any]) -> list[Tables]:
    """Return the ways to program the inverter that a first comparison shows."""
    if "battery" not in tables:
        return [_strategy("export the surplus", 0.0, surplus_to="grid", battery_serves_load=False)]
    cutoff = PRESETS[tables["battery"]["chemistry"]].low_cutoff
    reserve = max(_RESERVE, round(cutoff + 0.1, 2))
    found = [_strategy("serve the home first", reserve)]
    peak, night = (_windows_at(tables.get("rate_plan"), which) for which in (max, min))
    if peak:
        hold = [{**window, "battery_serves_load": True} for window in peak]
        found.append(_strategy("hold for the peak", reserve, battery_serves_load=False) | {"windows": hold})
    if night:
        charge = [{**window, "charge_from_grid_to": _NIGHT_CHARGE, "battery_serves_load": False} for window in night]
        found.append(_strategy("charge at the lowest price", reserve) | {"windows": charge})
    if "outages" in tables:
        found.append(_strategy("large outage reserve", max(_OUTAGE_RESERVE, round(reserve + 0.2, 2))))
    if _exports_are_paid(tables):
        found.append(_strategy("zero export", reserve) | {"export_limit_kw": 0.0})
    return found


def _strategy(name: str, reserve: float, surplus_to: str = "battery", battery_serves_load: bool = True) -> Tables:
    return {
        "name": name,
        "surplus_to": surplus_to,
        "battery_serves_load": battery_serves_load,
        "reserve": reserve,
    }


def _windows_at(plan: Any, which: Callable[..., Any]) -> list[Tables]:
    """Return the windows of the highest or lowest price of a rate plan; none of a flat plan or a plan in a file."""
    if not isinstance(plan, dict) or len(plan["rates"]) < 2:
        return []
    return list(which(plan["rates"], key=lambda each: each["import_price"]).get("windows", []))


def _exports_are_paid(tables: Mapping[str, Any]) -> bool:
    plan = tables["rate_plan"]
    limit_kw = tables.get("grid", {}).get("export_limit_kw")
    return limit_kw != 0.0 and (not isinstance(plan, dict) or plan["export"]["pay"] != "none")


TERMS = (
    Question("offer", _put_offer, _offer_found, lambda *_: "none"),
    Question("outages", _put_outages, _outages_found, lambda *_: "none"),
)
