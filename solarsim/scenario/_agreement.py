"""What the tables of a scenario must agree on: validated tables in, one line for each problem out."""

from collections.abc import Collection, Mapping
from typing import Any

from solarsim.clock.windows import off_step
from solarsim.errors import key_of, nearest, ordinal
from solarsim.scenario.backup._checks import backup_problems
from solarsim.scenario.battery.battery import Battery
from solarsim.scenario.costs import Costs
from solarsim.scenario.life import Lifetime
from solarsim.scenario.production_log import MeasuredProduction
from solarsim.scenario.roof._checks import repeated, roof_problems
from solarsim.scenario.roof.roof import Array, Module
from solarsim.scenario.site import Site
from solarsim.scenario.strategy import Strategy
from solarsim.scenario.system import Grid, Inverter, Load
from solarsim.scenario.wiring import Wiring


def disagreements(parts: Mapping[str, Any], on_step: Collection[str] = ()) -> list[str]:
    """Return what tables do not agree on, among those that are there: one line for each problem.

    The windows of the tables ``on_step`` are known to begin and end on a step.
    """
    arrays, strategies = parts.get("arrays", ()), parts.get("strategies", ())
    inverter, battery = parts.get("inverter"), parts.get("battery")
    of_roof = (parts.get(key) for key in ("losses", "precipitation", "ac_inverters"))
    problems = roof_problems(arrays, parts.get("modules"), inverter, *of_roof)
    problems += [
        f"strategies: more than one is named {name!r}" for name in repeated([strategy.name for strategy in strategies])
    ]
    if inverter is not None and battery is not None:
        problems += _limit_problems(battery, inverter)
    if battery is not None:
        problems += _reserve_problems(strategies, battery)
        problems += _current_problems(strategies, battery)
    problems += _bias_problems(strategies, parts.get("grid"))
    problems += backup_problems(parts)
    problems += _log_problems(parts.get("production_log"), strategies)
    problems += _step_problems({key: table for key, table in parts.items() if key not in on_step}, parts.get("site"))
    problems += _in_bills_problems(parts.get("load"))
    if "arrays" in parts:  # arrays that are wrong are told themselves
        problems += _wiring_problems(parts.get("wiring"), arrays, parts.get("modules") or ())
    life, costs = parts.get("life"), parts.get("costs")
    if life is not None:
        problems += _wear_problems(life, battery) if "battery" in parts else []
        problems += [] if costs is None else _horizon_problems(life, costs)
    problems += [] if costs is None else _price_problems(costs, parts)
    return problems


def _step_problems(parts: Mapping[str, Any], site: Site | None) -> list[str]:
    if site is None:
        return []
    found = (off_step(table, site.step_minutes, (key,)) for key, table in parts.items())
    return [f"{key_of(place)}: {problem}" for each in found for place, problem in each]


def _in_bills_problems(load: Load | None) -> list[str]:
    """Return which parts may be counted twice: beside bills nobody must guess whether these hold them."""
    if load is None:
        return []
    problems = []
    for number, part in enumerate(load.parts or (), start=1):
        key = f"load.parts.{ordinal(number)}.in_bills"
        if load.source is not None and part.in_bills is None:
            problems.append(
                f"{key}: is missing; write true if load.{load.source} already holds {part.name!r}, false if it comes on"
                " top of that"
            )
        elif load.source is None and part.in_bills:
            problems.append(
                f"{key}: true needs bills that hold {part.name!r}: load.monthly_kwh, annual_kwh, meter or file"
            )
    return problems


def _wiring_problems(wiring: Wiring | None, arrays: tuple[Array, ...], modules: tuple[Module, ...]) -> list[str]:
    names, kinds = [array.name for array in arrays], [module.name for module in modules]
    own = {array.name for array in arrays if array.module is not None}
    problems = []
    for each in () if wiring is None else wiring.pv:
        if each.array not in names:
            problems.append(f"wiring.pv: {each.array!r} is not one of the arrays{nearest(each.array, names)}")
        if each.module is not None and each.array in own:
            problems.append(f"wiring.pv: the array {each.array!r} names its own module; leave module out here")
        elif each.module is not None and each.module not in kinds:
            problems.append(f"wiring.pv: {each.module!r} is not one of the modules{nearest(each.module, kinds)}")
    return problems


