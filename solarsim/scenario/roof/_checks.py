"""What arrays, modules, inputs and losses must agree on: tables in, one line for each problem out."""

from solarsim.errors import nearest, ordinal
from solarsim.scenario.roof.losses import Losses, Precipitation
from solarsim.scenario.roof.roof import Array, Module
from solarsim.scenario.system import AcInverter, Inverter


def roof_problems(
    arrays: tuple[Array, ...],
    modules: tuple[Module, ...] | None,
    inverter: Inverter | None,
    losses: Losses | None,
    precipitation: Precipitation | None,
    ac_inverters: tuple[AcInverter, ...] | None,
) -> list[str]:
    """Return what the tables about the roof do not agree on: one line each; a table that is wrong in itself is None."""
    problems = [f"arrays: more than one is named {name!r}" for name in repeated([array.name for array in arrays])]
    if modules is not None:
        problems += _module_problems(arrays, [module.name for module in modules])
    if inverter is not None:
        problems += _input_problems(arrays, inverter)
    if ac_inverters is not None:
        problems += _ac_problems(arrays, [each.name for each in ac_inverters])
    if losses is not None:
        problems += _loss_problems(arrays, losses, precipitation)
    return problems


def repeated(names: list[str]) -> list[str]:
    """Return what is in a list more than once."""
    return sorted({name for name in names if names.count(name) > 1})


def _module_problems(arrays: tuple[Array, ...], kinds: list[str]) -> list[str]:
    hint = "; there are no [[modules]]"
    return [f"modules: more than one is named {name!r}" for name in repeated(kinds)] + [
        f"arrays: {array.name!r} names a module {array.module!r} that is not in modules"
        + (nearest(array.module, kinds) if kinds else hint)
        for array in arrays
        if array.module is not None and array.module not in kinds
    ]


def _ac_problems(arrays: tuple[Array, ...], names: list[str]) -> list[str]:
    used = {array.ac_inverter for array in arrays}
    hint = "; there are no [[ac_inverters]]"
    return [
        *(f"ac_inverters: more than one is named {name!r}" for name in repeated(names)),
        *(f"ac_inverters: no array is connected to {name!r}" for name in names if name not in used),
        *(
            f"arrays: {array.name!r} names an ac_inverter {array.ac_inverter!r} that is not in ac_inverters"
            + (nearest(array.ac_inverter, names) if names else hint)
            for array in arrays
            if array.ac_inverter is not None and array.ac_inverter not in names
        ),
    ]


def _input_problems(arrays: tuple[Array, ...], inverter: Inverter) -> list[str]:
    count = len(inverter.inputs)
    problems = [
        f"arrays: {array.name!r} is on input {array.input}, but the inverter has inputs 1 to {count}"
        for array in arrays
        if array.input is not None and array.input > count
    ]
    for number, each in enumerate(inverter.inputs, start=1):
        here = [array for array in arrays if array.input == number]
        curves = [array.name for array in here if array.module is not None]
        if curves and len(curves) < len(here):
            plain = next(array.name for array in here if array.module is None)
            problems.append(
                f"arrays: {curves[0]!r} and {plain!r} share input {number}: curves and plain ratings cannot be added;"
                f" name a module for {plain!r} too"
            )
        if curves and each.missing:
            problems.append(
                f"inverter.inputs.{ordinal(number)}: array {curves[0]!r} names a module, so the input needs its"
                f" voltages; missing: {', '.join(each.missing)}"
            )
    return problems


def _loss_problems(arrays: tuple[Array, ...], losses: Losses, precipitation: Precipitation | None) -> list[str]:
    problems = []
    cabled = [array.name for array in arrays if array.cable is not None]
    if cabled and losses.wiring.cables > 0:
        problems.append(f"losses.wiring.cables: counts the cable of array {cabled[0]!r} twice; keep one")
    for key, column in (("soiling_by_rain", "rain_mm"), ("snow_cover", "snowfall_cm")):
        if getattr(losses.array, key) is not None and precipitation is None:
            problems.append(
                f"losses.array.{key}: needs {column} by the hour, which a typical year does not hold;"
                f" write [precipitation] with a file"
            )
    return problems
