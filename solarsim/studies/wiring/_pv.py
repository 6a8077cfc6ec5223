"""Strings and their fuses: arrays, modules and inputs in; checks of voltages and currents out."""

from collections.abc import Iterator
from dataclasses import dataclass

from solarsim.electrical.strings import (
    circuit_current_a,
    cold_factor,
    fault_current_a,
    hot_maximum_power_v,
    standard_size_a,
    string_fuse_range_a,
)
from solarsim.errors import ordinal
from solarsim.production.module_table import row_of
from solarsim.production.string_voltage import ColdestHour, cold_open_circuit_v, fewest_in_series, most_in_series
from solarsim.scenario.model import Scenario
from solarsim.scenario.roof.roof import Array, DcInput, ListedModule, Module
from solarsim.scenario.wiring import PvCircuit, Wiring
from solarsim.studies.wiring._check import Check, Rule
from solarsim.studies.wiring._conductors import Circuit, conductor_checks

_LOW_KEY = "site.design_low_c"
#: Cells above the air in full sun, by mounting [C] (common practice, no source).
_CELLS_WARMER_C = {"roof": 35.0, "rack": 30.0}
_DWELLING_V, _NEC_BUILDING_V, _IEC_BUILDING_V = 600.0, 1000.0, 1000.0


@dataclass(frozen=True)
class Sheet:
    """What the label of an array's modules states; None where it is not written."""

    key: str
    module: Module
    electrical: Module | ListedModule

    def value(self, name: str) -> float:
        """Return a value of the datasheet, in its unit."""
        return float(getattr(self.electrical, name))


def pv_checks(scenario: Scenario, wiring: Wiring, coldest: ColdestHour) -> Iterator[Check]:
    """Yield the checks of every array and DC input, whose voltages are highest in the coldest hour."""
    for array in scenario.arrays:
        if array.input is None:
            names = f"string limits of ac_inverters.{array.ac_inverter!r}"
            yield Rule(array.name, "string voltages and currents", "", "manufacturer").open(
                names, advice="have the installer check them against the manual of that inverter"
            )
            continue
        sheet, dc_input = _sheet_of(scenario, wiring, array), scenario.inverter.inputs[array.input - 1]
        if sheet is None:
            yield Rule(array.name, "string voltages and currents", "", "manufacturer").open(
                f"wiring.pv[{array.name!r}].module"
            )
        else:
            yield from _voltages(scenario, wiring, array, sheet, dc_input, coldest)
            yield from _fuses(scenario, wiring, array, sheet, dc_input)
    for number, dc_input in enumerate(scenario.inverter.inputs, start=1):
        yield from _input_currents(scenario, wiring, number, dc_input)


def _circuit_of(wiring: Wiring, array: Array) -> PvCircuit:
    """Return the circuit of an array; one without any entry where none is written."""
    return next((each for each in wiring.pv if each.array == array.name), PvCircuit(array=array.name))


def _sheet_of(scenario: Scenario, wiring: Wiring, array: Array) -> Sheet | None:
    """Return the datasheet of an array's modules; None where neither the array nor its circuit names one."""
    name = array.module or _circuit_of(wiring, array).module
    module = next((each for each in scenario.modules if each.name == name), None)
    if module is None:
        return None
    return Sheet(f"modules.{module.name!r}", module, module if module.table_row is None else row_of(module.table_row))


def _voltages(
    scenario: Scenario, wiring: Wiring, array: Array, sheet: Sheet, dc_input: DcInput, coldest: ColdestHour
) -> Iterator[Check]:
    """Yield the checks of a string's voltages in the cold and in the heat."""
    site, count, key = scenario.site, array.modules_in_series, f"inverter.inputs.{ordinal(array.input or 1)}"
    low_c = coldest.air_c
    each_v = cold_open_circuit_v(sheet.value("v_oc_v"), sheet.value("v_oc_per_c"), low_c)
    only = _LOW_KEY if site.design_low_c is None else ""
    at = f"at {low_c:g} C" + (", the lowest air temperature of this file; a design value is lower" if only else "")
    articles = "NEC 690.7(A)" if wiring.standard == "nec" else "IEC 62548"

    def at_most(limit_v: float) -> str:
        factor = cold_factor(low_c)
        table = (
            f"; {factor * sheet.value('v_oc_v') * count:.0f} V by Table 690.7(A)"
            if factor is not None and wiring.standard == "nec"
            else ""
        )
        return f"{at}: at most {most_in_series(limit_v, each_v)} modules in series{table}"

    building_v = (
        _IEC_BUILDING_V
        if wiring.standard == "iec"
        else _DWELLING_V
        if wiring.building == "dwelling"
        else _NEC_BUILDING_V
    )
    for name, limit_key, limit_v, source in (
        ("cold Voc, inverter input", f"{key}.max_v", dc_input.max_v, articles),
        ("cold Voc, module rating", f"{sheet.key}.system_v", sheet.module.system_v, articles),
        ("cold Voc, building limit", "", building_v, f"{articles} (from memory)"),
    ):
        yield Rule(array.name, name, "V", source).judged(
            {limit_key: limit_v},
            count * each_v,
            limit_v or 0.0,
            at_most(limit_v or 0.0),
            only_fails=only,
        )
    cell_c = (site.design_high_c or 0.0) + _CELLS_WARMER_C[array.mounting]
    hot_v = hot_maximum_power_v(sheet.value("v_mp_v"), sheet.value("p_mp_per_c"), cell_c)
    yield Rule(array.name, "hot Vmp, inverter input", "V", "manufacturer").judged(
        {"site.design_high_c": site.design_high_c, f"{key}.mppt_min_v": dc_input.mppt_min_v},
        count * hot_v,
        dc_input.mppt_min_v or 0.0,
        (f"cells at {cell_c:g} C: at least {fewest_in_series(dc_input.mppt_min_v or 0.0, hot_v)} modules in series"),
        at_least=True,
    )


