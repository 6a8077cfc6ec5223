"""How much of a line of costs a home needs: the line and the scenario's hardware in, a quantity out."""

from collections.abc import Callable

from solarsim.production.module_table import row_of
from solarsim.scenario.battery.battery import CellString
from solarsim.scenario.costs import Labor, Part
from solarsim.scenario.model import Scenario
from solarsim.scenario.roof.roof import Array


def quantity_of(line: Part | Labor, scenario: Scenario) -> float:
    """Return how many are needed, those already there included."""
    if line.per is None:
        return line.quantity or 0.0
    return (line.quantity or 1.0) * _UNITS[line.per](line, scenario)


def modules_of(scenario: Scenario) -> int:
    """Return the number of modules."""
    return sum(each.modules_in_series * each.strings for each in scenario.arrays)


def cells_of(scenario: Scenario) -> int:
    """Return the number of cells."""
    return sum(each.cells_in_series * each.strings for each in bank_of(scenario))


def bank_of(scenario: Scenario) -> tuple[CellString, ...]:
    """Return the strings of cells; none where the battery is stated in kWh."""
    battery = scenario.battery_in_use
    return () if battery is None else battery.bank or ()


def nameplate_kwh_of(scenario: Scenario) -> float:
    """Return the rated energy of the battery [kWh]."""
    battery = scenario.battery_in_use
    return 0.0 if battery is None else battery.kwh


def kw_dc_of(scenario: Scenario, arrays: tuple[Array, ...] | None = None) -> float:
    """Return the rating of some arrays, or of all [kW]."""
    chosen = scenario.arrays if arrays is None else arrays
    return sum(each.modules_in_series * each.strings * _module_w(each, scenario) for each in chosen) / 1000.0


def _module_w(array: Array, scenario: Scenario) -> float:
    """Return the rated power of one module of an array [W]."""
    if array.module is None:
        return array.module_w or 0.0
    kind = next(each for each in scenario.modules if each.name == array.module)
    if kind.table_row is not None:
        return row_of(kind.table_row).w
    return (kind.v_mp_v or 0.0) * (kind.i_mp_a or 0.0)


def _arrays(line: Part | Labor, scenario: Scenario) -> tuple[Array, ...]:
    """Return the arrays that a line counts."""
    return tuple(
        each for each in scenario.arrays if line.module in (None, each.module) and line.array in (None, each.name)
    )


def _ac_kw(line: Part | Labor, scenario: Scenario) -> float:
    """Return the rating of the inverter that a line counts [kW]."""
    if line.ac_inverter is None:
        return scenario.inverter.ac_kw
    return next(each.ac_kw for each in scenario.ac_inverters if each.name == line.ac_inverter)


_UNITS: dict[str, Callable[[Part | Labor, Scenario], float]] = {
    "module": lambda line, home: sum(each.modules_in_series * each.strings for each in _arrays(line, home)),
    "array": lambda line, home: len(_arrays(line, home)),
    "string": lambda line, home: sum(each.strings for each in _arrays(line, home)),
    "kw_dc": lambda line, home: kw_dc_of(home, _arrays(line, home)),
    "inverter": lambda _line, _home: 1.0,
    "kw_ac": _ac_kw,
    "cell": lambda _line, home: cells_of(home),
    "battery_string": lambda _line, home: sum(each.strings for each in bank_of(home)),
    "battery_kwh": lambda _line, home: nameplate_kwh_of(home),
    "system": lambda _line, _home: 1.0,
}
