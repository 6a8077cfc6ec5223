"""Questions about prices: the rate plan, its monthly charge and holidays, what exports earn."""

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from solarsim.errors import ScenarioError, nearest
from solarsim.scenario._currencies import UNITS_PER_DOLLAR
from solarsim.scenario.questions._place import whole_path
from solarsim.scenario.questions.question import NUMBER, Phrase, Question, Setting, Tables, measured, parts_of, shown
from solarsim.scenario.questions.zones import CURRENCY_OF, country_of
from solarsim.scenario.read import packaged_folder
from solarsim.scenario.site import STEP_MINUTES

_RATES = "0.34 16-21 weekdays jun-sep; 0.12 other hours"
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = "|".join(_MONTHS)
_DAY = "mon|tue|wed|thu|fri|sat|sun"
_CLOCK = r"(\d{1,2})(?::(\d{2}))?-(\d{1,2})(?::(\d{2}))?"
_CODE = re.compile(r"\b[A-Z]{3}\b(?!\s*:)")  # of a currency; a rate's name has a colon
_BETWEEN_HOURS = re.compile(r"(-\d{1,2}(?::\d{2})?),")
_KINDS = {"weekdays": "weekday", "weekends": "weekend", "holidays": "holiday"}
_DOLLARS_PER_KWH = 0.15
_AS_THE_PLAN = "as the plan says"
_OWN_EXPORT = f"the rate plan has its own export prices; allowed: {_AS_THE_PLAN}, not allowed"
_NOT_ALLOWED, _UNPAID, _RETAIL = "not allowed", "unpaid", "retail"


def _put_rates(text: str, tables: Tables, setting: Setting) -> None:
    for key in ("holidays", "step_minutes"):
        tables["site"].pop(key, None)
    text = text.strip()
    if not re.search(r"\d", text) or text.lower().endswith(".toml"):
        tables["rate_plan"] = _plan_file(text, setting)
        return
    codes = {code for code in _CODE.findall(text) if not re.fullmatch(f"{_DAY}|{_MONTH}", code, re.IGNORECASE)}
    if len(codes) > 1:
        raise ScenarioError(f"{', '.join(sorted(codes))}: a rate plan has one currency; for example: {_RATES}")
    currency = codes.pop() if codes else currency_of(tables)
    if currency is None:
        raise ScenarioError(f"the currency is missing, three capital letters; for example: USD {_RATES}")
    rates = [_rate(re.sub(rf"\b{currency}\b", " ", each), currency) for each in parts_of(text)]
    step_minutes = _step_minutes(rates)
    if step_minutes < 60:
        tables["site"]["step_minutes"] = step_minutes
    tables["rate_plan"] = {
        "name": "My rate plan",
        "currency": currency,
        "customer_charge_per_month": 0.0,
        "export": {"pay": "by_rate" if any("export_price" in each for each in rates) else "none"},
        "rates": _named(rates),
    }


def _plan_file(text: str, setting: Setting) -> str:
    ready = _packaged_plans()
    if text in ready:
        return str(ready[text])
    if not text.lower().endswith(".toml"):
        raise ScenarioError(
            f"{text!r} is neither prices, a file that ends with .toml, nor a packaged plan"
            + nearest(text, sorted(ready))
        )
    return whole_path(text, setting)


def _packaged_plans() -> dict[str, Path]:
    return {each.stem: each for each in (packaged_folder("scenarios") / "rate_plans").glob("*.toml")}


def currency_of(tables: Mapping[str, Any]) -> str | None:
    """Return the currency of the country of the home's time zone, where that is known."""
    return CURRENCY_OF.get(country_of(tables["site"]["time_zone"]) or "")


def _rate(text: str, currency: str) -> Tables:
    """Read one rate: its price and the hours, days and months in which it holds."""
    name, colon, rest = text.rpartition(": ")
    phrase = Phrase(_BETWEEN_HOURS.sub(r"\1 ", rest if colon else text), _RATES)
    rate: Tables = {"name": name.strip()} if colon else {}
    export = phrase.number(rf"export {NUMBER}")
    hours = []
    while (clock := phrase.take(_CLOCK)) is not None:
        hours.append({"from": _time(clock[1], clock[2]), "to": _time(clock[3], clock[4])})
    dated: Tables = {"months": _months(phrase), "days": _days(phrase)}
    season = {key: value for key, value in dated.items() if value}
    others = phrase.word("other hours", "all hours", "all other hours")
    cents = phrase.measure(measured("c/kWh|p/kWh"), "currency/kWh", currency)
    rate["import_price"] = phrase.need(phrase.number(NUMBER) if cents is None else cents, "the price of a kWh")
    if export is not None:
        rate["export_price"] = export
    phrase.done()
    if others and (hours or season):
        raise phrase.refused(f"{others!r} has no hours, days or months of its own")
    windows = [{**season, **each} for each in hours] or ([season] if season else [])
    return {**rate, "windows": windows} if windows else rate


