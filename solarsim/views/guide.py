"""The guide: a word in; its pages, keys, result terms and sections out. Meanings come from where they are declared."""

import re
from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from functools import cache
from importlib import import_module, resources
from pkgutil import walk_packages
from textwrap import fill

from solarsim.ledger import flows
from solarsim.results import all_facts
from solarsim.scenario.keys import Key, all_keys

_MOST = 12  # entries of one kind
_WORDS_OF_UNIT = {"1": "no unit", "text": "text", "table": "table"}
#: Words of installers, datasheets and other trades, and the keys or terms that they mean here.
ALSO_CALLED: Mapping[str, tuple[str, ...]] = {
    "ac_charging": ("charge_from_grid_to",),
    "ac_coupled": ("ac_inverter",),
    "anti_islanding": ("arrangement.kind",),
    "array_size": ("modules_in_series", "arrays.*.strings"),
    "ats": ("arrangement.transfer", "transfer_seconds"),
    "auxiliary": ("standby_w", "standby_kw"),
    "backup_reserve": ("strategies.*.reserve",),
    "baseline_allowance": ("rate_plan.allowances",),
    "apr": ("costs.loan.rate", "dealer_fee"),
    "capex": ("costs.parts",),
    "changeover": ("arrangement.transfer", "transfer_seconds"),
    "coincidence_factor": ("import_coincidence", "export_coincidence"),
    "dc_coupled": ("arrays.*.input",),
    "depth_of_discharge": ("low_cutoff", "strategies.*.reserve"),
    "dod": ("low_cutoff", "strategies.*.reserve"),
    "eol": ("end_of_life",),
    "escalation": ("life.price_growth",),
    "export_cap": ("grid.export_limit_kw", "strategies.*.export_limit_kw"),
    "feed_in_tariff": ("rate_plan.export.pay", "export_price"),
    "fixed_charge": ("customer_charge_per_month", "customer_charge_per_day"),
    "essential_loads": ("load_served", "load.critical_share"),
    "grid_charge": ("charge_from_grid_to", "grid_charge_kw"),
    "imp": ("i_mp_a",),
    "inflation": ("life.money", "life.price_growth"),
    "isc": ("i_sc_a",),
    "itc": ("costs.incentives",),
    "kwp": ("module_w",),
    "lid": ("light_induced",),
    "low_voltage_disconnect": ("low_cutoff",),
    "max_charge_current": ("grid_charge_a", "max_charge_a"),
    "max_discharge_current": ("discharge_limit_a", "max_discharge_a"),
    "max_soc": ("solar_ceiling", "charge_from_grid_to"),
    "microinverter": ("ac_inverters",),
    "min_soc": ("low_cutoff", "strategies.*.reserve", "off_grid_floor"),
    "minimum_soc": ("low_cutoff", "strategies.*.reserve"),
    "net_billing": ("rate_plan.export.pay", "rate_plan.export.credits"),
    "net_metering": ("rate_plan.export.pay", "net_within", "true_up_month"),
    "opex": ("o_and_m_per_year",),
    "orientation": ("azimuth_deg", "tilt_deg"),
    "peak_shaving": ("import_cap_kw", "rate_plan.demand"),
    "pitch": ("tilt_deg",),
    "ppa": ("costs.power_purchase",),
    "reserve_soc": ("strategies.*.reserve",),
    "rebate": ("costs.incentives",),
    "rte": ("round_trip_efficiency",),
    "saidi": ("outages.frequency.mean_h",),
    "saifi": ("outages.frequency.per_year",),
    "soh": ("end_of_life", "battery_fade_per_year"),
    "surge": ("surge_kw", "start_factor"),
    "tare": ("standby_w",),
    "tariff": ("rate_plan",),
    "tempco": ("temperature_coefficient_per_c", "p_mp_per_c", "v_oc_per_c"),
    "time_slots": ("inverter.programmable",),
    "time_of_use": ("rate_plan.rates.*.windows",),
    "tmy": ("weather.file", "weather.format"),
    "tou": ("rate_plan.rates.*.windows",),
    "transfer_switch": ("arrangement.transfer", "transfer_seconds"),
    "usable_capacity": ("low_cutoff", "capacity_kwh"),
    "vmp": ("v_mp_v",),
    "voc": ("v_oc_v",),
    "volt_drop": ("arrays.*.cable", "losses.wiring.cables"),
    "wacc": ("discount_rate",),
    "zero_feed_in": ("strategies.*.export_limit_kw", "zero_export_bias_kw"),
}


def page(word: str | None) -> list[str]:
    """Return what the guide has on a word; without one, the list of its pages.

    Parameters
    ----------
    word : str, optional
        A page, a key (its path or its last part), a key or column of a result, or a word of the trade.

    Returns
    -------
    list of str
        Texts to print. An unknown word gets the nearest ones.

    Examples
    --------
    >>> "battery.low_cutoff" in page("min_soc")[1]
    True
    """
    pages = guide_pages()
    if word is None:
        width = max(map(len, pages))
        lines = [f"  {name:<{width}}  {text.splitlines()[0].lstrip('# ')}" for name, text in pages.items()]
        return [
            "Pages (solarsim guide PAGE):\n" + "\n".join(lines),
            "Keys, columns, results and words of the trade: solarsim guide WORD, for example solarsim guide reserve.",
        ]
    name = _plain(word)
    if name.replace("_", "-") in pages:
        return [pages[name.replace("_", "-")], *_keys(name)]
    keys = _named(name)
    elsewhere = "." in name and keys and name not in (*(key.path for key in keys), *map(_path, keys))
    told = [f"There is no {name}."] if elsewhere else []
    found = [*told, *_meant(name), *_keys(name), *_terms(name), *_sections(name, pages)]
    return found or [_nearest(word, name, pages)]


