"""Without the grid: loads, inverter, motor, generator in; checks of what the island can carry out."""

from collections.abc import Iterator

from solarsim.scenario.backup.backup import Arrangement
from solarsim.scenario.model import Scenario
from solarsim.scenario.wiring import BackedUp, InverterCircuit, Wiring
from solarsim.studies.wiring._check import Check, Rule

_PART = "backup"
_MULTIMODE_EDITION = 2026


def island_checks(scenario: Scenario, wiring: Wiring, peak_backed_kw: float, charge_kw: float) -> Iterator[Check]:
    """Yield the checks of the home without the grid.

    ``peak_backed_kw`` is the highest hourly mean of what is backed up, ``charge_kw`` the battery's limit.
    """
    arrangement = scenario.arrangement
    if arrangement is None or not arrangement.islands:
        rule = Rule(_PART, "backed-up load", "kW", _source(wiring, "NEC 702.4(A)"))
        yield rule.not_applicable("no backup: nothing runs in an outage")
        return
    backed, rated_kw = wiring.backed_up or BackedUp(), scenario.inverter.ac_kw
    stated_kw = backed.running_kw
    yield Rule(_PART, "simultaneous load", "kW", _source(wiring, "NEC 702.4(A)(1)")).judged(
        {},
        peak_backed_kw if stated_kw is None else stated_kw,
        rated_kw,
        "" if stated_kw is not None else "highest hourly mean of the year; peaks within the hour are higher",
        only_fails="wiring.backed_up.running_kw" if stated_kw is None else "",
    )
    yield _transferred(arrangement, wiring, backed, rated_kw)
    yield from _motor(scenario, arrangement)
    if wiring.phases == "split":
        yield Rule(_PART, "load on one leg of 120/240 V", "kW", "manufacturer").judged(
            {
                "wiring.backed_up.heaviest_leg_kw": backed.heaviest_leg_kw,
                "wiring.backed_up.leg_kw": backed.leg_kw,
            },
            backed.heaviest_leg_kw or 0.0,
            backed.leg_kw or 0.0,
        )
    yield from _sources(scenario, wiring.inverter, backed, charge_kw)


def _source(wiring: Wiring, article: str) -> str:
    """Return the article; the IEC leaves it to the designer."""
    return article if wiring.standard == "nec" else "IEC 60364-5-55"


def _transferred(arrangement: Arrangement, wiring: Wiring, backed: BackedUp, rated_kw: float) -> Check:
    """Return the check of the capacity for all that is transferred."""
    rule = Rule(_PART, "transferred load capacity", "kW", _source(wiring, "NEC 702.4(A)"))
    if arrangement.transfer == "by_hand":
        return rule.not_applicable("manual transfer: the user selects the loads")
    if backed.load_management:
        return rule.told(True, "load management")
    newer = wiring.standard == "nec" and wiring.edition >= _MULTIMODE_EDITION and wiring.building == "dwelling"
    if newer and backed.control_kw is not None:
        return rule.judged(
            {"wiring.backed_up.largest_load_kw": backed.largest_load_kw},
            backed.control_kw + (backed.largest_load_kw or 0.0),
            rated_kw,
            "multimode inverter listed for power control: its setting and the largest single load; after an overload it"
            " is reconnected by hand",
        )
    return rule.judged(
        {"wiring.backed_up.connected_kw": backed.connected_kw},
        backed.connected_kw or 0.0,
        rated_kw,
        "automatic transfer needs capacity for all of it, or load management (wiring.backed_up.load_management)"
        + ("; or a multimode inverter listed for power control (control_kw)" if newer else ""),
    )


def _motor(scenario: Scenario, arrangement: Arrangement) -> Iterator[Check]:
    """Yield the check of the largest motor's start."""
    rule, motor = Rule(_PART, "largest motor start", "kW", "nameplate"), arrangement.motor
    surge_kw = scenario.inverter.surge_kw
    yield rule.judged(
        {"arrangement.motor": motor, "inverter.surge_kw": surge_kw},
        motor.kw * motor.start_factor if motor is not None else 0.0,
        surge_kw or 0.0,
        "without other running loads; a soft starter reduces it",
    )


def _sources(
    scenario: Scenario, circuit: InverterCircuit | None, backed: BackedUp, charge_kw: float
) -> Iterator[Check]:
    """Yield the checks of other sources beside the inverter: AC-coupled arrays, a generator."""
    coupled_kw = sum(each.ac_kw for each in scenario.ac_inverters)
    rated_kw, practice = scenario.inverter.ac_kw, "common practice, no source"
    if coupled_kw > 0.0:
        for name, limit_kw in (("inverter's rating", rated_kw), ("battery's charge limit", charge_kw)):
            yield Rule(_PART, f"AC-coupled solar, {name}", "kW", practice).judged(
                {},
                coupled_kw,
                limit_kw,
                "in an outage the battery must absorb its surplus until its inverter reduces output",
            )
    generator = scenario.generator_in_use
    rule = Rule("generator", "charging and load", "kW", "manufacturer")
    if generator is None:
        yield rule.not_applicable("no generator")
        return
    keeps = circuit is not None and bool(circuit.keeps_generator)
    yield rule.judged(
        {"wiring.backed_up.running_kw": backed.running_kw},
        float(backed.running_kw or 0.0) + (0.0 if keeps else generator.charge_kw),
        generator.kw,
        "load plus charging, unless the inverter reduces charging (keeps_generator)",
    )
