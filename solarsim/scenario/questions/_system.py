"""Questions about the system: arrays, battery and inverter."""

import re
from collections.abc import Mapping
from math import ceil
from typing import Any

from solarsim.errors import ScenarioError
from solarsim.scenario.questions.question import (
    NUMBER,
    Phrase,
    Question,
    Setting,
    Tables,
    measured,
    parts_of,
    place_of,
    shown,
)

_SIDE = "north|south|east|west"
_POINT = rf"((?:{_SIDE})(?:[- ]?(?:{_SIDE})){{0,2}}|[NSEW]{{1,3}})"
_COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
_MODULE_W, _MOST_IN_SERIES = 410, 13
_RATINGS_KW = (1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 30.0, 50.0, 75.0, 100.0, 150.0, 250.0, 500.0)
_ARRAY = "8.2 kW south 30; 3 kW west 30"
_BATTERY = "13.5 kWh lfp indoor"
_CHEMISTRIES = {"lead-acid": "sealed_lead_acid", "sealed": "sealed_lead_acid", "flooded": "flooded_lead_acid"}


def _layout(kw: float) -> tuple[int, int, float]:
    """Return modules in series, strings and watts of a module that make up a power [kW]."""
    count = max(1, round(1000 * kw / _MODULE_W))
    strings = ceil(count / _MOST_IN_SERIES)
    in_series = max(1, round(count / strings))
    return in_series, strings, round(1000 * kw / (in_series * strings), 3)


def _put_array(text: str, tables: Tables, _: Setting) -> None:
    if not parts_of(text):
        raise ScenarioError(f"an array is missing; for example: {_ARRAY}")
    tables["arrays"] = [_array(each, number) for number, each in enumerate(parts_of(text), start=1)]


def _array(text: str, number: int) -> Tables:
    name, colon, rest = text.rpartition(":")
    phrase = Phrase(rest, _ARRAY)
    count = phrase.take(rf"(\d+) ?x ?{NUMBER} ?W")
    strings = phrase.number(r"(?:in )?(\d+) strings?")
    if count is not None:
        groups = 1 if strings is None else int(strings)
        in_series, module_w = int(count[1]) // max(1, groups), float(count[2])
        if in_series * groups != int(count[1]):
            raise phrase.refused(f"{count[1]} modules do not make {groups} strings of equal length")
    else:
        kw = phrase.need(phrase.number(rf"{NUMBER} ?kWp?"), "the array's size (8.2 kW, or 20 x 410 W)")
        in_series, groups, module_w = _layout(kw)
        if strings is not None:
            raise phrase.refused("strings belong to a number of modules")
    mounting = phrase.word("roof", "rack") or "roof"
    tilt, azimuth = _directions(phrase)
    phrase.done()
    return {
        "name": name.strip() if colon else f"array {number}",
        "tilt_deg": tilt,
        "azimuth_deg": azimuth,
        "modules_in_series": in_series,
        "strings": groups,
        "module_w": module_w,
        "temperature_coefficient_per_c": -0.0034,
        "mounting": mounting,
        "input": number,
    }


def _directions(phrase: Phrase) -> tuple[float, float]:
    """Return tilt and azimuth: a compass point or degrees, and degrees or rise over run."""
    azimuth = phrase.number(rf"azimuth {NUMBER}")
    if azimuth is None:
        azimuth = phrase.measure(_POINT, "azimuth")
    if phrase.word("flat"):
        return 0.0, 180.0 if azimuth is None else azimuth
    tilt = phrase.measure(r"(?:tilt |pitch )?(\d+(?:\.\d+)?/\d+(?:\.\d+)?)", "tilt")
    if tilt is None:
        tilt = phrase.number(rf"(?:tilt )?{NUMBER} ?(?:deg|degrees|°)?")
    azimuth = phrase.need(azimuth, "the direction (south, west-south-west, azimuth 170)")
    return round(phrase.need(tilt, "the tilt (30, 6/12 or flat)"), 2), azimuth


def _arrays_found(tables: Mapping[str, Any]) -> str | None:
    arrays = tables.get("arrays", [])
    if not arrays or any("module_w" not in each or "input" not in each or "near_shade" in each for each in arrays):
        return None
    return "; ".join(_array_words(each, number) for number, each in enumerate(arrays, start=1))


def _array_words(array: Mapping[str, Any], number: int) -> str:
    in_series, strings, module_w = array["modules_in_series"], array["strings"], array["module_w"]
    kw = round(in_series * strings * module_w / 1000, 4)
    size = f"{in_series * strings} x {shown(module_w)} W" + (f" in {strings} strings" if strings > 1 else "")
    if (in_series, strings, module_w) == _layout(kw):
        size = f"{shown(kw)} kW"
    points = {45.0 * number: name for number, name in enumerate(_COMPASS)}
    azimuth = points.get(array["azimuth_deg"], f"azimuth {shown(array['azimuth_deg'])}")
    name = "" if array["name"] == f"array {number}" else f"{array['name']}: "
    return f"{name}{size} {azimuth} tilt {shown(array['tilt_deg'])} {array['mounting']}"


