"""What a home allows: a design in; why it cannot be built, out."""

from collections import defaultdict
from collections.abc import Iterator

from solarsim.errors import nearest
from solarsim.hardware.limits import limits_from
from solarsim.home import Home
from solarsim.scenario.battery.chemistry import LITHIUM
from solarsim.scenario.model import Scenario
from solarsim.scenario.roof.roof import Array
from solarsim.scenario.size import Size
from solarsim.studies.size._priced import only_price

#: Charge power / capacity that lead-acid needs, or it stratifies and sulfates (common practice, no source).
_LEAD_ACID_C_RATE = 0.1
_SLACK = 1e-9


def unknown_faces(scenario: Scenario, size: Size) -> list[str]:
    """Return a note for each array that a face names and the home as written does not have."""
    names = [array.name for array in scenario.arrays]
    unknown = [name for face in size.faces for name in face.arrays if name not in names]
    return [f"size.faces: {name!r} is not an array of the home{nearest(name, names)}" for name in unknown]


def why_not(scenario: Scenario, size: Size, module_w: dict[str, float]) -> str | None:
    """Return the first limit that the hardware of a design passes; None where it can be built."""
    return next(_reasons(scenario, size, module_w), None)


def why_not_with(home: Home, size: Size) -> str | None:
    """Return the limit that only the simulated home can tell: the share of yearly use."""
    if size.most_share_of_use is None:
        return None
    produced = float((home.production.dc_kw + home.ac_solar_kw).sum())
    if produced <= size.most_share_of_use * float(home.load_kw.sum()) * (1.0 + _SLACK):
        return None
    return f"yearly production is above {size.most_share_of_use:.0%} of the yearly load"


def _reasons(scenario: Scenario, size: Size, module_w: dict[str, float]) -> Iterator[str]:
    arrays, inverter = scenario.arrays, scenario.inverter
    contract = only_price(scenario)
    if contract is not None:
        yield contract
    for face in size.faces:
        modules = sum(each.modules_in_series * each.strings for each in arrays if each.name in face.arrays)
        if modules > face.most_modules:
            yield f"{', '.join(face.arrays)}: the face has room for {face.most_modules} modules"
    on_input: dict[int, list[Array]] = defaultdict(list)
    for array in arrays:
        if array.input is not None:
            on_input[array.input].append(array)
    for number, here in sorted(on_input.items()):
        if size.equal_strings and len({each.modules_in_series for each in here}) > 1:
            yield f"input {number}: strings of unequal length"
        if size.input_most_kw:
            most_kw = size.input_most_kw[min(number, len(size.input_most_kw)) - 1]
            if sum(_rated_kw(each, module_w) for each in here) > most_kw + _SLACK:
                yield f"input {number}: array power is above the {most_kw:g} kW that it accepts"
    kw_ac = inverter.ac_kw + sum(each.ac_kw for each in scenario.ac_inverters)
    if size.most_ac_kw is not None and kw_ac > size.most_ac_kw + _SLACK:
        yield f"inverters are above the utility's {size.most_ac_kw:g} kWac"
    if size.dc_ac_ratio is not None and arrays:
        ratio = sum(_rated_kw(each, module_w) for each in arrays) / kw_ac
        if not size.dc_ac_ratio.low - _SLACK <= ratio <= size.dc_ac_ratio.high + _SLACK:
            yield f"DC/AC ratio is outside {size.dc_ac_ratio.low:g} to {size.dc_ac_ratio.high:g}"
    yield from _battery_reasons(scenario, size)


def _battery_reasons(scenario: Scenario, size: Size) -> Iterator[str]:
    battery = scenario.battery_in_use
    if battery is None or battery.kwh == 0.0:
        return
    if size.battery_unit_kwh is not None and battery.capacity_kwh is not None:
        units = battery.capacity_kwh / size.battery_unit_kwh
        if abs(units - round(units)) > 1e-6:
            yield f"battery.capacity_kwh: not whole units of {size.battery_unit_kwh:g} kWh"
    least = size.least_charge_c_rate
    if least is None:
        least = None if battery.chemistry is None or battery.chemistry in LITHIUM else _LEAD_ACID_C_RATE
    charge_kw = limits_from(scenario.inverter, battery, 1.0).charge_kw
    if least is not None and charge_kw < least * battery.kwh - _SLACK:
        yield f"charge power is below the {least:g} C that the battery needs"


def _rated_kw(array: Array, module_w: dict[str, float]) -> float:
    """Return the rating of an array [kW]."""
    each_w = array.module_w or module_w.get(array.module or "", 0.0)
    return array.modules_in_series * array.strings * each_w / 1000.0