def _step_minutes(rates: Sequence[Mapping[str, Any]]) -> int:
    """Return the longest step of a run in whose grid all hours of the rates begin and end."""
    windows = [window for rate in rates for window in rate.get("windows", ())]
    minutes = [int(window[end][3:]) for window in windows for end in ("from", "to") if end in window]
    return next((step for step in STEP_MINUTES if all(each % step == 0 for each in minutes)), min(STEP_MINUTES))


def _time(hour: str, minute: str | None) -> str:
    return f"{int(hour):02d}:{minute or '00'}"


def _days(phrase: Phrase) -> list[str]:
    found = []
    while (day := phrase.take(rf"weekdays?|weekends?|holidays?|(?:{_DAY})(?:-(?:{_DAY}))?")) is not None:
        word = day[0].lower()
        found.append(_KINDS.get(word, word))
    return found


def _months(phrase: Phrase) -> list[int]:
    found: list[int] = []
    while (span := phrase.take(rf"({_MONTH})(?:-({_MONTH}))?")) is not None:
        first = _MONTHS.index(span[1].lower())
        last = first if span[2] is None else _MONTHS.index(span[2].lower())
        found += [(first + number) % 12 + 1 for number in range((last - first) % 12 + 1)]
    return sorted(set(found))


def _named(rates: list[Tables]) -> list[Tables]:
    """Return rates with names: those that have none are named by the order of their prices."""
    ranked = sorted({each["import_price"] for each in rates}, reverse=True)
    words = dict.fromkeys(ranked, "mid-peak") | {ranked[-1]: "off-peak"} | {ranked[0]: "on-peak"}
    if len(rates) == 1:
        words = {ranked[0]: "all hours"}
    named: list[Tables] = []
    for each in rates:
        name = each.get("name", words[each["import_price"]])
        alike = sum(other["name"].rstrip(" 0123456789") == name for other in named) if "name" not in each else 0
        named.append({**each, "name": f"{name} {alike + 1}" if alike else name})
    return [{"name": each["name"], **each} for each in named]


def _rates_found(tables: Mapping[str, Any]) -> str | None:
    plan = tables.get("rate_plan")
    if isinstance(plan, str) or plan is None:
        return next((name for name, file in _packaged_plans().items() if str(file) == plan), plan)
    known = {"name", "currency", "customer_charge_per_month", "export", "rates"}
    if set(plan) - known or any(
        set(each) - {"name", "import_price", "export_price", "windows"} for each in plan["rates"]
    ):
        return None
    words = [_rate_words(each, len(plan["rates"]) > 1) for each in plan["rates"]]
    if None in words:
        return None
    bare = [{key: value for key, value in each.items() if key != "name"} for each in plan["rates"]]
    names = [each["name"] for each in _named(bare)]
    told = [
        f"{'' if each['name'] == name else each['name'] + ': '}{text}"
        for each, name, text in zip(plan["rates"], names, words, strict=True)
    ]
    return f"{plan['currency']} {'; '.join(told)}" if ": " not in told[0] else _inside(told, plan["currency"])


def _inside(told: list[str], currency: str) -> str:
    """Return rates with the currency behind the first name."""
    name, _, rest = told[0].partition(": ")
    return "; ".join((f"{name}: {currency} {rest}", *told[1:]))


def _rate_words(rate: Mapping[str, Any], several: bool) -> str | None:
    """Return the words of a rate; None where its windows differ in more than hours."""
    export = f" export {shown(rate['export_price'])}" if "export_price" in rate else ""
    windows = rate.get("windows", [])
    if not windows:
        return f"{shown(rate['import_price'])}{export} {'other hours' if several else 'all hours'}"
    seasons = [{key: each.get(key) for key in ("months", "days", "dates")} for each in windows]
    if any(each != seasons[0] or each["dates"] for each in seasons):
        return None
    hours = " ".join(f"{each['from']}-{each['to']}" for each in windows if "from" in each)
    days = " ".join({kind: word for word, kind in _KINDS.items()}.get(day, day) for day in seasons[0]["days"] or ())
    months = _month_words(seasons[0]["months"] or ())
    return " ".join(part for part in (shown(rate["import_price"]) + export, hours, days, months) if part)


def _month_words(months: Sequence[int]) -> str:
    """Return months as spans, which may cross New Year: ``mar oct-jan``."""
    there, words = set(months), []
    for first in (month for month in months if (month - 2) % 12 + 1 not in there):
        last = first
        while last % 12 + 1 in there:
            last = last % 12 + 1
        words.append(_MONTHS[first - 1] if first == last else f"{_MONTHS[first - 1]}-{_MONTHS[last - 1]}")
    return " ".join(words)


def _rates_default(tables: Tables, _: Setting) -> str:
    currency = currency_of(tables) or "USD"
    return f"{currency} {shown(_DOLLARS_PER_KWH * UNITS_PER_DOLLAR.get(currency, 1.0))} all hours"


