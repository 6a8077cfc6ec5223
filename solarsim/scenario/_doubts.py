"""Numbers that are allowed and that no usual home has: a validated scenario in, one note for each of them out."""

from collections.abc import Iterable, Iterator
from math import inf
from typing import Any

from pydantic import BaseModel

from solarsim.errors import key_of
from solarsim.fields import likely_unit
from solarsim.scenario._currencies import UNITS_PER_DOLLAR

_MOST_HOURS = 100.0  # of a bank at the inverter's rated power
_MOST_DC_PER_AC = 5.0

Place = tuple[int | str, ...]


def doubts(scenario: BaseModel) -> tuple[str, ...]:
    """Return a note for each number, and each pair of numbers, that is far from what homes have; rate plans apart."""
    currency = getattr(getattr(scenario, "rate_plan", None), "currency", "")
    return (*unusual_numbers(scenario, currency, without=("rate_plan",)), *_out_of_proportion(scenario))


def unusual_numbers(table: BaseModel, currency: str, without: tuple[str, ...] = ()) -> tuple[str, ...]:
    """Return a note for each number outside the usual range of its key, money judged by its currency."""
    return tuple(
        _grouped(
            note
            for place, value, extra in _written(table, ())
            if place[0] not in without
            if (note := _doubt(place, value, str(extra["unit"]), extra["usual"], currency))
        )
    )


def _written(table: BaseModel, before: Place) -> Iterator[tuple[Place, float, dict[str, Any]]]:
    """Yield what the user wrote where a usual range is declared: the place, each number, the declaration."""
    for name, declared in type(table).model_fields.items():
        if name not in table.model_fields_set:
            continue
        extra = declared.json_schema_extra
        for place, value in _leaves(getattr(table, name), (*before, declared.alias or name)):
            if isinstance(value, BaseModel):
                yield from _written(value, place)
            elif isinstance(extra, dict) and "usual" in extra and isinstance(value, int | float):
                yield place, float(value), extra


def _leaves(value: Any, place: Place) -> Iterator[tuple[Place, Any]]:
    if isinstance(value, tuple):
        for number, each in enumerate(value):
            yield from _leaves(each, (*place, number))
    else:
        yield place, value


def _doubt(place: Place, value: float, unit: str, usual: list[float], currency: str) -> tuple[Place, str] | None:
    money = unit.startswith("currency")
    scale = UNITS_PER_DOLLAR.get(currency, inf) if money else 1.0
    low, high = (bound * scale for bound in usual) if scale < inf else (-inf, inf)
    if value == 0.0 or low <= value <= high:
        return None
    shown = "" if unit in ("1", "1/C") else f" {unit.replace('currency', currency)}"
    found = f"above the usual {high:g}" if value > high else f"below the usual {low:g}"
    return place, f"{value:g} is {found}{shown}{likely_unit(value, unit, low, high)}"


def _grouped(found: Iterable[tuple[Place, str]]) -> list[str]:
    """Return a line for each key; of a list the first number, and how many more there are."""
    first: dict[str, str] = {}
    more: dict[str, int] = {}
    for place, words in found:
        name = max(number for number, part in enumerate(place) if isinstance(part, str))
        key = key_of(place[: name + 1])
        more[key] = more.get(key, -1) + 1
        first.setdefault(key, f"{key_of(place)}: {words}")
    return [line + (f" (and {more[key]} more of this list)" if more[key] else "") for key, line in first.items()]


def _out_of_proportion(scenario: BaseModel) -> Iterator[str]:
    inverter, battery = getattr(scenario, "inverter", None), getattr(scenario, "battery", None)
    if inverter is None:
        return
    if battery is not None and battery.kwh > _MOST_HOURS * inverter.ac_kw:
        yield (
            f"battery: {battery.kwh:,.0f} kWh would feed inverter.ac_kw {inverter.ac_kw:g} for"
            f" {battery.kwh / inverter.ac_kw:,.0f} h: check Ah, volts and strings"
        )
    kw_dc = {None: 0.0}
    for array in getattr(scenario, "arrays", ()):
        watts = array.modules_in_series * array.strings * (array.module_w or 0.0)
        kw_dc[array.ac_inverter] = kw_dc.get(array.ac_inverter, 0.0) + watts / 1000.0
    rated = {None: inverter.ac_kw, **{each.name: each.ac_kw for each in getattr(scenario, "ac_inverters", ())}}
    for name, kw in kw_dc.items():
        if kw > _MOST_DC_PER_AC * rated[name]:
            of = "inverter" if name is None else f"{name!r}"
            yield (
                f"arrays: {kw:,.1f} kWdc are {kw / rated[name]:,.1f} times the ac_kw of {of}, {rated[name]:g}:"
                " check modules_in_series, strings and ac_kw"
            )
