"""The AC side: inverter, ports, panels and service in; checks of breakers, busbars and limits out."""

from collections.abc import Iterator

from solarsim.electrical.panels import ac_current_a, busbar_load_a
from solarsim.electrical.strings import CONTINUOUS, standard_size_a
from solarsim.scenario.model import Scenario
from solarsim.scenario.wiring import InverterCircuit, Panel, Service, Wiring
from solarsim.studies.wiring._check import Check, Rule
from solarsim.studies.wiring._conductors import Circuit, conductor_checks

_BUSBAR_SHARE = 1.2


def ac_checks(scenario: Scenario, wiring: Wiring, peak_import_kw: float) -> Iterator[Check]:
    """Yield the checks of the AC side; ``peak_import_kw`` is the highest hourly mean that any strategy imports."""
    circuit = wiring.inverter or InverterCircuit()
    output_a = ac_current_a(scenario.inverter.ac_kw, wiring.grid_v, wiring.phase_count)
    nec = wiring.standard == "nec"
    breaker_a = circuit.breaker_a
    rule = Rule("inverter", "output breaker", "A", "NEC 705.28, 240.6" if nec else "IEC 60364-4-43")
    if breaker_a == "none":
        yield rule.told(False, "there is none")
    else:
        size = standard_size_a(CONTINUOUS * output_a)
        yield rule.judged(
            {"wiring.inverter.breaker_a": breaker_a},
            breaker_a or 0.0,
            CONTINUOUS * output_a,
            f"125% of {output_a:.1f} A continuous" + ("" if size is None else f": {size:g} A would pass"),
            at_least=True,
        )
    yield from conductor_checks(
        Circuit(
            part="inverter",
            key="wiring.inverter.conductor",
            conductor=circuit.conductor,
            continuous_a=output_a,
            current_key="inverter.ac_kw",
            protection_a=breaker_a,
            protection_key="wiring.inverter.breaker_a",
            # Three-phase: one conductor and sqrt(3) of its drop, where two conductors are reckoned with.
            operating_a=output_a if wiring.phase_count == 1 else output_a * 3.0**0.5 / 2.0,
            operating_v=wiring.grid_v,
            most_drop=0.02,
            drop_source="common practice, no source",
            drop_name="voltage rise at full output",
        ),
        wiring.standard,
    )
    yield from _grid_port(wiring, circuit, peak_import_kw)
    sources_a = [output_a]
    sources_a += [ac_current_a(each.ac_kw, wiring.grid_v, wiring.phase_count) for each in scenario.ac_inverters]
    backed_up = scenario.arrangement is not None and scenario.arrangement.islands
    yield from _panel("main panel", "wiring.main_panel", wiring.main_panel, nec, sources_a)
    if backed_up:
        yield from _panel("backup panel", "wiring.backup_panel", wiring.backup_panel, nec, sources_a[:1])
    else:
        source = "NEC 705.12(B)" if nec else "IEC 60364-8-2"
        yield Rule("backup panel", "busbar", "A", source).not_applicable("no backup")
    yield _service(scenario, wiring, wiring.service or Service())
    yield _export(scenario, circuit)


def _grid_port(wiring: Wiring, circuit: InverterCircuit, peak_import_kw: float) -> Iterator[Check]:
    """Yield the checks of the inverter's grid port: all that passes through it, and charging."""
    key = "wiring.inverter"
    yield Rule("inverter", "grid port breaker", "A", "manufacturer").judged(
        {f"{key}.grid_port_breaker_a": _rating(circuit.grid_port_breaker_a), f"{key}.grid_port_a": circuit.grid_port_a},
        _rating(circuit.grid_port_breaker_a) or 0.0,
        circuit.grid_port_a or 0.0,
        "with a larger breaker, pass-through and charging together can overload the port",
    )
    if circuit.grid_port_a is None:
        return
    # An hourly mean can only show a failure; what passes the breaker is checked above.
    imported = Rule("inverter", "import through the grid port", "A", "manufacturer").judged(
        {},
        ac_current_a(peak_import_kw, wiring.grid_v, wiring.phase_count),
        circuit.grid_port_a or 0.0,
        f"highest hourly mean of the simulated year, {peak_import_kw:.2f} kW: pass-through and charging",
    )
    if imported.result == "fails":
        yield imported