def written_here(tables: Mapping[str, Any]) -> bool:
    """Return whether the scenario holds its rate plan itself, and no file does."""
    return isinstance(tables.get("rate_plan"), dict)


def _put_charge(text: str, tables: Tables, _: Setting) -> None:
    phrase = Phrase(text, "12.50")
    charge = phrase.need(phrase.number(rf"{NUMBER}(?: a month)?"), "the charge of a month")
    phrase.done()
    tables["rate_plan"]["customer_charge_per_month"] = charge


def _charge_found(tables: Mapping[str, Any]) -> str | None:
    return shown(tables["rate_plan"]["customer_charge_per_month"])


def _names_days(tables: Mapping[str, Any]) -> bool:
    if not written_here(tables):
        return False
    windows = [window for rate in tables["rate_plan"]["rates"] for window in rate.get("windows", ())]
    return any(set(window.get("days", ())) & set(_KINDS.values()) for window in windows)


def _put_holidays(text: str, tables: Tables, _: Setting) -> None:
    tables["site"].pop("holidays", None)
    phrase = Phrase(text, "US, US observed, or none")
    if phrase.word("none"):
        phrase.done()
        return
    observed = phrase.word("observed") is not None
    country = phrase.take("([A-Z]{2})(?:-([A-Z0-9]{1,3}))?")
    if country is None:
        raise phrase.refused("a country's two letters are missing")
    phrase.done()
    part = {} if country[2] is None else {"subdivision": country[2].upper()}
    tables["site"]["holidays"] = {"country": country[1].upper(), **part, "observed": observed}


def _holidays_found(tables: Mapping[str, Any]) -> str | None:
    holidays = tables["site"].get("holidays")
    if holidays is None:
        return "none"
    if set(holidays) - {"country", "subdivision", "observed"}:
        return None
    part = f"-{holidays['subdivision']}" if "subdivision" in holidays else ""
    return f"{holidays['country']}{part}{' observed' if holidays['observed'] else ''}"


def _holidays_default(tables: Tables, setting: Setting) -> str:
    from solarsim.clock.holidays import Holidays, holidays_in

    country = country_of(tables["site"]["time_zone"])
    try:
        holidays_in(Holidays(country=country, observed=False), setting.year)
    except ValueError:
        return "none"
    return str(country)


def _put_export(text: str, tables: Tables, _: Setting) -> None:
    tables.pop("grid", None)
    phrase = Phrase(text, "0.05, retail, unpaid, not allowed, or 0.05 at most 5 kW")
    limit_kw = phrase.number(rf"at most {NUMBER} ?kW")
    rule = phrase.word(_AS_THE_PLAN, _NOT_ALLOWED, _UNPAID, _RETAIL)
    ours = written_here(tables) and tables["rate_plan"]["export"]["pay"] != "by_rate"
    if rule is None and ours:
        price = phrase.need(phrase.number(NUMBER), "what a kWh to the grid earns")
        tables["rate_plan"]["export"] = {"pay": "flat", "price": price}
    elif ours and rule in (_UNPAID, _NOT_ALLOWED, _RETAIL):
        tables["rate_plan"]["export"] = {"pay": "same_as_import" if rule == _RETAIL else "none"}
    elif rule not in (_AS_THE_PLAN, _NOT_ALLOWED) or ours:
        raise phrase.refused("the export price is missing") if ours else ScenarioError(_OWN_EXPORT)
    phrase.done()
    if rule == _NOT_ALLOWED:
        limit_kw = 0.0
    if limit_kw is not None:
        tables["grid"] = {"export_limit_kw": limit_kw}


def _export_found(tables: Mapping[str, Any]) -> str | None:
    limit_kw = tables.get("grid", {}).get("export_limit_kw")
    limit = "" if limit_kw is None else f" at most {shown(limit_kw)} kW"
    if not written_here(tables) or tables["rate_plan"]["export"]["pay"] == "by_rate":
        return _NOT_ALLOWED if limit_kw == 0 else f"{_AS_THE_PLAN}{limit}"
    export = tables["rate_plan"]["export"]
    if limit_kw == 0 and export == {"pay": "none"}:
        return _NOT_ALLOWED
    words = {"flat": shown(export.get("price", 0.0)), "none": _UNPAID, "same_as_import": _RETAIL}.get(export["pay"])
    return None if words is None or set(export) - {"pay", "price"} else f"{words}{limit}"


def _export_default(tables: Tables, _: Setting) -> str:
    ours = written_here(tables) and tables["rate_plan"]["export"]["pay"] != "by_rate"
    return _UNPAID if ours else _AS_THE_PLAN


PRICES = (
    Question("rates", _put_rates, _rates_found, _rates_default),
    Question("charge", _put_charge, _charge_found, lambda *_: "0", written_here),
    Question("holidays", _put_holidays, _holidays_found, _holidays_default, _names_days),
    Question("export", _put_export, _export_found, _export_default),
)
