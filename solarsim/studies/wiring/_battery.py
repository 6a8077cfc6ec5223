"""The battery's circuit: bank, inverter and fuses in; checks of currents, voltages and protection out."""

from collections.abc import Iterator
from math import inf

from solarsim.electrical.panels import current_shares, dc_current_a
from solarsim.electrical.strings import CONTINUOUS, standard_size_a
from solarsim.engine.records import Curve
from solarsim.engine.step import input_for
from solarsim.hardware.limits import limits_from
from solarsim.scenario.battery.battery import Battery
from solarsim.scenario.battery.chemistry import LITHIUM
from solarsim.scenario.model import Scenario
from solarsim.scenario.wiring import BatteryCircuit, Wiring
from solarsim.studies.wiring._check import Check, Rule
from solarsim.studies.wiring._conductors import Circuit, conductor_checks

_PART = "battery"
_DWELLING_V = 100.0


def battery_checks(scenario: Scenario, wiring: Wiring) -> Iterator[Check]:
    """Yield the checks of the battery; none where there is none."""
    battery = scenario.battery_in_use
    if battery is None or battery.kwh == 0.0:
        return
    circuit = wiring.battery or BatteryCircuit()
    curve = limits_from(scenario.inverter, battery, 1.0).curve
    current_a = _current_a(scenario, circuit, curve, scenario.inverter.ac_kw)
    yield from conductor_checks(
        Circuit(
            part=_PART,
            key="wiring.battery.conductor",
            conductor=circuit.conductor,
            continuous_a=current_a,
            current_key="wiring.battery.lowest_v",
            protection_a=circuit.fuse_a,
            protection_key="wiring.battery.fuse_a",
            operating_a=current_a,
            operating_v=battery.volts or circuit.lowest_v or inf,
            most_drop=0.02,
            drop_source="common practice, no source",
        ),
        wiring.standard,
    )
    yield from _fuses(battery, wiring, circuit, current_a)
    yield from _voltage_and_disconnect(wiring, circuit)
    yield from _cells(scenario, battery, circuit, curve, current_a)


def _current_a(scenario: Scenario, circuit: BatteryCircuit, curve: Curve, ac_kw: float) -> float | None:
    """Return what the inverter draws at the lowest voltage, at most what its battery port allows [A]."""
    if circuit.lowest_v is None:
        return None
    efficiency = ac_kw / input_for(curve._replace(rated_kw=max(curve.rated_kw, ac_kw)), ac_kw)
    drawn = dc_current_a(ac_kw, efficiency, circuit.lowest_v)
    port_a, port_kw = scenario.inverter.battery_discharge_a, scenario.inverter.battery_discharge_kw
    return min(drawn, port_a or inf, _amperes(port_kw, circuit.lowest_v) or inf)


def _fuses(battery: Battery, wiring: Wiring, circuit: BatteryCircuit, current_a: float | None) -> Iterator[Check]:
    """Yield the checks of the fuses of the bank and of its strings."""
    key, amperes = "wiring.battery", current_a or 0.0
    strings = [row.cell_ah for row in battery.bank or () for _ in range(row.strings)]
    needs: dict[str, object] = {f"{key}.lowest_v": current_a}
    for name, fuse_key, fuse, share in (
        ("main battery fuse", "fuse_a", circuit.fuse_a, 1.0),
        (
            "fuse of each string",
            "string_fuse_a",
            circuit.string_fuse_a,
            max(current_shares(strings, 1.0), default=1.0),
        ),
    ):
        rule = Rule(_PART, name, "A", "NEC 706.30, 240.6" if wiring.standard == "nec" else "IEC 62485")
        if fuse_key == "string_fuse_a" and len(strings) < 2:
            yield rule.not_applicable("one string")
        elif fuse == "none":
            yield rule.told(False, "there is none: a short circuit is fed by the cells without limit")
        else:
            least_a = CONTINUOUS * share * amperes
            size = standard_size_a(least_a)
            yield rule.judged(
                {**needs, f"{key}.{fuse_key}": fuse},
                fuse or 0.0,
                least_a,
                "at least the next standard size" + ("" if size is None else f", {size:g} A"),
                at_least=True,
            )
    for name, unit, value_key, value, limit_key, limit in (
        ("fuse DC voltage rating", "V", "fuse_dc_v", circuit.fuse_dc_v, "highest_v", circuit.highest_v),
        (
            "fuse interrupting rating", "kA", "interrupting_ka", circuit.interrupting_ka, "short_circuit_ka",
            circuit.short_circuit_ka,
        ),
    ):  # fmt: skip
        yield Rule(_PART, name, unit, "NEC 110.9" if wiring.standard == "nec" else "IEC 60364-4-43").judged(
            {f"{key}.{value_key}": value, f"{key}.{limit_key}": limit},
            value or 0.0,
            limit or 0.0,
            at_least=True,
        )