def _fuses(scenario: Scenario, wiring: Wiring, array: Array, sheet: Sheet, dc_input: DcInput) -> Iterator[Check]:
    """Yield the checks of an array's string fuses and conductors."""
    circuit = _circuit_of(wiring, array)
    where, standard = f"wiring.pv[{array.name!r}]", wiring.standard
    gain, i_sc_a, most_a = sheet.module.rear_gain, sheet.value("i_sc_a"), sheet.module.series_fuse_a
    parallel = sum(each.strings for each in scenario.arrays if each.input == array.input)
    needs = {
        f"{sheet.key}.series_fuse_a": most_a,
        f"{sheet.key}.rear_gain": gain,
        f"inverter.inputs.{ordinal(array.input or 1)}.backfeed_a": dc_input.backfeed_a,
    }
    source = "NEC 690.9(A)" if standard == "nec" else "IEC 62548"
    missing = [key for key, value in needs.items() if value is None]
    rule = Rule(array.name, "string fuses", "A", source)
    if missing or most_a is None or gain is None or dc_input.backfeed_a is None:
        yield rule.open(*missing)
    else:
        fault_a = fault_current_a(i_sc_a, parallel, dc_input.backfeed_a, gain, standard)
        least_a, greatest_a = string_fuse_range_a(i_sc_a, most_a, gain, standard)
        yield from _fuse(rule, circuit, where, fault_a, least_a, greatest_a, most_a)
    yield from conductor_checks(
        Circuit(
            part=array.name,
            key=f"{where}.conductor",
            conductor=circuit.conductor,
            continuous_a=None if gain is None else circuit_current_a(i_sc_a, 1, gain),
            current_key=f"{sheet.key}.rear_gain",
            protection_a=circuit.fuse_a,
            protection_key=f"{where}.fuse_a",
            operating_a=sheet.value("i_mp_a"),
            operating_v=array.modules_in_series * sheet.value("v_mp_v"),
            most_drop=0.02,
            drop_source="common practice, no source",
        ),
        wiring.standard,
    )


def _fuse(
    rule: Rule, circuit: PvCircuit, where: str, fault_a: float, least_a: float, greatest_a: float, most_a: float
) -> Iterator[Check]:
    """Yield whether a string needs a fuse, and whether the one it has fits."""
    fits = standard_size_a(least_a)
    would_pass = f"; {fits:g} A would pass" if fits is not None and fits <= greatest_a else "; no standard size fits"
    if isinstance(circuit.fuse_a, float):
        for name, limit_a, at_least in (("least", least_a, True), ("greatest", greatest_a, False)):
            yield Rule(rule.part, f"string fuse, {name} rating", "A", rule.source).judged(
                {},
                circuit.fuse_a or 0.0,
                limit_a,
                f"from {least_a:.2f} to {greatest_a:.2f} A{would_pass}",
                at_least=at_least,
            )
        return
    needed = fault_a > most_a
    found = rule.judged(
        {f"{where}.fuse_a": circuit.fuse_a},
        fault_a,
        most_a,
        (f"reverse current into a string with a fault{': each string needs a fuse' + would_pass if needed else ''}"),
    )
    yield found


def _input_currents(scenario: Scenario, wiring: Wiring, number: int, dc_input: DcInput) -> Iterator[Check]:
    """Yield the check of an input's short-circuit current."""
    source = "NEC 690.8(A)(1)" if wiring.standard == "nec" else "IEC 62548"
    named = [array for array in scenario.arrays if array.input == number]
    found = [_sheet_of(scenario, wiring, array) for array in named]
    sheets = [sheet for sheet in found if sheet is not None]
    if not named or len(sheets) < len(named):
        return
    needs: dict[str, object] = {f"{sheet.key}.rear_gain": sheet.module.rear_gain for sheet in sheets}
    needs[f"inverter.inputs.{ordinal(number)}.max_short_circuit_a"] = dc_input.max_short_circuit_a
    yield Rule(f"input {number}", "short-circuit current", "A", source).judged(
        needs,
        sum(
            circuit_current_a(sheet.value("i_sc_a"), array.strings, sheet.module.rear_gain or 0.0)
            for sheet, array in zip(sheets, named, strict=True)
        ),
        dc_input.max_short_circuit_a or 0.0,
        "125% of the strings' short-circuit currents",
    )
