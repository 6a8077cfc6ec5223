"""The module of each array: names and datasheets in, single-diode parameters out, impossible ones refused by name."""

from dataclasses import dataclass

import numpy as np

from solarsim.errors import ScenarioError, UnknownNameError
from solarsim.production._datasheet_fit import Datasheet, Diodes, diodes_from
from solarsim.production.module_table import row_of
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
    diodes : Diodes
        One entry.
    """

    name: str
    row: str | None
    w: float
    v_oc_v: float
    v_mp_v: float
    diodes: Diodes


def modules_of(scenario: RoofScenario) -> dict[str, KnownModule]:
    """Return the curve of every module that an array names; refuse strings that cannot work at their input."""
    used = {array.module for array in scenario.arrays}
    known, problems = {}, []
    for number, module in enumerate(scenario.modules, start=1):
        if module.name in used:
            try:
                known[module.name] = known_module(module)
            except (ScenarioError, UnknownNameError) as error:
                problems += [f"modules[{number}]: {line}" for line in error.problems]
    for array in scenario.arrays:
        if array.module in known and array.input is not None:
            problems += string_problems(array, known[array.module], scenario.inverter.inputs[array.input - 1])
    if problems:
        raise ScenarioError(*map(scenario.problem, problems))
    return known


def known_module(module: Module) -> KnownModule:
    """Return the curve of one module: its row's parameters, or fitted ones."""
    if module.table_row is not None:
        row = row_of(module.table_row)
        return KnownModule(module.name, row.name, row.w, row.v_oc_v, row.v_mp_v, row.diodes)
    values = {key: float(getattr(module, key)) for key in DATASHEET}
    fill = values["v_mp_v"] * values["i_mp_a"] / (values["v_oc_v"] * values["i_sc_a"])
    diodes = diodes_from(Datasheet(**{key: np.array([value]) for key, value in values.items()}))
    if np.isnan(diodes.gap_ev[0]):
        raise ScenarioError(
            f"{module.name!r}: no cell has these values together (they fill {fill:.0%} of v_oc_v x i_sc_a; most modules"
            " 70 to 82%): compare each with the datasheet"
        )
    w = values["v_mp_v"] * values["i_mp_a"]
    return KnownModule(module.name, None, w, values["v_oc_v"], values["v_mp_v"], diodes)


def string_problems(array: Array, module: KnownModule, dc_input: DcInput) -> list[str]:
    """Return why a string can never work at its input."""
    # Checked at 25 C: a cold morning raises the open-circuit voltage by another tenth and more.
    count = array.modules_in_series
    open_v = count * module.v_oc_v
    string = f"arrays: {array.name!r}: {count} modules in series make {open_v:.0f} V at 25 C without load"
    if open_v > (dc_input.max_v or np.inf):
        most = int((dc_input.max_v or np.inf) // module.v_oc_v)
        return [f"{string}, above max_v {dc_input.max_v:g} of input {array.input}: that destroys it; at most {most}"]
    for key in ("start_v", "mppt_min_v"):
        needed = getattr(dc_input, key) or 0.0
        if open_v < needed:
            least = int(np.ceil(needed / module.v_oc_v))
            return [f"{string}, below {key} {needed:g} of input {array.input}: it never starts; at least {least}"]
    return []