def folded(text: str, width: int) -> str:
    """Return Markdown with its prose folded for a screen; code and tables stay as they are.

    Parameters
    ----------
    text : str
        A page, or a part of one.
    width : int
        Columns of the screen.

    Returns
    -------
    str
        No line of prose is wider.

    Examples
    --------
    >>> print(folded("- one two three", 9))
    - one two
      three
    """
    lines: list[str] = []
    prose: list[str] = []
    in_code = False
    for line in [*text.splitlines(), ""]:
        fence = line.startswith("```")
        in_item = bool(prose) and prose[0].startswith("- ")
        kept = in_code or fence or not line.strip() or line.startswith(("|", "#", "    ", *([] if in_item else ["  "])))
        if prose and (kept or line.startswith("- ")):
            hanging = "  " if in_item else ""
            joined = " ".join(map(str.strip, prose))
            lines.append(fill(joined, width, subsequent_indent=hanging, break_long_words=False, break_on_hyphens=False))
            prose = []
        if kept:
            lines.append(line)
        else:
            prose.append(line)
        in_code ^= fence
    return "\n".join(lines).rstrip("\n")


@cache
def guide_pages() -> dict[str, str]:
    """Return the pages of the guide.

    Returns
    -------
    dict of str to str
        Markdown by name, in the order of the alphabet.
    """
    folder = resources.files("solarsim") / "guide"
    files = sorted(each.name for each in folder.iterdir() if each.name.endswith(".md"))
    return {name.removesuffix(".md"): (folder / name).read_text(encoding="utf-8") for name in files}


def _plain(word: str) -> str:
    return re.sub(r"[\s-]+", "_", word.strip().lower())


@cache
def _all_keys() -> tuple[Key, ...]:
    return tuple(all_keys())


@cache
def _all_terms() -> dict[str, tuple[str, str]]:
    """Return meaning and unit of every hourly column and every key of a result, by its name."""
    from solarsim import studies

    for module in walk_packages(studies.__path__, "solarsim.studies."):
        import_module(module.name)
    terms = {name: (entry.meaning, entry.unit) for name, entry in {**flows.HOURLY, **flows.BESIDE_HOURLY}.items()}
    for _, name, what in all_facts():
        terms.setdefault(name, (what.meaning, what.unit))
    return terms


def _path(key: Key) -> str:
    return key.path.replace(".*", "")


def _named(name: str) -> list[Key]:
    """Return the keys of a path, or of its last part: also if it is written under a wrong table."""
    keys = _all_keys()
    exact = [key for key in keys if name in (key.path, _path(key))]
    last = name.rpartition(".")[2]
    return (
        exact or [key for key in keys if key.name == last] or [key for key in keys if _without_unit(key.name) == last]
    )


def _without_unit(name: str) -> str:
    """Return a name without the unit at its end."""
    return re.sub(r"_(kwh|kw|w|a|v|h|c|deg)$", "", name)


def _meant(name: str) -> Iterator[str]:
    if name in ALSO_CALLED:
        yield f"{name} is here called:"
        for each in ALSO_CALLED[name]:
            yield from _keys(each, heading=False) or _terms(each, heading=False)


def _keys(name: str, heading: bool = True) -> list[str]:
    found = _named(name)
    told = [_shown(key.path, key.unit, key.meaning, _details(key)) for key in found[:_MOST]]
    if len(found) > _MOST:
        told.append(f"  and {len(found) - _MOST} more of that name")
    return ["\n".join(["Keys of a scenario:", *told] if heading else told)] if told else []


def _details(key: Key) -> str:
    parts = [key.allowed, key.written, key.usual, "required" if key.required else ""]
    if key.default is not None and key.default != "":
        shown = str(key.default).lower() if isinstance(key.default, bool) else key.default
        parts.append(f"default {shown}")
    return "; ".join(part for part in parts if part)


def _terms(name: str, heading: bool = True) -> list[str]:
    terms = _all_terms()
    names = [name] if name in terms else [each for each in terms if _without_unit(each) == name]
    shown = [_shown(each, terms[each][1], terms[each][0]) for each in names]
    return ["\n".join(["In results:", *shown] if heading else shown)] if shown else []


def _shown(name: str, unit: str, *texts: str) -> str:
    lines = [fill(text, 92, initial_indent="    ", subsequent_indent="    ") for text in texts if text]
    return "\n".join([f"  {name} ({_WORDS_OF_UNIT.get(unit, unit)})", *lines])


def _sections(name: str, pages: Mapping[str, str]) -> list[str]:
    """Name the sections whose heading holds the word, or that write it as code."""
    words = name.replace("_", " ")
    found = []
    for each, text in pages.items():
        for heading, body in re.findall(r"^#+ (.+)\n((?:(?!#).*\n?)*)", text, re.MULTILINE):
            if words in heading.lower().replace("-", " ") or re.search(rf"`[^`]*\b{re.escape(name)}\b[^`]*`", body):
                found.append(f"  solarsim guide {each}: {heading.replace('`', '')}")
    return ["\n".join(["In the guide:", *found[:_MOST]])] if found else []


def _nearest(word: str, name: str, pages: Mapping[str, str]) -> str:
    known = {key.name for key in _all_keys()} | _all_terms().keys() | ALSO_CALLED.keys() | pages.keys()
    near = get_close_matches(name, sorted(known), n=5, cutoff=0.5)
    within = sorted(each for each in known if name in each and each not in near)[: _MOST - len(near)]
    nearest = ", ".join([*near, *within])
    return f"{word!r} is not in the guide." + (f" Nearest: {nearest}." if nearest else "") + " Pages: solarsim guide."
