"""Questions about use: the load as bills or a meter have it, and what large appliances are in the house."""

import re
import shlex
from collections.abc import Mapping
from typing import Any

from solarsim.errors import ScenarioError, nearest
from solarsim.scenario.load.meter import MeterCsv
from solarsim.scenario.questions._place import whole_path
from solarsim.scenario.questions.question import NUMBER, Phrase, Question, Setting, Tables, measured, parts_of, shown

_METER_FILE = re.compile(r"""(?:"([^"]+)"|'([^']+)'|(\S.*?\.(?:csv|txt|xml))(?=\s|$))(.*)""", re.IGNORECASE)
_LOAD = "9400 kWh evenings, or twelve months: 820 760 700 640 690 890 990 980 820 660 730 820 kWh evenings"
_PARTS = "car 40 km in bills; heat pump 8 kW at -10 C not in bills; air conditioner 7 kW at 35 C in bills"
_HEATING_BASE_C, _COOLING_BASE_C = 15.0, 22.0
_CAR = {
    "kwh_per_km": 0.18,
    "charging_efficiency": 0.9,
    "charger_kw": 7.2,
    "battery_kwh": 58.0,
    "plugged_in": [{"from": "18:00", "to": "07:00"}],
}
_HEAT_PUMP_POINTS = [{"at_c": -8.0, "cop": 2.2}, {"at_c": 8.0, "cop": 3.8}]
_COOLING_POINTS = [{"at_c": 28.0, "cop": 4.2}, {"at_c": 35.0, "cop": 3.2}]


def _put_load(text: str, tables: Tables, setting: Setting) -> None:
    before = {key: value for key, value in tables.get("load", {}).items() if key in ("parts", "critical_share")}
    file = _METER_FILE.fullmatch(text.strip())
    tables["load"] = {
        **(_from_bills(text) if file is None else _meter(file[1] or file[2] or file[3], file[4], setting)),
        **before,
    }


def _from_bills(text: str) -> Tables:
    phrase = Phrase(text.replace(",", ", ") if text.count(",") == 11 else text, _LOAD)
    shape = phrase.word("evenings", "home_all_day", "home all day") or "evenings"
    months = phrase.take(r"\d+(?:\.\d+)?(?:[\s,]+\d+(?:\.\d+)?){11}(?: kWh)?")
    energy: Tables
    if months is not None:
        energy = {"monthly_kwh": [float(each) for each in re.findall(r"\d+(?:\.\d+)?", months[0].lower())]}
    else:
        annual = phrase.number(rf"{NUMBER}(?: ?kWh)?")
        energy = {"annual_kwh": phrase.need(annual, "the year's or twelve months' energy (kWh)")}
    phrase.done()
    return {**energy, "shape": shape.replace(" ", "_")}


def _meter(name: str, words: str, setting: Setting) -> Tables:
    path = whole_path(name, setting)
    keys: Tables = {"file": path, "format": "green_button" if path.lower().endswith(".xml") else "csv"}
    settled = shlex.split(words)
    if len(settled) % 2:
        raise ScenarioError(f"{words.strip()!r} must be pairs of a key and its value, for example: clock wall")
    for key, value in zip(settled[::2], settled[1::2], strict=True):
        if key not in MeterCsv.model_fields:
            raise ScenarioError(f"{key!r} is not a key of a meter's file{nearest(key, MeterCsv.model_fields)}")
        keys[key] = value.split(",") if key == "time_columns" else value
    return {"meter": keys}


def _load_found(tables: Mapping[str, Any]) -> str | None:
    load = tables.get("load", {})
    if load.get("shape") in ("evenings", "home_all_day"):
        kwh = " ".join(map(shown, load.get("monthly_kwh", [load.get("annual_kwh", 0.0)])))
        return f"{kwh} kWh {load['shape']}"
    meter = load.get("meter")
    if meter is None or "production" in meter or "until" in meter:
        return None
    settled = [f"{key} {_quoted(meter[key])}" for key in MeterCsv.model_fields if key in meter]
    return " ".join((_quoted(meter["file"]), *settled))


def _quoted(value: str | list[str]) -> str:
    text = value if isinstance(value, str) else ",".join(value)
    return f'"{text}"' if re.search(r"\s", text) else text


