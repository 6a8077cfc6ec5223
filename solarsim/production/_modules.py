"""The module of each array: names and datasheets in, single-diode parameters out, impossible ones refused by name."""

from dataclasses import dataclass

import numpy as np

from solarsim.errors import ScenarioError, UnknownNameError, ordinal
from solarsim.production._datasheet_fit import Datasheet, Diodes, diodes_from
from solarsim.production.module_table import row_of
from solarsim.production.string_voltage import ColdestHour, cold_open_circuit_v, fewest_in_series, most_in_series
from solarsim.scenario.model import RoofScenario
from solarsim.scenario.roof.roof import DATASHEET, Array, DcInput, Module


@dataclass(frozen=True, eq=False)
class KnownModule:
    """A module with its curve.

    Attributes
    ----------
    name : str
        As arrays name it.
    row : str or None
        The whole name of its row of the module table, where it comes from there.
    w : float
        Power at standard test conditions [W].
    v_oc_v, v_mp_v : float
        Voltage of the open circuit and of maximum power there [V].
    v_oc_per_c : float
        Temperature coefficient of the open-circuit voltage, as a share [1/C].
    diodes : Diodes
        One entry.
    """

    name: str
    row: str | None
    w: float
    v_oc_v: float
    v_mp_v: float
    v_oc_per_c: float
    diodes: Diodes


def modules_of(scenario: RoofScenario, coldest: ColdestHour) -> dict[str, KnownModule]:
    """Return the curve of every module that an array names; refuse strings that cannot work at their input."""
    used = {array.module for array in scenario.arrays}
    known, problems = {}, []
    for number, module in enumerate(scenario.modules, start=1):
        if module.name in used:
            try:
                known[module.name] = known_module(module)
            except (ScenarioError, UnknownNameError) as error:
                problems += [f"modules.{ordinal(number)}: {line}" for line in error.problems]
    for array in scenario.arrays:
        if array.module in known and array.input is not None:
            dc_input = scenario.inverter.inputs[array.input - 1]
            problems += string_problems(array, known[array.module], dc_input, coldest)
    if problems:
        raise ScenarioError(*map(scenario.problem, problems))
    return known


def known_module(module: Module) -> KnownModule:
    """Return the curve of one module: its row's parameters, or fitted ones."""
    if module.table_row is not None:
        row = row_of(module.table_row)
        return KnownModule(module.name, row.name, row.w, row.v_oc_v, row.v_mp_v, row.v_oc_per_c, row.diodes)
    values = {key: float(getattr(module, key)) for key in DATASHEET}
    fill = values["v_mp_v"] * values["i_mp_a"] / (values["v_oc_v"] * values["i_sc_a"])
    diodes = diodes_from(Datasheet(**{key: np.array([value]) for key, value in values.items()}))
    if np.isnan(diodes.gap_ev[0]):
        raise ScenarioError(
            f"{module.name!r}: no cell has these values together (they fill {fill:.0%} of v_oc_v x i_sc_a; most modules"
            " 70 to 82%): compare each with the datasheet"
        )
    w = values["v_mp_v"] * values["i_mp_a"]
    return KnownModule(module.name, None, w, values["v_oc_v"], values["v_mp_v"], values["v_oc_per_c"], diodes)


def string_problems(array: Array, module: KnownModule, dc_input: DcInput, coldest: ColdestHour) -> list[str]:
    """Return why a string destroys its input or never starts it; no advice of one makes the other."""
    count, max_v = array.modules_in_series, dc_input.max_v or np.inf
    cold_v = max(cold_open_circuit_v(module.v_oc_v, module.v_oc_per_c, coldest.air_c), module.v_oc_v)
    string = f"arrays: {array.name!r}: {count} modules in series make"
    most = count if dc_input.max_v is None else most_in_series(max_v, cold_v)
    if count > most:
        advice = f"at most {most}" if most else "not even one of these modules is allowed"
        return [
            f"{string} {count * cold_v:.0f} V without load at {coldest.air_c:.0f} C ({coldest.source}), above max_v"
            f" {max_v:g} of input {array.input}: that destroys the inverter; {advice}"
        ]
    for key in ("start_v", "mppt_min_v"):
        needed = getattr(dc_input, key) or 0.0
        if count * module.v_oc_v < needed:
            least = fewest_in_series(needed, module.v_oc_v)
            too_many = least * cold_v > max_v
            advice = f"but {least} exceed max_v {max_v:g} in the cold" if too_many else f"at least {least}"
            return [
                f"{string} {count * module.v_oc_v:.0f} V without load at 25 C, below {key} {needed:g} of input"
                f" {array.input}: it never starts; {advice}"
            ]
    return []