def _voltage_and_disconnect(wiring: Wiring, circuit: BatteryCircuit) -> Iterator[Check]:
    """Yield the checks of what people may touch, and of how the bank is disconnected."""
    nec = wiring.standard == "nec"
    rule = Rule(_PART, "voltage in a dwelling", "V", "NEC 706.20" if nec else "IEC 62485-2")
    if wiring.building != "dwelling":
        yield rule.not_applicable("not a dwelling")
    elif circuit.highest_v is not None and circuit.highest_v > _DWELLING_V:
        yield rule.open(
            "proof that live parts are not accessible", advice="above 100 V between conductors or to ground"
        )
    else:
        yield rule.judged(
            {"wiring.battery.highest_v": circuit.highest_v},
            circuit.highest_v or 0.0,
            _DWELLING_V,
        )
    rule = Rule(_PART, "disconnect", "", "NEC 706.15" if nec else "IEC 62485")
    if circuit.disconnect is None:
        yield rule.open("wiring.battery.disconnect")
    else:
        words = {
            "non_polarized": "interrupts current in both directions",
            "polarized": "current flows both ways: a polarized switch can burn when it interrupts the wrong one",
            "none": "there is none",
        }
        yield rule.told(circuit.disconnect == "non_polarized", words[circuit.disconnect])


def _cells(
    scenario: Scenario, battery: Battery, circuit: BatteryCircuit, curve: Curve, current_a: float | None
) -> Iterator[Check]:
    """Yield the checks of the cells' own limits and of the battery management system."""
    amperes, lowest = current_a or 0.0, {"wiring.battery.lowest_v": current_a}
    rows = [(row.cell_ah, row.strings) for row in battery.bank or ()]
    every = [ah for ah, strings in rows for _ in range(strings)]
    known = battery.chemistry is not None and bool(every)
    for ah, strings in rows if known else ():
        share_a = current_shares(every, amperes)[every.index(ah)]
        which = f"per {ah:g} Ah string" if strings > 1 or len(rows) > 1 else "of the string"
        yield Rule(_PART, f"discharge {which}", "A", "manufacturer").judged(
            lowest,
            share_a,
            battery.discharge_c_rate * ah,
            f"{share_a / ah:.2f} C; unlike strings share by capacity (common practice)",
        )
    # A limit in kW is a higher current at the lowest voltage.
    discharge_a = battery.max_discharge_a or _amperes(battery.max_discharge_kw, circuit.lowest_v)
    if not known:
        yield Rule(_PART, "bank discharge current", "A", "manufacturer").judged(
            {**lowest, "battery.max_discharge_a, or chemistry and bank": discharge_a},
            amperes,
            discharge_a or 0.0,
            "set the inverter's discharge current no higher than this limit, and inverter.battery_discharge_a too",
        )
    own_a = battery.max_charge_a or _amperes(battery.max_charge_kw, battery.volts)
    port_a = scenario.inverter.battery_charge_a or _amperes(scenario.inverter.battery_charge_kw, battery.volts)
    limit_a = battery.charge_c_rate * sum(every) if known else own_a
    yield Rule(_PART, "bank charge current", "A", "manufacturer").judged(
        {
            "inverter.battery_charge_a": port_a,
            "battery.max_charge_a, or chemistry and bank": limit_a,
        },
        min(port_a or 0.0, battery.max_charge_a or inf),
        limit_a or 0.0,
        "set the inverter's charge current no higher than this limit" + _cold_words(battery),
    )
    yield from _management(scenario, battery, circuit, curve, current_a)


def _amperes(kw: float | None, volts: float | None) -> float | None:
    """Return a power as a current at a voltage [A]; None where either is not written."""
    return None if kw is None or volts is None else 1000.0 * kw / volts


def _cold_words(battery: Battery) -> str:
    """Return what the cold asks for, where the chemistry is known."""
    if battery.chemistry is None:
        return ""
    return (
        f"; no charging at or below {battery.charge_min_c:g} C: the battery management system or the inverter must"
        " measure the cells' temperature"
    )


def _management(
    scenario: Scenario, battery: Battery, circuit: BatteryCircuit, curve: Curve, current_a: float | None
) -> Iterator[Check]:
    """Yield the checks of the battery management system's limits."""
    rule = Rule(_PART, "BMS continuous current", "A", "manufacturer")
    lithium = battery.chemistry in LITHIUM
    if circuit.bms_a == "none":
        if lithium or battery.chemistry is None:
            yield rule.told(False, "there is none: nothing stops overcharge, and overcharged lithium cells can burn")
        else:
            yield rule.not_applicable("lead-acid")
        return
    yield rule.judged(
        {"wiring.battery.lowest_v": current_a, "wiring.battery.bms_a": circuit.bms_a},
        current_a or 0.0,
        circuit.bms_a or 0.0,
    )
    surge_kw, arrangement = scenario.inverter.surge_kw, scenario.arrangement
    rule = Rule(_PART, "BMS surge current", "A", "manufacturer")
    if arrangement is None or not arrangement.islands:
        yield rule.not_applicable("no backup: the grid starts the motors")
        return
    if surge_kw is None:
        yield rule.open("inverter.surge_kw")
        return
    surge_a = None if circuit.lowest_v is None else _surge_a(circuit.lowest_v, curve, surge_kw)
    yield rule.judged(
        {"wiring.battery.lowest_v": surge_a, "wiring.battery.bms_surge_a": circuit.bms_surge_a},
        surge_a or 0.0,
        circuit.bms_surge_a or 0.0,
        "while a motor starts",
    )


def _surge_a(lowest_v: float, curve: Curve, surge_kw: float) -> float:
    """Return the current of a surge at the lowest voltage [A], at the efficiency of full output."""
    return dc_current_a(surge_kw, curve.rated_kw / input_for(curve, curve.rated_kw), lowest_v)