def _limit_problems(battery: Battery, inverter: Inverter) -> list[str]:
    problems = []
    for way, limits in (
        (
            "charge",
            (battery.max_charge_a, battery.max_charge_kw, inverter.battery_charge_a, inverter.battery_charge_kw),
        ),
        (
            "discharge",
            (
                battery.max_discharge_a,
                battery.max_discharge_kw,
                inverter.battery_discharge_a,
                inverter.battery_discharge_kw,
            ),
        ),
    ):
        if battery.chemistry is None and all(limit is None for limit in limits):
            problems.append(
                f"battery: nothing limits its {way}: give battery.max_{way}_a or _kw,"
                f" or inverter.battery_{way}_a or _kw"
            )
    if battery.volts is None and (inverter.battery_charge_a or inverter.battery_discharge_a):
        problems.append("battery: limits in ampere at the inverter's battery port need battery.nominal_v")
    return problems


def _reserve_problems(strategies: tuple[Strategy, ...], battery: Battery) -> list[str]:
    return [
        f"strategies: {strategy.name!r} keeps a reserve of {reserve}, below the battery's low_cutoff"
        f" {battery.low_cutoff}"
        for strategy in strategies
        for reserve in (strategy.reserve, *(window.reserve for window in strategy.windows))
        if reserve is not None and reserve < battery.low_cutoff
    ]


def _current_problems(strategies: tuple[Strategy, ...], battery: Battery) -> list[str]:
    return [
        f"strategies: {strategy.name!r} has a limit in ampere, which needs battery.nominal_v; or write it in kW"
        for strategy in strategies
        if strategy.has_currents and battery.volts is None
    ]


def _bias_problems(strategies: tuple[Strategy, ...], grid: Grid | None) -> list[str]:
    if grid is not None and grid.export_limit_kw == 0:
        return []
    return [
        f"strategies: {strategy.name!r} has a zero_export_bias_kw, which needs an export_limit_kw of 0 somewhere"
        for strategy in strategies
        if strategy.zero_export_bias_kw > 0
        and 0 not in (strategy.export_limit_kw, *(window.export_limit_kw for window in strategy.windows))
    ]


def _log_problems(log: MeasuredProduction | None, strategies: tuple[Strategy, ...]) -> list[str]:
    names = [strategy.name for strategy in strategies]
    if log is None or log.strategy is None or log.strategy in names:
        return []
    return [f"production_log.strategy: {log.strategy!r} is not one of the strategies{nearest(log.strategy, names)}"]


def _wear_problems(life: Lifetime, battery: Battery | None) -> list[str]:
    if battery is not None and battery.chemistry is None and life.battery_fade_per_year is None:
        return ["life.battery_fade_per_year: is missing; write it, or write battery.chemistry to use its aging model"]
    if battery is None and life.battery_fade_per_year is not None:
        return ["life.battery_fade_per_year: there is no battery"]
    if life.battery_fade_per_year is None and life.uncertainty and life.uncertainty.battery_fade_per_year is not None:
        why = "there is no battery" if battery is None else "needs life.battery_fade_per_year, which it is a spread of"
        return [f"life.uncertainty.battery_fade_per_year: {why}"]
    return []


def _price_problems(costs: Costs, parts: Mapping[str, Any]) -> list[str]:
    """Return lines of costs that count what is not there."""
    known = {
        key: [each.name for each in parts.get(table, ())]
        for key, table in (("module", "modules"), ("array", "arrays"), ("ac_inverter", "ac_inverters"))
    }
    problems: list[str] = []
    for where, lines in (("parts", costs.parts), ("labor", costs.labor)):
        for number, line in enumerate(lines, start=1):
            key = f"costs.{where}.{ordinal(number)}"
            problems += [
                f"{key}.{kind}: {named!r} is not in {kind}s{nearest(named, names)}"
                for kind, names in known.items()
                if (named := getattr(line, kind)) is not None and named not in names
            ]
    return problems


def _horizon_problems(life: Lifetime, costs: Costs) -> list[str]:
    problems = [
        f"costs.incentives: {each.name!r} is paid in year {each.year}, after the {life.years} years of life.years"
        for each in costs.incentives
        if each.year > life.years
    ]
    contract = costs.contract
    if contract is not None:
        key = "lease" if costs.lease is not None else "power_purchase"
        if life.money == "real":
            problems.append(f"life.money: 'real' cannot be used with costs.{key}, whose payments are nominal")
        if contract.years < life.years and contract.buyout is None and contract.at_end is None:
            problems.append(
                f"costs.{key}: ends after {contract.years} of the {life.years} years of life.years; write at_end"
                " (removed, renewed or transferred) or a buyout"
            )
    if costs.loan is not None:
        if costs.loan.years > life.years:
            problems.append(f"costs.loan.years: {costs.loan.years} are more than the {life.years} of life.years")
        if life.money == "real":
            problems.append("life.money: 'real' cannot be used with costs.loan, whose payments are nominal")
    return problems
