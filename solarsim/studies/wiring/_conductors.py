"""Conductors of one circuit: size, current and place in; checks of ampacity, protection, voltage and ground out."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from solarsim.electrical.conductors import (
    Run,
    adjusted_ampacity_a,
    ampacity_a,
    equipment_ground,
    greatest_protection_a,
    smallest_that_carries,
)
from solarsim.electrical.nec_tables import SIZES
from solarsim.electrical.strings import CONTINUOUS
from solarsim.production.cables import copper_ohm
from solarsim.scenario.roof.roof import Awg
from solarsim.scenario.wiring import Conductor
from solarsim.studies.wiring._check import NO_TABLE, Check, Rule


@dataclass(frozen=True)
class Circuit:
    """A circuit whose conductors are checked.

    Attributes
    ----------
    part, key : str
        For the table; the path of the conductors in the scenario.
    conductor : Conductor or None
        As written.
    continuous_a : float or None
        The current that it must carry for hours [A]; None where ``current_key`` is missing.
    current_key : str
        Without which the current is not known.
    protection_a : float, "none" or None
        Its fuse or breaker [A]; "none" where it has none, None where that is not written.
    protection_key : str
        Where it is written.
    operating_a, operating_v : float
        For the voltage drop [A], [V].
    most_drop : float
        Of the operating voltage.
    drop_source : str
        Who says so.
    drop_name : str
        A drop, or the rise of the voltage that exports cause.
    """

    part: str
    key: str
    conductor: Conductor | None
    continuous_a: float | None
    current_key: str
    protection_a: float | Literal["none"] | None
    protection_key: str
    operating_a: float | None
    operating_v: float
    most_drop: float
    drop_source: str
    drop_name: str = "voltage drop"


def conductor_checks(circuit: Circuit, standard: str) -> Iterator[Check]:
    """Yield the checks of a circuit's conductors."""
    conductor = circuit.conductor
    if conductor is None:
        yield Rule(circuit.part, "conductors", "A", "NEC 310.16" if standard == "nec" else "IEC 60364-5-52").open(
            circuit.key
        )
        return
    yield from _ampacities(circuit, conductor, standard)
    yield Rule(circuit.part, circuit.drop_name, "%", circuit.drop_source).judged(
        {circuit.current_key: circuit.operating_a},
        (
            100.0
            * (circuit.operating_a or 0.0)
            * copper_ohm(conductor.one_way_m, conductor.awg, conductor.section_mm2)
            / conductor.parallel
            / circuit.operating_v
        ),
        100.0 * circuit.most_drop,
        f"of {circuit.operating_v:.0f} V over {conductor.one_way_m:g} m",
    )


def _ampacities(circuit: Circuit, conductor: Conductor, standard: str) -> Iterator[Check]:
    """Yield the checks that read the tables of the NEC."""
    part, key, awg, current_a = circuit.part, circuit.key, conductor.awg, circuit.continuous_a
    needs: dict[str, object] = {
        circuit.current_key: current_a,
        f"{key}.insulation_c": conductor.insulation_c,
        f"{key}.terminals_c": conductor.terminals_c,
        f"{key}.on_roof": conductor.on_roof,
        f"{key}.in_raceway": conductor.in_raceway,
        f"{key}.ambient_c": conductor.ambient_c,
    }
    if standard == "iec" or awg is None:
        missing = NO_TABLE if standard == "iec" else f"{key}.awg (the tables of the NEC are in AWG)"
        source = "IEC 60364-5-52" if standard == "iec" else "NEC 310.16"
        yield Rule(part, "ampacity of conductors", "A", source).open(missing)
        return
    run = Run(
        insulation_c=conductor.insulation_c or 60,
        terminals_c=conductor.terminals_c or 60,
        ambient_c=conductor.ambient_c or 0.0,
        on_roof=bool(conductor.on_roof),
        in_raceway=conductor.in_raceway or 1,
        parallel=conductor.parallel,
    )
    amperes = current_a or 0.0

    protection_a = circuit.protection_a if isinstance(circuit.protection_a, float) else None
    size = smallest_that_carries(run, amperes, protection_a)
    would_pass = "no size up to 4/0 AWG would pass" if size is None else f"{awg} AWG; {size} AWG would pass"
    yield Rule(part, "ampacity, 125% at terminals", "A", "NEC 110.14(C), 690.8").judged(
        needs,
        CONTINUOUS * amperes,
        ampacity_a(awg, min(run.terminals_c, run.insulation_c), run.parallel),
        would_pass,
    )
    yield Rule(part, "ampacity, derated", "A", "NEC 310.15, 310.16").judged(
        needs, amperes, adjusted_ampacity_a(awg, run), would_pass
    )
    rule = Rule(part, "overcurrent protection", "A", "NEC 240.4")
    if protection_a is not None:
        yield rule.judged(needs, protection_a, greatest_protection_a(awg, run), would_pass)
        yield _ground(circuit, conductor, size, awg, protection_a, needs)
    elif circuit.protection_a is None:
        yield rule.open(circuit.protection_key)


def _ground(
    circuit: Circuit, conductor: Conductor, needed: Awg | None, awg: Awg, protection_a: float, needs: dict[str, object]
) -> Check:
    """Return the check of the equipment grounding conductor, by place in the list of sizes."""
    rule = Rule(circuit.part, "equipment grounding conductor", "", "NEC 250.122")
    ground, least = conductor.ground_awg, equipment_ground(protection_a, needed, awg)
    missing = [key for key, value in {**needs, f"{circuit.key}.ground_awg": ground}.items() if value is None]
    if missing or ground is None:
        return rule.open(*missing)
    if least is None:
        return rule.open("a size for this protection in Table 250.122")
    enough = ground != "none" and SIZES.index(ground) >= SIZES.index(least)
    return rule.told(enough, f"{ground} AWG; at least {least} AWG for {protection_a:g} A")