def _put_house(text: str, tables: Tables, _: Setting) -> None:
    tables["load"].pop("parts", None)
    if text.strip().lower() == "none":
        return
    parts = [_part(each) for each in parts_of(text)]
    for number, each in enumerate(parts):
        alike = sum(other["kind"] == each["kind"] for other in parts[:number])
        each["name"] += f" {alike + 1}" if alike else ""
    tables["load"]["parts"] = parts


def _part(text: str) -> Tables:
    phrase = Phrase(text, _PARTS)
    in_bills = phrase.take("(not )?in bills")
    if in_bills is None:
        raise phrase.refused(f"{text!r}: say whether its energy is in the load above: in bills, or not in bills")
    critical = phrase.word("critical") is not None
    kind = phrase.word("car", "heat pump", "air conditioner")
    if kind == "car":
        part = _car(phrase)
    elif kind is not None:
        part = _climate(kind, phrase)
    else:
        raise phrase.refused(f"{text!r} is not known: car, heat pump or air conditioner")
    phrase.done()
    return {**part, "critical": critical, "in_bills": in_bills[1] is None}


def _car(phrase: Phrase) -> Tables:
    km = phrase.measure(rf"{measured('km|mi|miles?')}(?: a day)?", "km")
    km = round(phrase.need(km, "the car's distance of a day (40 km or 25 mi)"), 2)
    return {"kind": "electric_car", "name": "car", "km_per_day": {"weekday": km, "weekend": km}, **_CAR}


def _climate(kind: str, phrase: Phrase) -> Tables:
    """Return a heat pump or air conditioner from what the house needs on its coldest or hottest day."""
    heats = kind == "heat pump"
    at_c = phrase.need(phrase.measure(rf"at {measured('C|F|°C|°F')}", "C"), "the outdoor temperature (at -10 C)")
    kw = phrase.measure(measured("kW|W|tons?|Btu/h"), "heat")
    kw = round(phrase.need(kw, f"the load of the {kind} (8 kW)"), 3)
    base_c = _HEATING_BASE_C if heats else _COOLING_BASE_C
    degrees = base_c - at_c if heats else at_c - base_c
    if degrees <= 0:
        side = "below" if heats else "above"
        raise phrase.refused(f"{at_c:.1f} C must be {side} {base_c:g} C, where the house needs neither")
    points = _HEAT_PUMP_POINTS if heats else _COOLING_POINTS
    part: Tables = {
        "kind": kind.replace(" ", "_"),
        "name": kind,
        "ua_kw_per_k": round(kw / degrees, 6),
        "base_c": base_c,
        "points": [dict(each) for each in points],
        "max_kw": round(kw / min(each["cop"] for each in points), 6),
    }
    return part | ({"backup": True} if heats else {})


def _house_found(tables: Mapping[str, Any]) -> str | None:
    words = [_part_words(each) for each in tables.get("load", {}).get("parts", ())]
    known = [each for each in words if each is not None]
    return ("; ".join(known) or "none") if len(known) == len(words) else None


def _part_words(part: Mapping[str, Any]) -> str | None:
    """Return the words of which a part was made; None where it has other values than these make."""
    suffix = f"{' critical' if part.get('critical') else ''} {'in bills' if part.get('in_bills') else 'not in bills'}"
    if part["kind"] == "electric_car":
        words = f"car {shown(part['km_per_day']['weekday'])} km"
    elif part["kind"] in ("heat_pump", "air_conditioner"):
        kw = round(part.get("max_kw", 0.0) * min(each.get("cop", 0.0) for each in part["points"]), 4)
        degrees = kw / part["ua_kw_per_k"]
        at_c = part["base_c"] + (degrees if part["kind"] == "air_conditioner" else -degrees)
        words = f"{part['kind'].replace('_', ' ')} {shown(kw)} kW at {shown(round(at_c, 2))} C"
    else:
        return None
    made = _part(words + suffix)
    return words + suffix if {**made, "name": part["name"]} == dict(part) else None


USE = (
    Question("kwh", _put_load, _load_found, lambda *_: "9000 kWh evenings"),
    Question("house", _put_house, _house_found, lambda *_: "none"),
)
