"""What an inspector asks for: the home as written in; a list to tick, with its articles, out."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from solarsim.results import Result, fact
from solarsim.scenario.model import Scenario
from solarsim.scenario.wiring import Wiring


@dataclass(frozen=True, eq=False, repr=False)
class InspectionItem(Result):
    """One line of the list; solarsim cannot see it."""

    what: str = fact("what is required", "text")
    source: str = fact("article of the standard, or who decides", "text")


class _Line(NamedTuple):
    """A line for homes that have something, with its source by standard; an empty source: not asked for."""

    of: str
    what: str
    nec: str
    iec: str


_LINES = (
    _Line(
        "arrays",
        "Rapid shutdown of conductors on the building, with its switch and label: outside the array boundary at most"
        " 30 V within 30 s, inside 80 V (80 V from memory).",
        "NEC 690.12",
        "",
    ),
    _Line("arrays", "Arc-fault protection of the DC circuits.", "NEC 690.11 (from memory)", "IEC 62548"),
    _Line(
        "arrays",
        "Ground-fault protection; frames and rails grounded.",
        "NEC 690.41, 690.43 (from memory)",
        "IEC 62548",
    ),
    _Line("arrays", "A lockable DC disconnect.", "NEC 690.13 (from memory)", "IEC 62548"),
    _Line(
        "arrays",
        "Setbacks and pathways for firefighters; a roof structure that carries the added weight and wind load.",
        "local fire and building code",
        "local fire and building code",
    ),
    _Line(
        "battery",
        "Energy storage listed as a whole system (UL 9540 is commonly asked for). Unlisted cells indoors are commonly"
        " refused.",
        "NEC 706.5, local fire code",
        "",
    ),
    _Line(
        "battery",
        "Energy storage certified as a whole system. Unlisted cells indoors are commonly refused.",
        "",
        "IEC 62619, IEC 63056, local code",
    ),
    _Line(
        "battery",
        "Battery location: away from bedrooms, doors and windows; protected from vehicles; with a smoke alarm.",
        "local fire code",
        "local fire code",
    ),
    _Line(
        "battery",
        "A battery disconnect that is readily accessible and lockable, for dwellings outdoors; its label shows"
        " voltage, short-circuit current and date.",
        "NEC 706.15",
        "IEC 62485",
    ),
    _Line(
        "battery",
        "Do not charge lithium cells below 0 °C: it damages them and can start a fire. A control"
        " that prevents it must be installed.",
        "manufacturer",
        "manufacturer",
    ),
    _Line(
        "backup",
        "Listed transfer equipment. Backfeeding a dead line can kill the crew repairing it.",
        "NEC 702.5, 705.40",
        "IEC 60364-5-55",
    ),
    _Line(
        "backup",
        "Neutral bonded to ground in one place only, with and without the grid.",
        "NEC 250.24, 250.30 (from memory)",
        "IEC 60364-5-55",
    ),
    _Line(
        "generator", "Generator outdoors, away from doors and windows: its exhaust kills.", "local code", "local code"
    ),
    _Line(
        "any",
        "Labels at the service equipment: every power source and the location of its disconnect.",
        "NEC 705.10 (from memory)",
        "IEC 60364-7-712",
    ),
    _Line(
        "any",
        "The utility's written permission to operate.",
        "interconnection agreement",
        "interconnection agreement",
    ),
)


def inspection_items(scenario: Scenario, wiring: Wiring) -> Iterator[InspectionItem]:
    """Yield what an inspector asks for, for what this home has."""
    has = {
        "arrays": bool(scenario.arrays),
        "battery": scenario.battery_in_use is not None,
        "backup": scenario.arrangement is not None and scenario.arrangement.islands,
        "generator": scenario.generator_in_use is not None,
        "any": True,
    }
    for line in _LINES:
        source = line.nec if wiring.standard == "nec" else line.iec
        if has[line.of] and source:
            yield InspectionItem(line.what, source)