def _rating(rating: float | str | None) -> float | None:
    return rating if isinstance(rating, float) else None


def _panel(part: str, key: str, panel: Panel | None, nec: bool, sources_a: list[float]) -> Iterator[Check]:
    """Yield the check of a panel's busbar by the method that the connection relies on."""
    rule = Rule(part, "busbar", "A", "NEC 705.12(B)" if nec else "IEC 60364-8-2")
    if not nec:
        yield rule.open("no rule for this standard", advice="the manufacturer of the panel and local rules decide")
        return
    panel = panel or Panel()
    if panel.method is None:
        yield rule.open(f"{key}.method")
    elif panel.method == "opposite_end":
        main_a = 0.0 if panel.main_a == "none" else panel.main_a
        yield rule.judged(
            {f"{key}.busbar_a": panel.busbar_a, f"{key}.main_a": main_a},
            busbar_load_a(float(main_a or 0.0), sources_a),
            _BUSBAR_SHARE * float(panel.busbar_a or 0.0),
            (
                "main breaker plus 125% of inverter current must not exceed 120% of the busbar rating, which leaves"
                f" {max(0.0, _BUSBAR_SHARE * (panel.busbar_a or 0.0) - float(main_a or 0.0)):g} A for that 125%; the"
                " inverter's breaker must stay at the end opposite the main breaker"
            ),
        )
    elif panel.method == "sum_of_breakers":
        yield rule.judged(
            {f"{key}.busbar_a": panel.busbar_a, f"{key}.breakers_a": panel.breakers_a},
            panel.breakers_a or 0.0,
            panel.busbar_a or 0.0,
            "all breakers except the main; a warning label must state this limit",
        )
    else:
        yield Rule(part, "busbar", "A", "NEC 705.13").judged(
            {f"{key}.busbar_a": panel.busbar_a, f"{key}.power_control_a": panel.power_control_a},
            panel.power_control_a or 0.0,
            panel.busbar_a or 0.0,
            "setting of the listed power control system; only qualified people may change it",
        )


def _service(scenario: Scenario, wiring: Wiring, service: Service) -> Check:
    """Return the check of the service's load with the battery charging from the grid."""
    rule = Rule(
        "service", "load with battery charging", "A", "NEC 220, 230.42" if wiring.standard == "nec" else "IEC 60364-1"
    )
    charges = any(
        level is not None and level > 0.0
        for strategy in scenario.strategies
        for level in (strategy.charge_from_grid_to, *(window.charge_from_grid_to for window in strategy.windows))
    )
    if service.load_managed:
        return rule.told(True, "a listed system keeps load and charging within the rating")
    charging_a = ac_current_a(scenario.inverter.ac_kw, wiring.grid_v, wiring.phase_count) if charges else 0.0
    return rule.judged(
        {"wiring.service.load_a": service.load_a, "wiring.service.rated_a": service.rated_a},
        float(service.load_a or 0.0) + charging_a,
        service.rated_a or 0.0,
        f"calculated load and {charging_a:.0f} A of charging; with an electric car in the calculated load",
    )


def _export(scenario: Scenario, circuit: InverterCircuit) -> Check:
    """Return the check of what the inverters can export against what the utility permits."""
    rule = Rule("service", "export", "kW", "utility")
    kw = scenario.inverter.ac_kw + sum(each.ac_kw for each in scenario.ac_inverters)
    if circuit.export_control:
        return rule.told(True, "a listed power control system holds the export limit")
    limit_kw = None if scenario.grid is None else scenario.grid.export_limit_kw
    return rule.judged(
        {"grid.export_limit_kw": limit_kw},
        kw,
        limit_kw or 0.0,
        "rating of all inverters; a lower limit needs wiring.inverter.export_control, listed for it",
    )