def _array_default(tables: Tables, _: Setting) -> str:
    place = place_of(tables)
    latitude = 40.0 if place is None else place[0]
    return f"6 kW {'south' if latitude >= 0 else 'north'} tilt {15 if abs(latitude) < 20 else 30} roof"


def dc_kw(tables: Mapping[str, Any]) -> float:
    """Return the arrays' rated power [kW]."""
    return sum(_kw_of(each) for each in tables.get("arrays", ()))


def _kw_of(array: Mapping[str, Any]) -> float:
    return float(array["modules_in_series"] * array["strings"] * array["module_w"]) / 1000.0


def _put_battery(text: str, tables: Tables, _: Setting) -> None:
    for table in ("battery", "size"):
        tables.pop(table, None)
    phrase = Phrase(text, _BATTERY)
    if phrase.word("none"):
        phrase.done()
        return
    bank = []
    while (row := phrase.take(rf"(\d+) ?x ?{NUMBER} ?Ah(?: x)? {NUMBER} ?V(?: \+)?")) is not None:
        bank.append({"cells_in_series": int(row[1]), "cell_ah": float(row[2]), "cell_v": float(row[3])})
    size: Tables = {"bank": bank}
    if not bank:
        units = phrase.number(r"([1-9]\d*) ?x")
        kwh = phrase.need(phrase.measure(measured("kWh|Wh"), "kWh"), "its size (13.5 kWh)")
        size = {"capacity_kwh": kwh if units is None else round(units * kwh, 6)}
        if units is not None:
            tables["size"] = {"battery_unit_kwh": kwh}
        nominal = phrase.number(rf"{NUMBER} ?V")
        size |= {} if nominal is None else {"nominal_v": nominal}
    chemistry = phrase.word("lfp", "nmc", "flooded[ _]lead[- _]acid", "sealed[ _]lead[- _]acid", *_CHEMISTRIES)
    place = phrase.word("indoor", "garage", "outdoor")
    phrase.done()
    named = re.sub(r"[- ]", "_", chemistry or "lfp")
    tables["battery"] = {"chemistry": _CHEMISTRIES.get(chemistry or "", named), "place": place or "indoor", **size}


def _battery_found(tables: Mapping[str, Any]) -> str | None:
    battery = tables.get("battery")
    if battery is None:
        return "none"
    kind = f"{battery.get('chemistry', 'lfp')} {battery.get('place', 'indoor')}"
    if "bank" in battery:
        if any(row.get("strings", 1) != 1 for row in battery["bank"]):
            return None
        rows = (
            f"{row['cells_in_series']} x {shown(row['cell_ah'])} Ah {shown(row['cell_v'])} V" for row in battery["bank"]
        )
        return f"{' + '.join(rows)} {kind}"
    nominal = f" {shown(battery['nominal_v'])} V" if "nominal_v" in battery else ""
    kwh, unit_kwh = battery["capacity_kwh"], tables.get("size", {}).get("battery_unit_kwh")
    if unit_kwh is None:
        return f"{shown(kwh)} kWh{nominal} {kind}"
    units = round(kwh / unit_kwh)
    return f"{units} x {shown(unit_kwh)} kWh{nominal} {kind}" if units and round(units * unit_kwh, 6) == kwh else None


def _put_inverter(text: str, tables: Tables, _: Setting) -> None:
    phrase = Phrase(text, "6 kW")
    ac_kw = phrase.need(phrase.measure(measured("kW|W"), "kW"), "the rating (6 kW)")
    phrase.done()
    tables["inverter"] = {
        "ac_kw": ac_kw,
        "standby_w": 50.0 if ac_kw > 2 else 10.0,
        "efficiency": {"peak": 0.975, "weighted": 0.965, "weights": "cec"},
        "inputs": [{"max_kw": ceil(2.5 * _kw_of(array)) / 2} for array in tables["arrays"]],
    }
    if "battery" in tables:
        tables["inverter"] |= {"battery_charge_kw": ac_kw, "battery_discharge_kw": ac_kw}


def _inverter_found(tables: Mapping[str, Any]) -> str | None:
    if tables.get("ac_inverters"):
        return None
    return f"{shown(tables['inverter']['ac_kw'])} kW"


def _inverter_default(tables: Tables, _: Setting) -> str:
    wanted = 0.75 * dc_kw(tables)
    return f"{next((each for each in _RATINGS_KW if each >= wanted), _RATINGS_KW[-1]):g} kW"


SYSTEM = (
    Question("array", _put_array, _arrays_found, _array_default),
    Question("battery", _put_battery, _battery_found, lambda *_: "10 kWh lfp indoor"),
    Question("inverter", _put_inverter, _inverter_found, _inverter_default),
)
